"""Flags of the arms: an edge that crosses an arm near the elbow, the wrist or the fingertips."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from framecheck.classify.crossing import Crossing, beyond_px, first_crossing
from framecheck.classify.gauss import mass_between
from framecheck.classify.thresholds import Thresholds
from framecheck.geometry.ruler import MARK_LEVELS, point_at_level
from framecheck.records.framing import BodyRuler, JointSeen, PersonFraming
from framecheck.records.judged import Flag, Severity
from framecheck.records.values import Box, PointPx

_SEVERITY = {
    "elbow": Severity.LOW,
    "wrist": Severity.MEDIUM,
    "fingertips": Severity.LOW,
}
"""From the trunk outwards, the order of the chain."""
_LENGTHS = {"elbow": 0.186, "wrist": 0.146, "fingertips": 0.108}
"""Upper arm, forearm and hand over stature (Drillis & Contini 1966, in Winter)."""


def find_arm_flags(
    person: PersonFraming, ruler: BodyRuler, picture: Box, thresholds: Thresholds
) -> Iterator[Flag]:
    """At most one flag for each arm that leaves the picture near a joint.

    The arm is followed from the shoulder outwards to the first place where it leaves the picture;
    a hand that merely comes near an edge, or is hidden, is no cut.
    """
    shoulder_px = point_at_level(ruler, MARK_LEVELS["shoulder"])
    for side in ("left", "right"):
        joints = _place_joints(_arm_joints(person, side), shoulder_px, ruler.figure_px)
        points = [shoulder_px, *((joint.x_px, joint.y_px) for joint in joints)]
        crossing = first_crossing(points, picture)
        if crossing is not None:
            near = _nearest_joint(joints, crossing, picture)
            yield from _joint_flag(person.person, near, crossing, (ruler, picture, thresholds))


def _arm_joints(person: PersonFraming, side: str) -> list[JointSeen]:
    arm = {joint.part: joint for joint in person.joints if joint.side == side}
    return [arm[part] for part in _SEVERITY if part in arm]


def _place_joints(
    joints: Sequence[JointSeen], shoulder_px: PointPx, figure_px: float
) -> list[JointSeen]:
    """The chain with its unseen joints at least a handbook length from the one before.

    Joints outside the picture come in squeezed towards the edge that cuts them, which would make
    every cut forearm a cut wrist; their direction is kept, their distance is not believed.
    """
    placed: list[JointSeen] = []
    from_px, moved_from_px = shoulder_px, shoulder_px
    for joint in joints:
        dx_px, dy_px = joint.x_px - from_px[0], joint.y_px - from_px[1]
        length_px = math.hypot(dx_px, dy_px)
        grow = 1.0
        if not joint.seen and length_px > 0:
            grow = max(1.0, _LENGTHS[joint.part] * figure_px / length_px)
        base_px = from_px if joint.seen else moved_from_px
        from_px = (joint.x_px, joint.y_px)
        moved_from_px = (base_px[0] + grow * dx_px, base_px[1] + grow * dy_px)
        stays = moved_from_px == from_px
        placed.append(
            joint if stays else replace(joint, x_px=moved_from_px[0], y_px=moved_from_px[1])
        )
    return placed


def _nearest_joint(joints: Sequence[JointSeen], crossing: Crossing, picture: Box) -> JointSeen:
    # Point 0 of the chain is the shoulder, so that joint k is point k + 1 of it.
    beside = joints[max(0, crossing.segment - 1) : crossing.segment + 1]
    return min(
        beside, key=lambda joint: abs(beyond_px((joint.x_px, joint.y_px), picture, crossing.edge))
    )


def _joint_flag(
    person: int,
    joint: JointSeen,
    crossing: Crossing,
    scene: tuple[BodyRuler, Box, Thresholds],
) -> Iterator[Flag]:
    ruler, picture, thresholds = scene
    distance = beyond_px((joint.x_px, joint.y_px), picture, crossing.edge) / ruler.figure_px
    reach = getattr(thresholds, f"{joint.part}_reach_level")
    error = thresholds.limb_error_level if joint.seen else thresholds.limb_guess_error_level
    if abs(distance) <= reach:
        yield Flag(
            part=joint.part,
            person=person,
            edge=crossing.edge,
            distance_level=distance,
            severity=_SEVERITY[joint.part],
            certainty=mass_between(distance, error, -reach, reach),
        )
