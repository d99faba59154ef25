"""The head: eye line, chin, crown and the three angles, from the face mesh or from the pose."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from framecheck.geometry.angles import (
    MESH_CHIN,
    MESH_EYE_LEFT,
    MESH_EYE_RIGHT,
    MESH_NOSE,
    angles_from_axes,
    angles_from_mesh,
    wrap_deg,
)
from framecheck.geometry.ruler import MARK_LEVELS
from framecheck.records.seen import JOINT_INDEX, BodySeen, FaceSeen, PersonSeen
from framecheck.records.values import PointPx

FloatArray = npt.NDArray[np.float64]

EYE_TO_CHIN = MARK_LEVELS["eye"] - MARK_LEVELS["chin"]
CROWN_TO_EYE = MARK_LEVELS["crown"] - MARK_LEVELS["eye"]

CROWN_OVER_EYES_IPD = 1.78
"""Crown over the eye line in interpupillary distances (ANSUR II 2012, both sexes)."""

MOUTH_TO_CHIN = 0.52
"""Mouth to chin over eyes to mouth, for the pose network's points (tuned on rendered scenes)."""

MESH_PITCH_OFFSET_DEG = 4.0
"""The mesh's forehead-to-chin line leans by this much in a level face (tuned on rendered heads)."""

PROFILE_FROM_DEG = 60.0
"""From this yaw of the pose on, the mesh may have lost the far side of the face: it stops turning
at about 60 degrees where the pose goes on (seen on tuning scenes)."""

APART_DEG = 35.0
"""Distance of the pose's yaw from the mesh's from which one of the two is wrong."""

FACE_LOST_DEG = 125.0
"""From this yaw on no face shows: where a mesh was found, the pose is that of another, or wrong."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadPlace:
    """Where one head is, in pixels of the whole file.

    Attributes:
        eye_px, chin_px, nose_px: middle of the eyes, chin, tip of the nose.
        down: unit vector along the face from the eyes to the chin.
        eye_to_chin_px: length of that.
    """

    eye_px: PointPx
    chin_px: PointPx
    nose_px: PointPx
    down: PointPx
    eye_to_chin_px: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Head(HeadPlace):
    """One head, and how it is turned.

    Attributes:
        yaw_deg, pitch_deg, roll_deg: signs as in `framecheck.geometry.angles`.
        from_mesh: True when the face mesh gave them, False when the pose network did.
    """

    yaw_deg: float
    pitch_deg: float
    roll_deg: float
    from_mesh: bool


def measure_head(person: PersonSeen) -> Head:
    """The head, from the face mesh where there is one, else from the pose, else from the box."""
    if person.face is not None and len(person.face.points_px):
        head = head_from_mesh(person.face.points_px)
        if person.body is None:
            return head
        turned = head_from_body(person.body).yaw_deg
        angles = None if person.marks is None else person.marks.angles
        told = None if angles is None else angles.head_yaw_deg
        return replace(head, yaw_deg=fuse_yaw(head.yaw_deg, turned, told))
    if person.body is not None:
        return head_from_body(person.body)
    if person.face is None:
        raise ValueError("a person needs a body or a face, got neither")
    return head_from_face_box(person.face)


def place_head(person: PersonSeen) -> HeadPlace:
    """Where `measure_head` has the head; much quicker, as nobody asks how it is turned."""
    if person.face is not None and len(person.face.points_px):
        return _place_of_mesh(person.face.points_px)
    if person.body is not None:
        return _place_of_body(person.body)
    if person.face is None:
        raise ValueError("a person needs a body or a face, got neither")
    return _place_of_face_box(person.face)


def head_from_mesh(points_px: FloatArray) -> Head:
    """The head of a face mesh of shape (468, 3)."""
    yaw_deg, pitch_deg, roll_deg = angles_from_mesh(points_px)
    angles_deg = (yaw_deg, pitch_deg + MESH_PITCH_OFFSET_DEG, roll_deg)
    return _head(_place_of_mesh(points_px), angles_deg, from_mesh=True)


def head_from_body(body: BodySeen) -> Head:
    """The head of a pose: eyes and mouth give the axis, the chin follows by proportion."""
    return _head(_place_of_body(body), _angles_from_body(body), from_mesh=False)


def head_from_face_box(face: FaceSeen) -> Head:
    """The head of a bare face box: eyes and mouth by the box's own proportions, no angles but 0."""
    return _head(_place_of_face_box(face), (0.0, 0.0, 0.0), from_mesh=False)


def _place_of_mesh(points_px: FloatArray) -> HeadPlace:
    eye = points_px[[*MESH_EYE_RIGHT, *MESH_EYE_LEFT], :2].mean(axis=0)
    return _place(eye, points_px[MESH_CHIN, :2], points_px[MESH_NOSE, :2])


def _place_of_body(body: BodySeen) -> HeadPlace:
    eye, mouth = (_middle(body.joints_px, name) for name in ("eye", "mouth"))
    chin = mouth + MOUTH_TO_CHIN * (mouth - eye)
    return _place(eye, chin, body.joints_px[JOINT_INDEX["nose"]])


def _place_of_face_box(face: FaceSeen) -> HeadPlace:
    if len(face.keypoints_px) >= 4:
        eye = face.keypoints_px[:2].mean(axis=0)
        mouth, nose = face.keypoints_px[3], face.keypoints_px[2]
        return _place(eye, mouth + MOUTH_TO_CHIN * (mouth - eye), nose)
    x_px, y_px = face.box.centre_px
    eye = np.array([x_px, y_px - 0.2 * face.box.h_px])
    return _place(eye, np.array([x_px, face.box.bottom_px]), np.array([x_px, y_px]))


def _place(eye: FloatArray, chin: FloatArray, nose: FloatArray) -> HeadPlace:
    length_px = max(float(np.linalg.norm(chin - eye)), 1e-3)
    down = (chin - eye) / length_px
    return HeadPlace(
        eye_px=(float(eye[0]), float(eye[1])),
        chin_px=(float(chin[0]), float(chin[1])),
        nose_px=(float(nose[0]), float(nose[1])),
        down=(float(down[0]), float(down[1])),
        eye_to_chin_px=length_px,
    )


def _head(place: HeadPlace, angles_deg: tuple[float, float, float], *, from_mesh: bool) -> Head:
    return Head(
        eye_px=place.eye_px, chin_px=place.chin_px, nose_px=place.nose_px, down=place.down,
        eye_to_chin_px=place.eye_to_chin_px, yaw_deg=angles_deg[0], pitch_deg=angles_deg[1],
        roll_deg=angles_deg[2], from_mesh=from_mesh,
    )  # fmt: skip


def fuse_yaw(mesh_deg: float, pose_deg: float, told_deg: float | None = None) -> float:
    """The head's yaw from the face mesh and from the pose, all in degrees.

    The mesh is the better one up to about 50 degrees. Where the pose sees a profile on the same
    side, the more the two differ, the more the pose is believed (weights tuned on rendered scenes).
    Where they are far apart, either the mesh has folded on a profile, or the pose is wrong: the
    marks network, where it was asked, says which it holds with.
    """
    same_side = mesh_deg * pose_deg > 0
    lag_deg = abs(pose_deg) - abs(mesh_deg)
    turned = PROFILE_FROM_DEG <= abs(pose_deg) < FACE_LOST_DEG
    if not same_side or not turned or lag_deg <= 0:
        return mesh_deg
    if told_deg is not None and lag_deg >= APART_DEG and _is_nearer(told_deg, mesh_deg, pose_deg):
        return mesh_deg
    share = min(1.0, max(0.35, 0.35 + (lag_deg - 20.0) / 60.0))
    return mesh_deg + share * (pose_deg - mesh_deg)


def _is_nearer(one_deg: float, to_deg: float, than_deg: float) -> bool:
    return abs(wrap_deg(one_deg - to_deg)) < abs(wrap_deg(one_deg - than_deg))


def _angles_from_body(body: BodySeen) -> tuple[float, float, float]:
    joints = body.joints_m
    across = joints[JOINT_INDEX["ear_left"]] - joints[JOINT_INDEX["ear_right"]]
    down = _middle(joints, "mouth") - _middle(joints, "eye")
    forward = joints[JOINT_INDEX["nose"]] - _middle(joints, "ear")
    yaw_deg = math.degrees(math.atan2(forward[0], -forward[2]))
    unit_across = across / max(float(np.linalg.norm(across)), 1e-9)
    unit_down = down / max(float(np.linalg.norm(down)), 1e-9)
    _, pitch_deg, roll_deg = angles_from_axes(unit_across, unit_down)
    return yaw_deg, pitch_deg, roll_deg


def _middle(joints: FloatArray, name: str) -> FloatArray:
    """Between the left and the right one of a pair of joints."""
    pair = joints[JOINT_INDEX[f"{name}_left"]] + joints[JOINT_INDEX[f"{name}_right"]]
    return np.asarray(pair / 2)
