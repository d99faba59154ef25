"""Which way bodies are turned, and which way the camera looks at them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from framecheck.geometry.angles import wrap_deg
from framecheck.measure.cuttable import is_inside
from framecheck.measure.head import Head
from framecheck.records.seen import JOINT_INDEX, AnglesSeen, BodySeen, PersonSeen
from framecheck.records.values import Box, Measured, NotMeasured

MESH_SHARE, JOINTS_SHARE = 0.7, 0.3
"""Weight of the face mesh's yaw, and of that of the pose's joints, beside what the marks network
tells. Of 963 rendered people held out with a mesh, medians of 2.3 (mesh), 3.5 (network) and 2.1
degrees (both); of 398 without one the right class of facing in 68 of 100 (joints), 72 (network)
and 73 (both)."""


ASTRAY_DEG = 30.0
"""Distance from the mesh at which the network weighs half as much: joints of somebody else, or of
nobody, lead it astray; the mesh sees the face alone."""


def turn_head(head: Head, angles: AnglesSeen | None) -> Head:
    """The head with its yaw as two opinions tell it, where there are two."""
    if angles is None:
        return head
    share = JOINTS_SHARE
    if head.from_mesh:
        off = abs(wrap_deg(angles.head_yaw_deg - head.yaw_deg)) / ASTRAY_DEG
        share = 1.0 - (1.0 - MESH_SHARE) / (1.0 + off**4)
    return replace(head, yaw_deg=_mean_deg(head.yaw_deg, angles.head_yaw_deg, share))


def _mean_deg(one_deg: float, other_deg: float, share: float) -> float:
    """The direction between two, the first weighing `share`."""
    one, other = math.radians(one_deg), math.radians(other_deg)
    x = share * math.cos(one) + (1 - share) * math.cos(other)
    y = share * math.sin(one) + (1 - share) * math.sin(other)
    return math.degrees(math.atan2(y, x))


def measure_body_yaw(person: PersonSeen, picture: Box) -> Measured:
    """The turn of the shoulders in degrees: 0 with the chest to the lens, + to the viewer's right.

    What the marks network tells, else the shoulder line of the pose network's metres; not read
    where both shoulders are outside.

    Args:
        person: with or without a body.
        picture: the active picture.
    """
    body = person.body
    if body is None:
        return NotMeasured(reason="only the face was found")
    if not any(_is_shoulder_inside(body, side, picture) for side in ("left", "right")):
        return NotMeasured(reason="both shoulders are outside the picture")
    if person.marks is not None and person.marks.angles is not None:
        return person.marks.angles.body_yaw_deg
    return _yaw_of_joints(body)


def _yaw_of_joints(body: BodySeen) -> Measured:
    left, right = JOINT_INDEX["shoulder_left"], JOINT_INDEX["shoulder_right"]
    across = body.joints_m[left] - body.joints_m[right]
    if math.hypot(across[0], across[2]) < 1e-6:
        return NotMeasured(reason="the shoulders lie on each other")
    return math.degrees(math.atan2(float(across[2]), float(across[0])))


def _is_shoulder_inside(body: BodySeen, side: str, picture: Box) -> bool:
    x, y = body.joints_px[JOINT_INDEX[f"shoulder_{side}"]]
    return is_inside((float(x), float(y)), picture)


def read_camera_pitch(people: Sequence[PersonSeen]) -> Measured:
    """The pitch of the camera in degrees, + looks up, as the bodies in the picture tell it.

    The mean of what each body tells, weighed by the inverse square of its expected error.
    """
    angles = [person.marks.angles for person in people if person.marks is not None]
    told = [(a.camera_pitch_deg, a.camera_pitch_error_deg**-2) for a in angles if a is not None]
    if not told:
        return NotMeasured(reason="no body tells it")
    return sum(pitch * weight for pitch, weight in told) / sum(weight for _, weight in told)
