"""Joints and fingertips that a frame edge may cut, and the bones for drawing."""

from __future__ import annotations

from framecheck.records.framing import JointSeen
from framecheck.records.seen import JOINT_INDEX, BodySeen
from framecheck.records.values import Box, PointPx

_PARTS = {
    "elbow": "elbow",
    "wrist": "wrist",
    "fingertips": "index",
    "knee": "knee",
    "ankle": "ankle",
}

BONES = (
    ("shoulder_left", "shoulder_right"), ("hip_left", "hip_right"),
    ("shoulder_left", "elbow_left"), ("elbow_left", "wrist_left"), ("wrist_left", "index_left"),
    ("shoulder_right", "elbow_right"), ("elbow_right", "wrist_right"),
    ("wrist_right", "index_right"), ("shoulder_left", "hip_left"), ("shoulder_right", "hip_right"),
    ("hip_left", "knee_left"), ("knee_left", "ankle_left"), ("ankle_left", "toe_left"),
    ("hip_right", "knee_right"), ("knee_right", "ankle_right"), ("ankle_right", "toe_right"),
)  # fmt: skip


def find_joints(body: BodySeen, picture: Box) -> tuple[JointSeen, ...]:
    """The joints that flags look at, both sides of the body."""
    return tuple(
        _joint(body, part, stem, side, picture)
        for part, stem in _PARTS.items()
        for side in ("left", "right")
    )


def _joint(body: BodySeen, part: str, stem: str, side: str, picture: Box) -> JointSeen:
    x_px, y_px = (float(v) for v in body.joints_px[JOINT_INDEX[f"{stem}_{side}"]])
    inside = is_inside((x_px, y_px), picture)
    return JointSeen(part=part, side=side, x_px=x_px, y_px=y_px, inside=inside, seen=inside)


def is_inside(point_px: PointPx, picture: Box) -> bool:
    """True when the point lies in the active picture."""
    return (
        picture.x_px <= point_px[0] < picture.right_px
        and picture.y_px <= point_px[1] < picture.bottom_px
    )


def find_skeleton(body: BodySeen, picture: Box) -> tuple[tuple[PointPx, PointPx], ...]:
    """The bones of which both ends lie inside the picture."""
    return tuple(
        (one, other)
        for one, other in ((_point(body, a), _point(body, b)) for a, b in BONES)
        if is_inside(one, picture) and is_inside(other, picture)
    )


def _point(body: BodySeen, name: str) -> PointPx:
    x_px, y_px = body.joints_px[JOINT_INDEX[name]]
    return float(x_px), float(y_px)
