"""Merge what several passes found: one body or face seen twice becomes one, two people never."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from framecheck.records.seen import JOINT_INDEX, BodySeen, FaceSeen, PersonSeen
from framecheck.records.values import Box, PointPx

SAME_BODY_DISTANCE = 0.45
"""Mean distance of the visible joints over the body's scale, under which two bodies are one."""

SAME_HEAD_DISTANCE = 0.40
"""Distance of the heads over the body's scale, under which bodies are one whatever the limbs."""

SAME_FACE_OVERLAP = 0.30
FACE_ON_BODY_DISTANCE = 0.75
"""Distance of a body's nose from the middle of a face box, over the height of the box."""

_HEAD = [JOINT_INDEX[name] for name in ("nose", "eye_left", "eye_right", "ear_left", "ear_right")]


def _joint(body: BodySeen, name: str) -> npt.NDArray[np.float64]:
    return np.asarray(body.joints_px[JOINT_INDEX[name]])


def body_scale_px(body: BodySeen) -> float:
    """A length of the body that survives turning: about one shoulder breadth, in pixels."""
    shoulders = _joint(body, "shoulder_left"), _joint(body, "shoulder_right")
    hips = _joint(body, "hip_left"), _joint(body, "hip_right")
    breadth = math.dist(*shoulders)
    torso = math.dist((shoulders[0] + shoulders[1]) / 2, (hips[0] + hips[1]) / 2)
    ears = math.dist(_joint(body, "ear_left"), _joint(body, "ear_right"))
    return max(breadth, torso / 1.4, 1.5 * ears, 1.0)


def head_centre_px(body: BodySeen) -> PointPx:
    """The middle of the face and ear points."""
    x_px, y_px = body.joints_px[_HEAD].mean(axis=0)
    return float(x_px), float(y_px)


def overlap(one: Box, other: Box) -> float:
    """Intersection over union of two boxes, 0..1."""
    w_px = min(one.right_px, other.right_px) - max(one.x_px, other.x_px)
    h_px = min(one.bottom_px, other.bottom_px) - max(one.y_px, other.y_px)
    if w_px <= 0 or h_px <= 0:
        return 0.0
    shared = w_px * h_px
    return shared / (one.area_px2 + other.area_px2 - shared)


def is_same_body(one: BodySeen, other: BodySeen, within: Box) -> bool:
    """True when two findings show one body: visible joints, or at least heads, lie together."""
    scale_px = max(body_scale_px(one), body_scale_px(other))
    if math.dist(head_centre_px(one), head_centre_px(other)) < SAME_HEAD_DISTANCE * scale_px:
        return True
    both = inside_box(one.joints_px, within) & inside_box(other.joints_px, within)
    if not both.any():
        return False
    gaps_px = np.linalg.norm(one.joints_px[both] - other.joints_px[both], axis=1)
    return float(gaps_px.mean()) < SAME_BODY_DISTANCE * scale_px


def inside_box(points_px: npt.NDArray[np.float64], within: Box) -> npt.NDArray[np.bool_]:
    """Which of the (N, 2) points lie in the box."""
    x_px, y_px = points_px[:, 0], points_px[:, 1]
    return (
        (x_px >= within.x_px) & (x_px < within.right_px)
        & (y_px >= within.y_px) & (y_px < within.bottom_px)
    )  # fmt: skip


def merge_bodies(
    bodies: Sequence[BodySeen], within: Box, *, known: tuple[BodySeen, ...] = ()
) -> tuple[BodySeen, ...]:
    """The known bodies, and of each further group of findings that show one body the first."""
    for body in bodies:
        if not any(is_same_body(body, other, within) for other in known):
            known = (*known, body)
    return known


def merge_faces(faces: Sequence[FaceSeen]) -> tuple[FaceSeen, ...]:
    """Keep the best-scored of each group of overlapping faces, best first."""
    kept: list[FaceSeen] = []
    for face in sorted(faces, key=lambda face: -face.score):
        if all(overlap(face.box, other.box) < SAME_FACE_OVERLAP for other in kept):
            kept.append(face)
    return tuple(kept)


def face_fits_body(face: FaceSeen, body: BodySeen) -> float:
    """Distance of the body's head from the face over the face's height; 0 is a perfect fit."""
    centre = face.box.centre_px
    return math.dist(centre, head_centre_px(body)) / max(face.box.h_px, 1.0)


def is_face_of(face: FaceSeen, body: BodySeen) -> bool:
    """True when the body's head lies on the face."""
    return face_fits_body(face, body) < FACE_ON_BODY_DISTANCE


def pair_people(bodies: Sequence[BodySeen], faces: Sequence[FaceSeen]) -> tuple[PersonSeen, ...]:
    """Pair each face with the nearest body whose head it covers; the rest stand alone."""
    fits = sorted(
        (face_fits_body(face, body), i, j)
        for i, body in enumerate(bodies)
        for j, face in enumerate(faces)
    )
    face_of: dict[int, int] = {}
    for fit, i, j in fits:
        if fit < FACE_ON_BODY_DISTANCE and i not in face_of and j not in face_of.values():
            face_of[i] = j
    with_body = [
        PersonSeen(body=body, face=faces[face_of[i]] if i in face_of else None)
        for i, body in enumerate(bodies)
    ]
    alone = [
        PersonSeen(body=None, face=face)
        for j, face in enumerate(faces)
        if j not in face_of.values()
    ]
    return tuple(with_body + alone)
