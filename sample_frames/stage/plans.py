"""What each bench scene shall show: every stratum gets its even share of a set."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

import numpy as np

Item = TypeVar("Item")

# Shares of the kinds of scene in a set.
KINDS: tuple[tuple[str, float], ...] = (
    ("single", 0.38),
    ("seated", 0.11),
    ("small", 0.08),
    ("edge", 0.06),
    ("two", 0.13),
    ("three", 0.07),
    ("ots", 0.13),
    ("empty", 0.04),
)
ASPECTS = (4 / 3, 3 / 2, 16 / 9, 16 / 9, 1.85, 2.39, 9 / 16)
LENSES_MM = (18.0, 21.0, 25.0, 28.0, 32.0, 35.0, 40.0, 50.0, 65.0, 75.0, 85.0, 100.0, 135.0)
OTS_LENSES_MM = (32.0, 35.0, 40.0, 50.0, 65.0, 75.0, 85.0)
# Crop levels of the bottom edge by kind of scene.
BOTTOMS = {
    "single": (-0.5, 0.93),
    "seated": (-0.3, 0.90),
    "edge": (-0.2, 0.85),
    "two": (-0.35, 0.78),
    "three": (-0.4, 0.74),
    "ots": (0.42, 0.84),
    "small": (0.0, 0.0),
    "empty": (0.0, 0.0),
}
YAW_BANDS_DEG = ((0, 22), (0, 22), (22, 45), (45, 67), (67, 90), (90, 112), (112, 180))


@dataclass(frozen=True)
class Plan:
    """Wishes for one scene; the builder meets them as far as geometry allows.

    Attributes:
        bottom: Crop level of the bottom edge.
        yaw_deg: Turn of the main subject's head from the lens.
        figure_frac: Figure height over picture height, for small figures.
        bars: Whether black bars surround the picture.
    """

    index: int
    kind: str
    aspect: float
    lens_mm: float
    bottom: float
    headroom: float
    across: float
    yaw_deg: float
    pitch_deg: float
    roll_deg: float
    figure_frac: float
    bars: bool
    dim: bool
    pixels: float


def deal(options: Sequence[Item], count: int, rng: np.random.Generator) -> list[Item]:
    """`count` options, each as often as the others, shuffled."""
    tiled = [options[i % len(options)] for i in range(count)]
    return [tiled[i] for i in rng.permutation(count)]


def _kinds(count: int, rng: np.random.Generator) -> list[str]:
    exact = np.cumsum([share * count for _, share in KINDS])
    ends = np.round(exact / exact[-1] * count).astype(int)
    kinds: list[str] = []
    for (kind, _), end in zip(KINDS, ends, strict=True):
        kinds += [kind] * (int(end) - len(kinds))
    return [kinds[i] for i in rng.permutation(count)]


def spread(low: float, high: float, count: int, rng: np.random.Generator) -> list[float]:
    """Values in even steps with jitter, shuffled."""
    values = low + (high - low) * (np.arange(count) + rng.uniform(0, 1, count)) / max(1, count)
    return [float(v) for v in rng.permutation(values)]


def _headroom(bottom: float, rng: np.random.Generator) -> float:
    if bottom > 0.86:
        return float(rng.uniform(-0.45, 0.05))
    if bottom > 0.72:
        return float(rng.uniform(-0.14, 0.14))
    if bottom > 0.35:
        return float(rng.uniform(-0.03, 0.20))
    return float(rng.uniform(0.02, 0.24))


def draw_plans(seed: int, count: int, height_px: int) -> list[Plan]:
    """Return the plans of a set.

    Args:
        seed: Number of the set.
        count: Scenes wanted.
        height_px: Height of a 16:9 scene; others get the same area.
    """
    rng = np.random.default_rng([seed, 77])
    kinds = _kinds(count, rng)
    bottoms = {k: spread(*BOTTOMS[k], kinds.count(k), rng) for k, _ in KINDS}
    aspects, lenses = deal(ASPECTS, count, rng), deal(LENSES_MM, count, rng)
    bands = deal(YAW_BANDS_DEG, count, rng)
    pitches = spread(-25, 20, count, rng)
    rolls = deal([True] * 3 + [False] * 17, count, rng)
    figures = spread(0.12, 0.34, count, rng)
    bars = deal([True] + [False] * 24, count, rng)
    dims = deal([True] + [False] * 6, count, rng)
    plans = []
    for i, kind in enumerate(kinds):
        bottom = bottoms[kind].pop()
        plans.append(
            Plan(
                index=i,
                kind=kind,
                aspect=_aspect(kind, bottom, aspects[i]),
                lens_mm=deal(OTS_LENSES_MM, 1, rng)[0] if kind == "ots" else lenses[i],
                bottom=bottom,
                headroom=_headroom(bottom, rng),
                across=_across(kind, rng),
                yaw_deg=float(rng.uniform(*bands[i])) * (1 if rng.random() < 0.5 else -1),
                pitch_deg=pitches[i] * (1.0 if rng.random() < 0.6 else 0.25),
                roll_deg=float(rng.uniform(3, 12)) * (1 if rng.random() < 0.5 else -1)
                if rolls[i]
                else 0.0,
                figure_frac=figures[i],
                bars=bars[i],
                dim=dims[i],
                pixels=height_px * height_px * 16 / 9,
            )
        )
    return plans


def _aspect(kind: str, bottom: float, aspect: float) -> float:
    upright = aspect < 1
    if upright and (kind in {"three", "ots"} or (kind == "two" and bottom > 0.1)):
        return 1.5
    return aspect


def _across(kind: str, rng: np.random.Generator) -> float:
    if kind == "edge":
        side = float(rng.uniform(-0.02, 0.10))
        return side if rng.random() < 0.5 else 1 - side
    if kind in {"two", "three"}:
        return float(rng.uniform(0.44, 0.56))
    return float(rng.uniform(0.28, 0.72))


def relaxed(plan: Plan, attempt: int) -> Plan:
    """The plan with its least important wishes dropped, the more the more attempts have failed."""
    if attempt < 6:
        return plan
    changes: dict[str, Any] = {
        "pitch_deg": plan.pitch_deg * 0.2,
        "headroom": max(plan.headroom, -0.1),
    }
    if attempt >= 12:
        changes |= {
            "lens_mm": 50.0,
            "roll_deg": 0.0,
            "across": 0.5 if plan.kind != "edge" else plan.across,
        }
    if attempt >= 20:
        changes |= {
            "aspect": 16 / 9,
            "bottom": min(plan.bottom, 0.82),
            "yaw_deg": plan.yaw_deg * 0.5,
        }
    return replace(plan, **changes)


def accepts(plan: Plan, truth: dict[str, Any]) -> bool:
    """Whether a rendered scene shows what its plan is for."""
    people = truth["people"]
    wanted = {"two": 2, "three": 3, "ots": 2, "empty": 0}.get(plan.kind, 1)
    if len(people) != wanted or not people:
        return len(people) == wanted
    tight = plan.kind == "edge" or plan.bottom > 0.85
    if people[0]["head_visible_frac"] < (0.25 if tight else 0.4):
        return False
    return clear_view(people) if plan.kind == "ots" else _all_shown(people)


def _all_shown(people: list[dict[str, Any]]) -> bool:
    return all(p["occluded_frac"] < 0.75 for p in people)


def clear_view(people: list[dict[str, Any]]) -> bool:
    """Over the shoulder: the far face is free, the near back is there and cut by the picture."""
    near = [p for p in people if p["role"] == "foreground"]
    cut = [p for p in near if p["ruler"]["left"] or p["ruler"]["right"]]
    shoulder_and_head = bool(cut) and near[0]["head_visible_frac"] > 0.2
    return (
        shoulder_and_head and people[0]["head_visible_frac"] > 0.85 and near[0]["facing"] == "away"
    )
