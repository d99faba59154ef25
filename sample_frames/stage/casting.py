"""Random people: body, complexion, hair, outfit and pose."""

from __future__ import annotations

import numpy as np

from sample_frames.stage.bodies import Shape
from sample_frames.stage.looks import CLOTHS, EYES, HAIRS, SKINS, Cloth, HairStyle, Look, Outfit
from sample_frames.stage.people import shape_of_stature
from sample_frames.stage.poses import Pose
from sample_frames.stage.skin_paint import Complexion

# Mean and standard deviation of stature: ANSUR II (2012), women and men.
STATURE_M = {"female": (1.6285, 0.0642), "male": (1.7562, 0.0686)}
PATTERNS = ("plain", "plain", "plain", "stripes", "check", "knit", "dots")
ARM_PAIRS = (
    ("down", "down"),
    ("loose", "loose"),
    ("crossed_over", "crossed_under"),
    ("hip", "down"),
    ("gesture", "loose"),
    ("raised", "down"),
    ("pocket", "pocket"),
    ("chin", "loose"),
    ("point", "down"),
    ("hip", "hip"),
    ("gesture", "gesture"),
    ("loose", "pocket"),
)
SEATED_ARMS = (
    ("lap", "lap"),
    ("gesture", "lap"),
    ("chin", "lap"),
    ("crossed_over", "crossed_under"),
    ("lap", "gesture"),
    ("raised", "lap"),
)


def random_look(rng: np.random.Generator) -> Look:
    """Return a random adult (now and then a teenager) in everyday clothes."""
    female = rng.random() < 0.5
    origin = rng.dirichlet([0.6, 0.6, 0.6])
    shape = Shape(
        gender=float(rng.uniform(0.8, 1.0) if female else rng.uniform(0.0, 0.2)),
        age=float(rng.choice([0.5, 0.62, 0.68, 0.75, 0.85, 0.95])),
        muscle=float(rng.uniform(0.3, 0.75)),
        weight=float(rng.uniform(0.25, 0.8)),
        african=float(origin[0]),
        asian=float(origin[1]),
        caucasian=float(origin[2]),
        cupsize=float(rng.uniform(0.3, 0.6)),
    )
    mean_m, spread_m = STATURE_M["female" if female else "male"]
    stature_m = mean_m + spread_m * float(np.clip(rng.normal(), -2.3, 2.3))
    shape = shape_of_stature(shape, stature_m)
    return Look(
        shape,
        _complexion(shape, rng),
        _hair(shape, rng),
        _outfit(female=female, rng=rng),
        seed=int(rng.integers(1 << 30)),
    )


def _complexion(shape: Shape, rng: np.random.Generator) -> Complexion:
    tone = 0.5 + 3.2 * (1 - shape.caucasian) * (0.4 + shape.african) + rng.normal(0, 0.9)
    skin = SKINS[int(np.clip(round(tone), 0, len(SKINS) - 1))]
    old = shape.age > 0.8
    hair = HAIRS[int(rng.integers(5, 8))] if old else HAIRS[int(rng.integers(0, 6))]
    male = shape.gender < 0.5
    lips = tuple(int(v) for v in np.asarray(skin) * (0.86, 0.58, 0.58) * rng.uniform(0.85, 1.05))
    return Complexion(
        skin=skin,
        hair=hair,
        iris=EYES[int(rng.integers(len(EYES)))],
        lips=lips,  # type: ignore[arg-type]
        brow_weight=float(rng.uniform(0.8, 1.25) if male else rng.uniform(0.55, 0.9)),
        beard=float(rng.choice([0.0, 0.0, 0.3, 0.75, 0.95])) if male else 0.0,
        receding=bool(male and rng.random() < 0.2),
        scalp=1.0,
        blush=float(rng.uniform(0.05, 0.22)),
    )


def _hair(shape: Shape, rng: np.random.Generator) -> HairStyle:
    male = shape.gender < 0.5
    hat = CLOTHS[int(rng.integers(len(CLOTHS)))] if rng.random() < 0.08 else None
    thickness = float(
        rng.choice([0.0, 0.006, 0.012, 0.02]) if male else rng.choice([0.01, 0.018, 0.026])
    )
    long = rng.random() < (0.08 if male else 0.6)
    return HairStyle(
        thickness_m=max(thickness, 0.012) if long else thickness,
        length_m=float(rng.uniform(0.08, 0.24)) if long else 0.0,
        lump_m=float(rng.choice([0.001, 0.003, 0.006])),
        bun=bool(not long and not male and rng.random() < 0.5),
        hat=hat,
    )


def _cloth(rng: np.random.Generator) -> Cloth:
    first, second = rng.choice(len(CLOTHS), 2, replace=False)
    return Cloth(CLOTHS[first], str(rng.choice(PATTERNS)), CLOTHS[second])


def _outfit(*, female: bool, rng: np.random.Generator) -> Outfit:
    skirt = female and rng.random() < 0.25
    shorts = not skirt and rng.random() < 0.15
    plain = Cloth(CLOTHS[int(rng.integers(len(CLOTHS)))])
    return Outfit(
        top=_cloth(rng),
        sleeve=float(rng.choice([0.45, 0.8, 1.3, 1.9, 1.9, 1.9])),
        hem_m=float(rng.uniform(0.16, 0.26)),
        neck_drop_m=float(rng.uniform(0.0, 0.05)),
        v_neck=bool(rng.random() < 0.3),
        jacket=Cloth(CLOTHS[int(rng.integers(len(CLOTHS)))]) if rng.random() < 0.25 else None,
        bottom=plain,
        bottom_kind="skirt" if skirt else "trousers",
        bottom_length=float(rng.uniform(0.7, 1.5)) if skirt else (0.85 if shorts else 1.95),
        bib=bool(not skirt and rng.random() < 0.06),
        shoes=((45, 38, 34), (150, 146, 140), (92, 58, 40))[int(rng.integers(3))],
        boot=bool(rng.random() < 0.2),
    )


def random_pose(
    rng: np.random.Generator, *, head_yaw_deg: float, seated: bool = False, calm: bool = False
) -> Pose:
    """Return a pose whose head is turned to `head_yaw_deg` from the lens, counter-clockwise.

    Args:
        rng: Source of the variation.
        head_yaw_deg: Wanted turn of the head; the body may differ by up to 40 degrees.
        seated: Whether the person sits.
        calm: Arms close to the body, for people who stand together.
    """
    twist = float(rng.uniform(-40, 40)) if rng.random() < 0.5 else float(rng.uniform(-8, 8))
    pairs = SEATED_ARMS if seated else (ARM_PAIRS[:3] if calm else ARM_PAIRS)
    left, right = pairs[int(rng.integers(len(pairs)))]
    if rng.random() < 0.5:
        left, right = right, left
    legs = "sit" if seated else str(rng.choice(["stand", "relaxed", "relaxed", "walk"]))
    bent = rng.random() < 0.15
    return Pose(
        arm_left=left,
        arm_right=right,
        legs=legs,
        body_yaw_deg=head_yaw_deg - twist,
        head_yaw_deg=twist,
        head_pitch_deg=float(rng.normal(0, 8)),
        head_roll_deg=float(rng.normal(0, 5)),
        bend_deg=float(rng.uniform(10, 35)) if bent else float(rng.uniform(-2, 6)),
        lean_deg=float(rng.uniform(-14, 14)) if bent else float(rng.uniform(-3, 3)),
        twist_deg=float(rng.uniform(-6, 6)),
        grip_deg=float(rng.uniform(8, 40)),
        sway=tuple(float(v) for v in rng.normal(0, 0.04, 12)),
        swap_legs=bool(rng.random() < 0.5),
    )
