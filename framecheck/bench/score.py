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

PITCH_LIMIT_DEG = 10.0
"""A camera that looks up or down by at least this much is low or high; the bench's own border."""
PITCH_MARGIN_DEG = 3.0
"""Neighbourhood of that border in which the class is not scored."""
SURE = 0.9
"""Rows at this confidence or above must be right."""
CONFIDENCE_BINS = 10

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
    row_size: str | None = None
    row_confidence: float | None = None
    pitch_deg: float | None = None


@dataclass
class Case:
    """One frame: truth beside what a method found for the true subject."""

    name: str
    tags: tuple[str, ...]
    truth: Found
    found: Found
    near_border: bool
    seconds: float = 0.0
    upright: bool = True
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
        "headroom_measured": _share([c.found.headroom_frac is not None for c in met]),
        **_errors("headroom_error_frac", met, lambda f: f.headroom_frac),
        **_errors("yaw_error_deg", met, lambda f: f.head_yaw_deg, wrap_deg),
        "facing_right": _share([c.found.facing == c.truth.facing for c in met]),
        **_crowd_figures(cases),
        **_over_shoulder_figures(cases),
        "crop_level_error_p90_upright": _p90([c for c in met if c.upright]),
        "crop_level_error_p90_bent": _p90([c for c in met if not c.upright]),
        "pitch_class_right": _pitch_right(cases),
        **confidence_figures(cases),
    }


def _p90(cases: Sequence[Case]) -> float:
    return _errors("e", cases, lambda f: f.crop_level)["e_p90"]


def _crowd_figures(cases: Sequence[Case]) -> dict[str, float]:
    """Counting, apart for one to three, four to six, and for nobody at all."""

    def off(low: int, high: int) -> list[int]:
        some = [c for c in cases if low <= len(c.truth.heads) <= high]
        return [abs(len(c.found.heads) - len(c.truth.heads)) for c in some]

    return {
        "count_right_1_to_3": _share([gap == 0 for gap in off(1, 3)]),
        "count_within_one_4_to_6": _share([gap <= 1 for gap in off(4, 6)]),
        "count_within_two_7_to_12": _share([gap <= 2 for gap in off(7, 12)]),
        "nobody_counted_where_nobody_is": _share([gap == 0 for gap in off(0, 0)]),
    }


def _over_shoulder_figures(cases: Sequence[Case]) -> dict[str, float]:
    name = "over-the-shoulder"
    hits = sum(c.truth.shot_type == name == c.found.shot_type for c in cases)
    told = sum(c.found.shot_type == name for c in cases)
    true = sum(c.truth.shot_type == name for c in cases)
    return {
        "over_shoulder_precision": hits / told if told else math.nan,
        "over_shoulder_recall": hits / true if true else math.nan,
        "over_shoulder_f1": 2 * hits / (told + true) if told + true else math.nan,
        "over_shoulder_true": true,
    }


def pitch_class(pitch_deg: float) -> str:
    """Low for a camera that looks up, high for one that looks down, else level."""
    if abs(pitch_deg) < PITCH_LIMIT_DEG:
        return "level"
    return "low" if pitch_deg > 0 else "high"


def _pitch_right(cases: Sequence[Case]) -> float:
    """Share of right classes among the frames with people and a reading; NaN without any."""
    pairs = [
        (c.truth.pitch_deg, c.found.pitch_deg)
        for c in cases
        if c.truth.heads and c.truth.pitch_deg is not None and c.found.pitch_deg is not None
    ]
    return _share(
        [
            pitch_class(true) == pitch_class(found)
            for true, found in pairs
            if abs(abs(true) - PITCH_LIMIT_DEG) >= PITCH_MARGIN_DEG
        ]
    )


def confidence_figures(cases: Sequence[Case]) -> dict[str, float]:
    """How far the confidence beside a size means what it says.

    A row is right when its size is that of the true main subject; a size told of a frame without
    people, or with the head outside, is wrong. The expected calibration error is the mean distance
    between confidence and share right over ten bins of equal width, weighted by their rows
    (Naeini, Cooper, Hauskrecht, 2015).
    """
    rows = [
        (c.found.row_confidence, c.found.row_size == c.truth.band)
        for c in cases
        if c.found.row_confidence is not None
    ]
    sure = [right for confidence, right in rows if confidence >= SURE]
    return {
        "calibration_error": _calibration_error(rows),
        "sure_rows_right": _share(sure),
        "sure_rows": len(sure),
        "sized_rows": len(rows),
    }


def _calibration_error(rows: Sequence[tuple[float, bool]]) -> float:
    if not rows:
        return math.nan
    confidence = np.array([value for value, _ in rows])
    right = np.array([hit for _, hit in rows], dtype=float)
    place = np.minimum((confidence * CONFIDENCE_BINS).astype(int), CONFIDENCE_BINS - 1)
    gaps = [
        abs(float((confidence[place == k] - right[place == k]).sum())) for k in np.unique(place)
    ]
    return sum(gaps) / len(rows)


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
