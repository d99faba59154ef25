"""Poses as bone directions, and their conversion to one world rotation for each bone.

Directions are (out, forward, up): away from the body's midline, to its front, to its head.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sample_frames.stage.bodies import (
    SIDES,
    Floats,
    RestBody,
    Template,
    arc_rotation,
    rotation,
    skin,
)

Direction = tuple[float, float, float]
Limb = tuple[Direction, Direction]

ARMS: dict[str, Limb] = {
    "down": ((0.17, 0.02, -1.0), (0.06, 0.16, -1.0)),
    "loose": ((0.22, -0.12, -1.0), (0.02, 0.5, -0.85)),
    "hip": ((0.8, -0.3, -0.75), (-0.62, 0.3, -0.75)),
    "gesture": ((0.25, 0.25, -0.9), (0.25, 0.85, 0.35)),
    "crossed_over": ((0.12, 0.36, -0.9), (-0.95, 0.36, 0.16)),
    "crossed_under": ((0.12, 0.30, -0.9), (-0.95, 0.22, 0.02)),
    "raised": ((0.4, 0.3, 0.85), (-0.05, 0.1, 1.0)),
    "chin": ((0.02, 0.5, -0.85), (-0.34, 0.42, 0.85)),
    "point": ((0.3, 0.9, -0.2), (0.1, 1.0, 0.05)),
    "pocket": ((0.34, -0.3, -0.9), (-0.16, 0.3, -0.95)),
    "table": ((0.15, 0.5, -0.85), (-0.25, 0.95, 0.02)),
    "lap": ((0.15, 0.28, -0.95), (-0.22, 0.85, -0.3)),
}

LEGS: dict[str, tuple[Limb, Limb]] = {
    "stand": (((-0.03, 0.0, -1.0), (0.0, -0.04, -1.0)), ((-0.03, 0.0, -1.0), (0.0, -0.04, -1.0))),
    "relaxed": (
        ((-0.05, 0.0, -1.0), (-0.02, -0.04, -1.0)),
        ((0.08, 0.12, -1.0), (0.1, -0.16, -1.0)),
    ),
    "walk": (((0.0, 0.42, -0.9), (0.0, 0.08, -1.0)), ((0.0, -0.22, -0.97), (0.0, -0.6, -0.8))),
    "sit": (((0.16, 1.0, -0.06), (0.03, 0.02, -1.0)), ((0.16, 1.0, -0.06), (0.03, 0.02, -1.0))),
}

# Thickness of the shoe under the foot; the garments use the same.
SOLE_M = 0.007
SPINE = ("spine05", "spine04", "spine03", "spine02", "spine01")
NECK = {"neck01": 0.2, "neck02": 0.2, "neck03": 0.2, "head": 0.4}


@dataclass(frozen=True)
class Pose:
    """How a person holds themselves; all angles in degrees.

    Attributes:
        body_yaw_deg: Turn of the body about the vertical, counter-clockwise from above.
        head_yaw_deg: Further turn of the head, same sense.
        head_pitch_deg: Positive looks up.
        head_roll_deg: Positive tips the head to the subject's right shoulder.
        bend_deg: Forward bend of the spine.
        lean_deg: Sideways lean, positive to the subject's left.
        sway: Small random offsets added to the limb directions.
    """

    arm_left: str = "down"
    arm_right: str = "down"
    legs: str = "stand"
    body_yaw_deg: float = 0.0
    head_yaw_deg: float = 0.0
    head_pitch_deg: float = 0.0
    head_roll_deg: float = 0.0
    bend_deg: float = 0.0
    lean_deg: float = 0.0
    twist_deg: float = 0.0
    grip_deg: float = 20.0
    sway: tuple[float, ...] = (0.0,) * 12
    swap_legs: bool = False

    @property
    def posture(self) -> str:
        """Posture word of the truth record."""
        return "seated" if self.legs == "sit" else "standing"

    def turned(self, yaw_deg: float) -> Pose:
        """The same pose with the whole body turned to `yaw_deg`."""
        return replace(self, body_yaw_deg=yaw_deg)


@dataclass(frozen=True)
class PosedBody:
    """A posed body standing on the floor, metres, z up.

    Attributes:
        vertices_m: All mesh vertices, helpers included.
        heads_m: Bone heads, which are the joint centres.
        turns: World rotation of each bone.
    """

    vertices_m: Floats
    heads_m: Floats
    turns: Floats


def _world(direction: Direction, side: str, sway: np.ndarray) -> Floats:
    out, forward, up = np.asarray(direction) + sway
    sign = 1.0 if side == "left" else -1.0
    return np.array([sign * out, -forward, up])


class _Rig:
    """Bone rotations under construction: each step adds to the parent's rotation."""

    def __init__(self, template: Template, rest: RestBody) -> None:
        self.template = template
        self.rest = rest
        self.local = {name: np.eye(3) for name in template.bones}
        self.aims: dict[str, tuple[str, Floats, str]] = {}
        self.fixed: dict[str, Floats] = {}

    def aim(self, bone: str, toward: str, direction: Floats, frame: str) -> None:
        """Point the segment bone-to-toward along a direction given in another bone's frame."""
        self.aims[bone] = (toward, direction, frame)

    def solve(self) -> Floats:
        """World rotations of all bones, parents first."""
        turns = np.tile(np.eye(3), (len(self.template.bones), 1, 1))
        for index, name in enumerate(self.template.bones):
            parent = self.template.parents[index]
            base = turns[parent] if index else np.eye(3)
            turns[index] = self._turn(name, base, turns)
        return turns

    def _turn(self, name: str, base: Floats, turns: Floats) -> Floats:
        if name in self.fixed:
            return self.fixed[name]
        if name not in self.aims:
            return base @ self.local[name]
        toward, direction, frame = self.aims[name]
        start, end = self.template.bone(name), self.template.bone(toward)
        rest = base @ (self.rest.heads_m[end] - self.rest.heads_m[start])
        return arc_rotation(rest, turns[self.template.bone(frame)] @ direction) @ base


def _set_spine(rig: _Rig, pose: Pose) -> None:
    share = 1.0 / len(SPINE)
    step = (
        rotation("z", pose.twist_deg * share)
        @ rotation("x", pose.bend_deg * share)
        @ rotation("y", pose.lean_deg * share)
    )
    for bone in SPINE:
        rig.local[bone] = step
    for bone, part in NECK.items():
        rig.local[bone] = (
            rotation("z", pose.head_yaw_deg * part)
            @ rotation("x", -pose.head_pitch_deg * part)
            @ rotation("y", -pose.head_roll_deg * part)
        )


def _set_arm(rig: _Rig, side: str, arm: str, pose: Pose) -> None:
    mark = SIDES[side]
    sway = np.asarray(pose.sway[:6]) if side == "left" else np.asarray(pose.sway[6:])
    upper = _world(ARMS[arm][0], side, sway[:3])
    fore = _world(ARMS[arm][1], side, sway[3:])
    lift_deg = 30.0 * max(0.0, upper[2] / np.linalg.norm(upper) + 0.3)
    sign = 1.0 if side == "left" else -1.0
    rig.local[f"clavicle.{mark}"] = rotation("y", -sign * (lift_deg - 4.0))
    rig.aim(f"upperarm01.{mark}", f"lowerarm01.{mark}", upper, "spine01")
    rig.aim(f"lowerarm01.{mark}", f"wrist.{mark}", fore, "spine01")
    _curl_fingers(rig, mark, pose.grip_deg)


def _curl_fingers(rig: _Rig, mark: str, grip_deg: float) -> None:
    index = rig.rest.heads_m[rig.template.bone(f"finger2-1.{mark}")]
    little = rig.rest.heads_m[rig.template.bone(f"finger5-1.{mark}")]
    axis = (little - index) / np.linalg.norm(little - index)
    sign = 1.0 if mark == "L" else -1.0
    turn = _about(axis * sign, grip_deg)
    for finger in range(2, 6):
        for joint in range(1, 4):
            rig.local[f"finger{finger}-{joint}.{mark}"] = turn


def _about(axis: Floats, angle_deg: float) -> Floats:
    a = np.radians(angle_deg)
    skew = np.array([[0, -axis[2], axis[1]], [axis[2], 0, -axis[0]], [-axis[1], axis[0], 0]])
    return np.eye(3) + np.sin(a) * skew + (1 - np.cos(a)) * skew @ skew


def _set_leg(rig: _Rig, side: str, limb: Limb, foot: Floats) -> None:
    mark = SIDES[side]
    still = np.zeros(3)
    rig.aim(f"upperleg01.{mark}", f"lowerleg01.{mark}", _world(limb[0], side, still), "root")
    rig.aim(f"lowerleg01.{mark}", f"foot.{mark}", _world(limb[1], side, still), "root")
    rig.fixed[f"foot.{mark}"] = foot


def _foot_turn(pose: Pose, side: str, limb: Limb) -> Floats:
    sign = 1.0 if side == "left" else -1.0
    heel_up_deg = 35.0 if limb[1][1] < -0.4 else 0.0
    return rotation("z", pose.body_yaw_deg + sign * 6.0) @ rotation("x", heel_up_deg)


def pose_body(template: Template, rest: RestBody, pose: Pose) -> PosedBody:
    """Return the body in a pose, its lowest point on the floor and the pelvis over the origin.

    Args:
        template: The body model's fixed parts.
        rest: The person's unposed body.
        pose: What the person does.
    """
    rig = _Rig(template, rest)
    rig.local["root"] = rotation("z", pose.body_yaw_deg)
    _set_spine(rig, pose)
    _set_arm(rig, "left", pose.arm_left, pose)
    _set_arm(rig, "right", pose.arm_right, pose)
    legs = LEGS[pose.legs][::-1] if pose.swap_legs else LEGS[pose.legs]
    for side, limb in zip(("left", "right"), legs, strict=True):
        _set_leg(rig, side, limb, _foot_turn(pose, side, limb))
    turns = rig.solve()
    vertices, heads = skin(template, rest, turns)
    body = template.groups["body"]
    floor_m = vertices[np.unique(body), 2].min() - SOLE_M
    shift = np.array([heads[0, 0], heads[0, 1], floor_m])
    return PosedBody(vertices - shift, heads - shift, turns)
