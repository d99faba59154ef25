"""People of the hard scenes: bodies, skin tones, hair and hats by name, and their poses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sample_frames.stage.bodies import Shape
from sample_frames.stage.casting import random_look, random_pose
from sample_frames.stage.hard_plans import BODIES, HAIRS, TONES
from sample_frames.stage.looks import CLOTHS, SKINS, HairStyle, Look
from sample_frames.stage.people import shape_of_stature
from sample_frames.stage.poses import Pose

LEGS = {
    "knees up": "floor_knees", "legs out": "floor_long", "legs crossed": "floor_cross",
    "both knees": "kneel", "on heels": "kneel_heels", "one knee": "kneel_one", "crouch": "crouch",
    "run": "run", "stride": "stride",
}  # fmt: skip
# Kinds whose people stand so close that arms stay at the body.
CALM = frozenset({"crowd", "overlap", "child", "shoulder"})
REST_ARMS = (("lap", "lap"), ("gesture", "lap"), ("chin", "lap"), ("crossed_over", "crossed_under"))


def cast(
    rng: np.random.Generator, tone: str = "", body: str = "", hair: str = ""
) -> tuple[Look, tuple[str, ...]]:
    """Return a person's look and its tags; what is not named is drawn.

    Args:
        rng: Source of the variation.
        tone: One of `TONES`.
        body: One of `BODIES`.
        hair: One of `HAIRS`.
    """
    tone = tone or str(rng.choice(TONES))
    body = body or str(rng.choice(BODIES))
    hair = hair or str(rng.choice(HAIRS))
    look = random_look(rng)
    skin = SKINS[2 * TONES.index(tone) + int(rng.integers(2))]
    lips = tuple(int(v) for v in np.asarray(skin) * (0.86, 0.58, 0.58) * rng.uniform(0.85, 1.05))
    face = replace(look.complexion, skin=skin, lips=lips)
    if body == "child":
        face = replace(face, beard=0.0, receding=False, brow_weight=0.6)
    face = replace(face, scalp=0.0, receding=True) if hair == "bald" else face
    face = replace(face, receding=False) if hair != "bald" else face
    shape = _shape(look.shape, body, rng)
    look = replace(look, shape=shape, complexion=face, hair=_hair(hair, rng))
    return look, (tone, f"body {body}", f"hair {hair}")


def _shape(shape: Shape, body: str, rng: np.random.Generator) -> Shape:
    if body == "tall":
        return shape_of_stature(shape, float(rng.uniform(1.9, 2.06)))
    ranges = _BODY_RANGES.get(body, {})
    return replace(shape, **{name: float(rng.uniform(*span)) for name, span in ranges.items()})


# Values of the body model, whose scale runs from 0 to 1; ages 0.14 to 0.36 are about 4 to 12 years.
_BODY_RANGES: dict[str, dict[str, tuple[float, float]]] = {
    "child": {
        "age": (0.14, 0.36), "height": (0.35, 0.65), "weight": (0.4, 0.65), "muscle": (0.4, 0.5),
        "cupsize": (0.3, 0.3),
    },
    "teen": {"age": (0.38, 0.48), "height": (0.4, 0.65), "muscle": (0.4, 0.5)},
    "heavy": {"weight": (0.9, 1.0), "muscle": (0.3, 0.4)},
    "thin": {"weight": (0.0, 0.1), "muscle": (0.3, 0.4)},
}  # fmt: skip


def _hair(hair: str, rng: np.random.Generator) -> HairStyle:
    colour = CLOTHS[int(rng.integers(len(CLOTHS)))]
    return {
        "short": HairStyle(thickness_m=float(rng.choice([0.006, 0.014, 0.022]))),
        "long": HairStyle(thickness_m=0.018, length_m=float(rng.uniform(0.14, 0.36))),
        "bun": HairStyle(thickness_m=0.014, bun=True),
        "afro": HairStyle(thickness_m=float(rng.uniform(0.04, 0.075)), lump_m=0.006),
        "bald": HairStyle(thickness_m=0.0),
        "brim hat": HairStyle(thickness_m=0.008, brim=colour),
        "peaked cap": HairStyle(thickness_m=0.008, peak=colour),
        "knitted cap": HairStyle(thickness_m=0.01, hat=colour),
    }[hair]


def pose_for(kind: str, variant: str, yaw_deg: float, rng: np.random.Generator) -> Pose:
    """Return the pose that a kind and variant ask for, turned to `yaw_deg` from the lens."""
    pose = random_pose(rng, head_yaw_deg=yaw_deg, seated=kind == "seated", calm=kind in CALM)
    if kind in {"floor", "kneel"}:
        arms = REST_ARMS[int(rng.integers(len(REST_ARMS)))]
        arms = ("hug", "hug") if variant == "knees up" and rng.random() < 0.5 else arms
        bend = {"crouch": (15, 40), "legs out": (-4, 12), "knees up": (5, 22)}.get(variant, (0, 12))
        return _armed(
            replace(
                pose, legs=LEGS[variant], bend_deg=float(rng.uniform(*bend)), lean_deg=0.0,
                tip_deg=-8.0 if variant in {"knees up", "legs out"} else 0.0,
            ), arms,
        )  # fmt: skip
    maker = {"lying": _lying, "run": _running, "arms": _arms, "lean": _leaning}.get(kind)
    if maker is not None:
        return maker(pose, variant, rng)
    if kind == "bowed":
        up = variant == "looking up"
        pitch = rng.uniform(22, 42) if up else -rng.uniform(25, 55)
        return replace(pose, head_pitch_deg=float(pitch), bend_deg=float(rng.uniform(0, 16)))
    return pose


def _armed(pose: Pose, arms: tuple[str, str]) -> Pose:
    return replace(pose, arm_left=arms[0], arm_right=arms[1])


def _lying(pose: Pose, variant: str, rng: np.random.Generator) -> Pose:
    still = replace(
        pose, bend_deg=0.0, lean_deg=0.0, twist_deg=0.0, head_yaw_deg=float(rng.uniform(-20, 20)),
        head_pitch_deg=0.0, head_roll_deg=0.0, sway=(0.0,) * 12,
        # Not feet first, where the body hides its own head.
        body_yaw_deg=float(rng.uniform(55, 180) * rng.choice([-1, 1]))
        - (180.0 if variant == "on front" else 0.0),
    )  # fmt: skip
    if variant == "on back":
        arms = [("lie_side", "lie_side"), ("lie_belly", "lie_side"), ("lie_up", "lie_side")]
        still = replace(still, tip_deg=-90.0, legs=str(rng.choice(["lie", "lie_bent"])))
        return _armed(still, arms[int(rng.integers(3))])
    if variant == "on front":
        yaw = float(rng.choice([-65, 65]))
        still = replace(still, tip_deg=90.0, legs="lie", head_yaw_deg=yaw, head_pitch_deg=12.0)
        return _armed(still, ("lie_back", "lie_back") if rng.random() < 0.5 else ("prone", "prone"))
    side = float(rng.choice([-90, 90]))
    # The limbs on the upper side sink onto the others.
    left_is_up = side < 0
    still = replace(
        still, tip_deg=-90.0, spin_deg=side, legs="lie_curled", bend_deg=12.0,
        swap_legs=not left_is_up, head_roll_deg=24.0 if left_is_up else -24.0,
    )  # fmt: skip
    return _armed(still, ("sunk", "ahead") if left_is_up else ("ahead", "sunk"))


def _running(pose: Pose, variant: str, rng: np.random.Generator) -> Pose:
    arms = ("run_back", "run_front") if variant == "run" else ("loose", "gesture")
    pose = replace(
        pose, legs=variant, swap_legs=False, tip_deg=float(rng.uniform(2, 10)),
        bend_deg=float(rng.uniform(4, 14)), head_pitch_deg=float(rng.uniform(0, 14)),
    )  # fmt: skip
    pose = _armed(pose, arms)
    if rng.random() < 0.5:
        return replace(_armed(pose, arms[::-1]), swap_legs=True)
    return pose


def _arms(pose: Pose, variant: str, rng: np.random.Generator) -> Pose:
    pairs = {
        "both raised": ("raised", "overhead"), "one raised": ("overhead", "down"),
        "crossed": ("crossed_over", "crossed_under"), "behind head": ("behind_head", "behind_head"),
        "wide": ("wide", "wide"), "before face": ("before_face", "before_face"),
    }  # fmt: skip
    left, right = pairs[variant]
    if rng.random() < 0.5:
        left, right = right, left
    if variant == "before face" and rng.random() < 0.5:
        right = "down"
    return _armed(replace(pose, bend_deg=float(rng.uniform(-3, 8))), (left, right))


def _leaning(pose: Pose, variant: str, rng: np.random.Generator) -> Pose:
    if variant == "sideways":
        lean = float(rng.uniform(14, 28) * rng.choice([-1, 1]))
        return replace(pose, lean_deg=lean, bend_deg=float(rng.uniform(0, 10)), legs="relaxed")
    if variant == "forward":
        return replace(pose, bend_deg=float(rng.uniform(28, 60)), legs="stand")
    return replace(
        pose, tip_deg=-float(rng.uniform(7, 12)), legs="lean_back", bend_deg=0.0, lean_deg=0.0,
        twist_deg=0.0, arm_left="crossed_over", arm_right="crossed_under",
    )  # fmt: skip
