"""Compare measurements with truth: one `Case` a frame, one table of figures from many cases."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from framecheck.geometry.angles import wrap_deg
from framecheck.records.values import PointPx

MATCH_HEADS = 0.75
"""A found head is the true one when it lies within this many head heights."""

BORDER_LEVEL = 0.02
"""Neighbourhood of a vocabulary border in which the band is not scored, as the issue sets it."""


@dataclass
class Found:
    """What one method says of one frame, reduced to what is scored."""

    heads: list[tuple[PointPx, float]]
    crop_level: float | None = None
    band: str | None = None
    flags: frozenset[str] = frozenset()
    headroom_frac: float | None = None
    head_yaw_deg: float | None = None
    facing: str | None = None
    shot_type: str | None = None
    subject_rank: int | None = None


@dataclass
class Case:
    """One frame: truth beside what a method found for the true subject."""

    name: str
    tags: tuple[str, ...]
    truth: Found
    found: Found
    near_border: bool
    seconds: float = 0.0
    note: dict[str, object] = field(default_factory=dict)


def match_subject(truth: Found, heads: Sequence[tuple[PointPx, float]]) -> int | None:
    """Index of the found head that is the true subject's, or None."""
    if not truth.heads:
        return None
    (centre, height_px) = truth.heads[0]
    gaps = [math.dist(centre, head) / height_px for head, _ in heads]
    if not gaps or min(gaps) > MATCH_HEADS:
        return None
    return gaps.index(min(gaps))


def figures(cases: Sequence[Case]) -> dict[str, float]:
    """The table's numbers, by name."""
    peopled = [case for case in cases if case.truth.heads]
    met = [case for case in peopled if case.found.subject_rank is not None]
    return {
        "frames": len(cases),
        "subject_found": _share([c.found.subject_rank is not None for c in peopled]),
        "subject_first": _share([c.found.subject_rank == 0 for c in peopled]),
        "people_count_right": _share([len(c.found.heads) == len(c.truth.heads) for c in cases]),
        "shot_type_right": _share([c.found.shot_type == c.truth.shot_type for c in cases]),
        "crop_level_measured": _share([c.found.crop_level is not None for c in met]),
        **_errors("crop_level_error", met, lambda f: f.crop_level),
        "band_right": _share([c.found.band == c.truth.band for c in met if not c.near_border]),
        **_flag_figures(met),
        **_errors("headroom_error_frac", met, lambda f: f.headroom_frac),
        **_errors("yaw_error_deg", met, lambda f: f.head_yaw_deg, wrap_deg),
        "facing_right": _share([c.found.facing == c.truth.facing for c in met]),
    }


def _share(hits: Sequence[bool]) -> float:
    return float(np.mean(hits)) if hits else math.nan


def _errors(
    name: str, cases: Sequence[Case], value: Callable[[Found], float | None],
    wrap: Callable[[float], float] = lambda x: x,
) -> dict[str, float]:  # fmt: skip
    gaps = [error for case in cases if (error := gap(case, value, wrap)) is not None]
    if not gaps:
        return {f"{name}_median": math.nan, f"{name}_p90": math.nan}
    return {
        f"{name}_median": float(np.median(gaps)),
        f"{name}_p90": float(np.quantile(gaps, 0.9)),
    }


def gap(
    case: Case, value: Callable[[Found], float | None], wrap: Callable[[float], float] = lambda x: x
) -> float | None:
    """Absolute error of one value, or None where either side has none."""
    true, found = value(case.truth), value(case.found)
    return None if true is None or found is None else abs(wrap(found - true))


def _flag_figures(cases: Sequence[Case]) -> dict[str, float]:
    hits = sum(len(c.truth.flags & c.found.flags) for c in cases)
    false = sum(len(c.found.flags - c.truth.flags) for c in cases)
    missed = sum(len(c.truth.flags - c.found.flags) for c in cases)
    precision = hits / (hits + false) if hits + false else math.nan
    recall = hits / (hits + missed) if hits + missed else math.nan
    total = 2 * hits + false + missed
    return {
        "joint_flag_precision": precision,
        "joint_flag_recall": recall,
        "joint_flag_f1": 2 * hits / total if total else math.nan,
        "joint_flags_true": hits + missed,
    }
