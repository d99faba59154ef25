"""Poses as bone directions, and their conversion to one world rotation for each bone.

Directions are (out, forward, up): away from the body's midline, to its front, to its head.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace

import numpy as np

from sample_frames.stage.bodies import (
    SIDES,
    Floats,
    Ints,
    RestBody,
    Template,
    arc_rotation,
    load_template,
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
    "wide": ((1.0, 0.05, 0.05), (1.0, 0.12, 0.08)),
    "behind_head": ((0.85, 0.12, 0.5), (-0.66, -0.18, 0.42)),
    "before_face": ((0.05, 0.80, -0.30), (-0.30, -0.22, 0.92)),
    "overhead": ((0.30, 0.15, 0.95), (-0.20, 0.05, 1.0)),
    "hug": ((0.05, 0.80, -0.62), (-0.42, 0.85, -0.22)),
    "run_front": ((0.14, 0.55, -0.80), (-0.25, 0.75, 0.55)),
    "run_back": ((0.22, -0.80, -0.62), (-0.05, 0.42, -0.88)),
    "lie_side": ((0.34, 0.12, -0.95), (0.10, 0.10, -1.0)),
    "lie_up": ((0.85, 0.02, 0.45), (-0.12, 0.04, 1.0)),
    "lie_back": ((0.30, -0.10, -0.95), (0.10, -0.10, -1.0)),
    "prone": ((0.95, -0.10, 0.05), (-0.25, -0.06, 1.0)),
    "lie_belly": ((0.42, 0.10, -0.95), (-0.85, 0.42, -0.35)),
    "sunk": ((-0.30, 0.75, -0.55), (-0.42, 0.85, -0.20)),
    "ahead": ((0.04, 0.95, -0.25), (-0.10, 1.0, 0.05)),
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

# Legs of people who do not stand on flat feet.
LEGS |= {
    "floor_knees": (
        ((0.14, 0.72, 0.68), (0.02, 0.42, -0.9)),
        ((0.18, 0.78, 0.62), (0.02, 0.36, -0.9)),
    ),
    "floor_long": (((0.13, 1.0, 0.02), (0.06, 1.0, -0.04)), ((0.18, 1.0, 0.02), (0.1, 1.0, -0.04))),
    "floor_cross": (
        ((0.86, 0.60, 0.06), (-0.85, 0.40, -0.16)),
        ((0.92, 0.50, 0.10), (-0.98, -0.10, -0.20)),
    ),
    "kneel": (((0.08, 0.04, -1.0), (0.0, -1.0, -0.04)), ((0.12, 0.04, -1.0), (0.02, -1.0, -0.04))),
    "kneel_heels": (
        ((0.16, 0.95, -0.30), (0.0, -1.0, -0.06)),
        ((0.16, 0.95, -0.30), (0.0, -1.0, -0.06)),
    ),
    "kneel_one": (
        ((0.06, 1.0, 0.05), (0.0, 0.04, -1.0)),
        ((0.06, -0.04, -1.0), (0.0, -1.0, -0.05)),
    ),
    "crouch": (((0.30, 0.9, 0.22), (0.0, -0.42, -0.9)), ((0.30, 0.9, 0.10), (0.0, -0.5, -0.87))),
    "lean_back": (
        ((-0.02, 0.12, -1.0), (0.0, 0.08, -1.0)),
        ((0.03, 0.16, -1.0), (0.0, 0.10, -1.0)),
    ),
    "run": (((0.0, 0.85, -0.45), (0.0, -0.40, -0.9)), ((0.0, -0.45, -0.9), (0.0, -0.85, -0.5))),
    "stride": (((0.0, 0.62, -0.8), (0.0, 0.15, -1.0)), ((0.0, -0.40, -0.92), (0.0, -0.75, -0.66))),
    "lie": (((0.07, 0.0, -1.0), (0.03, -0.02, -1.0)), ((0.10, 0.0, -1.0), (0.06, -0.02, -1.0))),
    "lie_bent": (((0.10, 0.72, -0.7), (0.05, -0.62, -0.8)), ((0.10, 0.0, -1.0), (0.06, 0.0, -1.0))),
    "lie_curled": (
        ((-0.22, 0.85, -0.5), (-0.12, -0.45, -0.87)),
        ((0.04, 0.55, -0.85), (0.0, -0.6, -0.8)),
    ),
}
# Plantar flexion of feet that follow the shin; feet not named here stand flat on the floor.
FEET_DEG: dict[str, tuple[float | None, float | None]] = {
    "floor_long": (15.0, 15.0),
    "floor_cross": (35.0, 35.0),
    "kneel": (62.0, 62.0),
    "kneel_heels": (62.0, 62.0),
    "kneel_one": (None, 62.0),
    "run": (15.0, 30.0),
    "stride": (5.0, 25.0),
    "lie": (38.0, 38.0),
    "lie_bent": (25.0, 38.0),
    "lie_curled": (30.0, 30.0),
}
_SEAT = ("root", "pelvis", "spine05", "spine04", "upperleg")
_TRUNK = ("root", "pelvis", "spine", "clavicle", "shoulder")
_FEET = ("foot", "toe")
_BACK_TOES = tuple(f"toe{toe}-{joint}.{{back}}" for toe in range(1, 6) for joint in range(1, 4))
# Bones whose two groups both touch the floor; the body is tipped until they do.
CONTACTS: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "floor_knees": (_SEAT, _FEET),
    "floor_long": (_SEAT, _FEET),
    "floor_cross": (_SEAT, (*_FEET, "lowerleg02")),
    "kneel": (("lowerleg01",), _FEET),
    "kneel_heels": (("lowerleg01",), _FEET),
    "kneel_one": (("foot.{front}",), ("lowerleg01.{back}", "foot.{back}", *_BACK_TOES)),
    "lie": (_TRUNK, _FEET),
    "lie_bent": (_TRUNK, _FEET),
    "lie_curled": ((*_TRUNK, "upperarm"), (*_FEET, "lowerleg", "upperleg02")),
}
POSTURES = {"sit": "seated", "crouch": "other", "floor": "seated", "kneel": "other", "lie": "other"}
# No limb may reach deeper into the floor than soft tissue gives.
GIVE_M = 0.03

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
        tip_deg: Tip of the whole body, 90 onto the front, -90 onto the back.
        spin_deg: Turn about the body's own long axis before it is tipped.
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
    tip_deg: float = 0.0
    spin_deg: float = 0.0

    @property
    def posture(self) -> str:
        """Posture word of the truth record."""
        return POSTURES.get(self.legs.split("_")[0], "standing")

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


def _set_leg(rig: _Rig, side: str, limb: Limb, foot: Floats, flex_deg: float | None = None) -> None:
    mark = SIDES[side]
    still = np.zeros(3)
    rig.aim(f"upperleg01.{mark}", f"lowerleg01.{mark}", _world(limb[0], side, still), "root")
    rig.aim(f"lowerleg01.{mark}", f"foot.{mark}", _world(limb[1], side, still), "root")
    if flex_deg is None:
        rig.fixed[f"foot.{mark}"] = foot
    else:
        rig.local[f"foot.{mark}"] = rotation("x", flex_deg)


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
    rig.local["root"] = _root_turn(pose)
    _set_spine(rig, pose)
    _set_arm(rig, "left", pose.arm_left, pose)
    _set_arm(rig, "right", pose.arm_right, pose)
    order = slice(None, None, -1) if pose.swap_legs else slice(None)
    legs, feet = LEGS[pose.legs][order], FEET_DEG.get(pose.legs, (None, None))[order]
    for side, limb, flex_deg in zip(("left", "right"), legs, feet, strict=True):
        _set_leg(rig, side, limb, _foot_turn(pose, side, limb), flex_deg)
    turns = rig.solve()
    vertices, heads = skin(template, rest, turns)
    posed = PosedBody(vertices, heads, turns)
    if pose.legs in CONTACTS:
        posed = _settle(template, posed, *contact_vertices(pose))
    body = np.unique(template.groups["body"])
    floor_m = posed.vertices_m[body, 2].min() - SOLE_M
    shift = np.array([posed.heads_m[0, 0], posed.heads_m[0, 1], floor_m])
    return PosedBody(posed.vertices_m - shift, posed.heads_m - shift, posed.turns)


def contact_vertices(pose: Pose) -> tuple[Ints, Ints]:
    """The two groups of vertices on which the body comes to rest."""
    front, back = "RL" if pose.swap_legs else "LR"
    one, other = (
        bone_vertices(tuple(bone.format(front=front, back=back) for bone in group))
        for group in CONTACTS[pose.legs]
    )
    return one, other


def _root_turn(pose: Pose) -> Floats:
    turn = rotation("z", pose.body_yaw_deg)
    if pose.tip_deg or pose.spin_deg:
        turn = turn @ rotation("x", pose.tip_deg) @ rotation("z", pose.spin_deg)
    return turn


def _settle(template: Template, posed: PosedBody, one: Ints, other: Ints) -> PosedBody:
    """The body tipped as a whole until two groups of its vertices are equally low.

    Raises:
        ValueError: If another limb then lies deeper than both.
    """
    first, second = posed.vertices_m[one], posed.vertices_m[other]
    along = first.mean(axis=0) - second.mean(axis=0)
    axis = np.array([-along[1], along[0], 0.0]) / max(1e-6, float(np.hypot(*along[:2])))
    low_deg, high_deg = -35.0, 35.0

    def excess(angle_deg: float) -> float:
        row = _about(axis, angle_deg)[2]
        return float((first @ row).min() - (second @ row).min())

    if excess(low_deg) * excess(high_deg) > 0:
        raise ValueError("the pose does not come to rest on the floor")
    rising = excess(high_deg) > 0
    for _ in range(18):
        middle = 0.5 * (low_deg + high_deg)
        if (excess(middle) > 0) == rising:
            high_deg = middle
        else:
            low_deg = middle
    turn = _about(axis, 0.5 * (low_deg + high_deg))
    body = np.unique(template.groups["body"])
    out = PosedBody(posed.vertices_m @ turn.T, posed.heads_m @ turn.T, turn @ posed.turns)
    deep_m = min((first @ turn[2]).min(), (second @ turn[2]).min())
    if out.vertices_m[body, 2].min() < deep_m - GIVE_M:
        raise ValueError("a limb goes through the floor")
    return out


@functools.lru_cache(maxsize=32)
def bone_vertices(prefixes: tuple[str, ...]) -> Ints:
    """Vertices of the body that follow, mostly, the bones whose names begin so."""
    template = load_template()
    columns = [i for i, b in enumerate(template.bones) if b.startswith(prefixes)]
    share = np.asarray(template.weights[:, columns].sum(axis=1)).ravel()
    body = np.unique(template.groups["body"])
    return body[share[body] > 0.6]
