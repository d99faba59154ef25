"""Plans of the hard scenes: what real footage holds and the plain plans leave out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sample_frames.stage.damage import KINDS as DAMAGES
from sample_frames.stage.plans import (
    ASPECTS,
    LENSES_MM,
    OTS_LENSES_MM,
    Plan,
    clear_view,
    deal,
    spread,
)

# Shares of the kinds of scene in a set, and the variants that each kind deals out evenly.
KINDS: tuple[tuple[str, float, tuple[str, ...]], ...] = (
    ("back", 0.08, ("back", "profile", "back")),
    ("bowed", 0.05, ("bowed", "bowed", "looking up")),
    ("arms", 0.06, ("both raised", "one raised", "crossed", "behind head", "wide", "before face")),
    ("lean", 0.05, ("sideways", "forward", "backward")),
    ("floor", 0.06, ("knees up", "legs out", "legs crossed")),
    ("lying", 0.05, ("on back", "on front", "on side")),
    ("kneel", 0.05, ("both knees", "on heels", "one knee", "crouch")),
    ("run", 0.05, ("run", "stride")),
    ("child", 0.05, ("alone", "with adult")),
    ("tiny", 0.07, ("one", "one", "two")),
    ("crowd", 0.10, ("row", "group", "spread")),
    ("overlap", 0.07, ("two", "three")),
    ("furniture", 0.08, ("counter", "pillar", "plant", "sofa", "rail", "wall edge")),
    ("close", 0.07, ("ear to ear", "one eye", "mouth", "back of head")),
    ("steep", 0.07, ("low", "high")),
    ("dutch", 0.04, ("dutch",)),
    ("seated", 0.06, ("chair", "stool", "table")),
    ("shoulder", 0.06, ("shoulder",)),
    ("empty", 0.03, ("empty",)),
    ("objects", 0.02, ("objects",)),
    ("hands", 0.03, ("hands",)),
    ("statue", 0.03, ("statue",)),
    ("doll", 0.02, ("doll",)),
    ("picture", 0.03, ("alone", "alone", "beside")),
    ("mirror", 0.03, ("mirror",)),
)
TONES = ("tone light", "tone tan", "tone brown", "tone deep")
BODIES = ("average", "average", "heavy", "thin", "tall", "child", "average", "teen")
HAIRS = ("short", "long", "bun", "afro", "bald", "brim hat", "peaked cap", "knitted cap", "short")
PLACES = (
    "brick room", "planked room", "papered room", "tiled room", "panelled room", "shelves",
    "leaves", "brick street", "facade", "open field", "yard",
)  # fmt: skip
OUTSIDE = frozenset({"leaves", "brick street", "facade", "open field", "yard"})
# Of the pictures, this share is damaged in one of the ways.
DAMAGED = 0.42
# Kinds without a person to count, unless somebody stands beside a picture.
NOBODY = frozenset({"empty", "objects", "hands", "statue", "doll", "picture"})
WIDE_MM = (18.0, 21.0, 25.0, 28.0, 32.0)
CLOSE_MM = (65.0, 75.0, 85.0, 100.0, 135.0)


@dataclass(frozen=True)
class HardPlan(Plan):
    """Wishes for one hard scene.

    Attributes:
        variant: Which form of its kind.
        tone: Skin tone of the main subject.
        body: Body of the main subject.
        hair: Hair or hat of the main subject.
        place: What surrounds the people.
        damage: What happens to the picture, or empty.
        people: How many people are put there.
    """

    variant: str = ""
    tone: str = TONES[0]
    body: str = BODIES[0]
    hair: str = HAIRS[0]
    place: str = PLACES[0]
    damage: str = ""
    people: int = 1


def draw_hard_plans(seed: int, count: int, height_px: int) -> list[HardPlan]:
    """Return the plans of a set of hard scenes.

    Args:
        seed: Number of the set.
        count: Scenes wanted.
        height_px: Height of a 16:9 scene; others get the same area.
    """
    rng = np.random.default_rng([seed, 177])
    kinds, variants = _kinds(count, rng)
    decks = {
        name: deal(options, count, rng)
        for name, options in (
            ("tone", TONES), ("body", BODIES), ("hair", HAIRS), ("place", PLACES),
            ("damage", _damages()), ("aspect", ASPECTS), ("lens", LENSES_MM),
        )
    }  # fmt: skip
    bottoms, yaws = spread(-0.4, 0.86, count, rng), spread(-180, 180, count, rng)
    pitches, rolls = spread(-25, 22, count, rng), spread(-30, 30, count, rng)
    figures, crowds = spread(0.04, 0.14, count, rng), deal(range(4, 13), count, rng)
    return [
        HardPlan(
            index=i, kind=kind, variant=variants[i],
            aspect=_aspect(kind, decks["aspect"][i]),
            lens_mm=_lens(kind, decks["lens"][i], rng),
            bottom=bottoms[i],
            headroom=float(rng.uniform(*((-0.08, 0.16) if bottoms[i] > 0.6 else (0.02, 0.2)))),
            across=float(rng.uniform(0.3, 0.7)),
            yaw_deg=_yaw(kind, variants[i], yaws[i], rng),
            pitch_deg=_pitch(kind, variants[i], pitches[i], rng),
            roll_deg=_roll(kind, rolls[i], rng),
            figure_frac=figures[i],
            bars=bool(rng.random() < 0.03), dim=False,
            pixels=height_px * height_px * 16 / 9,
            tone=decks["tone"][i],
            body="child" if kind == "child" else decks["body"][i],
            hair=decks["hair"][i], place=decks["place"][i],
            damage=_damage(kind, decks["damage"][i]),
            people=_people(kind, variants[i], crowds[i]),
        )
        for i, kind in enumerate(kinds)
    ]  # fmt: skip


def _kinds(count: int, rng: np.random.Generator) -> tuple[list[str], list[str]]:
    """Kinds by their shares and variants of each kind in turn, in one random order."""
    exact = np.cumsum([share * count for _, share, _ in KINDS])
    ends = np.round(exact / exact[-1] * count).astype(int)
    pairs: list[tuple[str, str]] = []
    for (kind, _, variants), end in zip(KINDS, ends, strict=True):
        wanted = int(end) - len(pairs)
        pairs += [(kind, variant) for variant in deal(variants, wanted, rng)]
    order = rng.permutation(count)
    return [pairs[i][0] for i in order], [pairs[i][1] for i in order]


def _damages() -> tuple[str, ...]:
    clean = round(len(DAMAGES) * (1 - DAMAGED) / DAMAGED)
    return (*DAMAGES, *[""] * clean)


def _damage(kind: str, damage: str) -> str:
    """The damage, unless it would leave nothing of a tiny figure to see."""
    return "" if kind == "tiny" and damage not in {"mono", "flat"} else damage


def _aspect(kind: str, aspect: float) -> float:
    return (
        1.5 if aspect < 1 and kind in {"crowd", "lying", "overlap", "close", "shoulder"} else aspect
    )


def _lens(kind: str, lens_mm: float, rng: np.random.Generator) -> float:
    if kind == "steep":
        return float(rng.choice(WIDE_MM))
    if kind == "shoulder":
        return float(rng.choice(OTS_LENSES_MM))
    return float(rng.choice(CLOSE_MM)) if kind in {"close", "hands"} else lens_mm


def _yaw(kind: str, variant: str, yaw_deg: float, rng: np.random.Generator) -> float:
    side = 1.0 if yaw_deg > 0 else -1.0
    if variant in {"back", "back of head"}:
        return side * float(rng.uniform(140, 180))
    if variant == "profile":
        return side * float(rng.uniform(70, 112))
    if kind in {"close", "arms"}:
        return yaw_deg * (0.12 if kind == "close" else 0.4)
    return yaw_deg * float(rng.choice([0.25, 0.5, 1.0]))


def _pitch(kind: str, variant: str, pitch_deg: float, rng: np.random.Generator) -> float:
    if kind == "steep":
        return float(rng.uniform(22, 45)) * (1 if variant == "low" else -1)
    return pitch_deg * {"tiny": 0.4, "close": 0.7, "crowd": 0.5}.get(kind, 1.0)


def _roll(kind: str, roll_deg: float, rng: np.random.Generator) -> float:
    if kind == "dutch":
        return float(np.copysign(10 + 20 * abs(roll_deg) / 30, roll_deg))
    return roll_deg * 0.5 if rng.random() < 0.10 else 0.0


def _people(kind: str, variant: str, crowd: int) -> int:
    if kind in {"crowd", "shoulder"}:
        return crowd if kind == "crowd" else 2
    if kind in NOBODY and variant != "beside":
        return 0
    return {"two": 2, "with adult": 2, "three": 3}.get(variant, 1)


def relaxed_hard(plan: HardPlan, attempt: int) -> HardPlan:
    """The plan with its least important wishes dropped, the more the more attempts have failed."""
    if attempt < 6:
        return plan
    changes: dict[str, Any] = {"pitch_deg": plan.pitch_deg * (0.75 if attempt < 14 else 0.3)}
    if attempt >= 12:
        changes |= {"lens_mm": 50.0 if plan.kind != "steep" else 21.0, "across": 0.5}
        changes |= {"roll_deg": plan.roll_deg * 0.6}
    if attempt >= 18:
        changes |= {"aspect": 16 / 9, "bottom": min(plan.bottom, 0.6), "body": "average"}
        changes |= {"people": min(plan.people, 6)}
    return replace(plan, **changes)


def accepts_hard(plan: HardPlan, truth: dict[str, Any]) -> bool:
    """Whether a rendered scene shows what its plan is for, and nobody of whom one could argue.

    A person of whom only a few pixels show is neither there nor away; such scenes are drawn again.
    """
    people = truth["people"]
    least = {"crowd": 4, "overlap": 2, "child": plan.people, "tiny": plan.people}
    if plan.people == 0 or len(people) < least.get(plan.kind, 1):
        return plan.people == 0 and not people
    if plan.kind in {"close", "shoulder"}:
        return plan.kind == "close" or (len(people) == 2 and clear_view(people))
    hidden = plan.kind != "furniture" or people[0]["occluded_frac"] > 0.06
    clear = all(_clearly_there(p) for p in people) and people[0]["head_visible_frac"] > 0.4
    return hidden and clear


def _clearly_there(person: dict[str, Any]) -> bool:
    return bool(person["head_visible_frac"] > 0.25 or person["mask_visible_frac"] > 0.15)
