"""Which frames of a shot to measure: few where nothing happens, more where something does."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from framecheck.classify.shot_change import turned_deg
from framecheck.classify.shot_subject import SubjectAt, follow_subject
from framecheck.records.judged import FrameResult

Look: TypeAlias = npt.NDArray[np.float32]
"""(rows, columns, 3): the means of a picture's cells, 0..255."""

ONE_FRAME_S = 0.4
"""A shot that lasts less is told by one frame: nobody gets anywhere in it."""
TWO_FRAMES_S = 1.0
"""A shot that lasts less is told by its first and last frame."""
WIDEST_GAP_S = 6.0
"""Nowhere in a shot is more time than this left unmeasured while there are frames to measure,
unless nothing moves."""
NARROWEST_GAP_S = 2.0
"""Neighbours nearer than this are not looked between, however much they differ; but the middle of
a shot is."""
CROP_STEP_LEVEL, SCALE_STEP, PLACE_STEP, TURN_STEP_DEG = 0.06, math.log(1.12), 0.12, 30.0
"""Neighbours that differ by more are looked between. Somewhat below what `shot_change` tells, so
that a change is not told by two frames alone."""
STILL_LEVELS = 6.0
"""No cell of a picture in which nothing moves changes by more: grain and coding stay below."""
OTHER_LEVELS = 12.0
"""A cell that changes by more shows something else."""
OTHER_SHARE = 0.05
"""Share of cells that show something else half-way than on either side, from which somebody may
have come and gone there."""


def count_useful(lasts_s: Fraction) -> int:
    """How many evenly spaced frames of a shot can ever be asked for: 3, 5 or 9.

    Args:
        lasts_s: from the first frame that can be measured to the last.
    """
    if lasts_s <= 2 * NARROWEST_GAP_S:
        return 3
    return 5 if lasts_s <= 4 * NARROWEST_GAP_S else 9


def needs_more(
    times_s: Sequence[Fraction], measured: Mapping[int, FrameResult], looks: Sequence[Look] = ()
) -> tuple[int, ...]:
    """The frames to measure next; none when what is measured tells enough.

    Args:
        times_s: of the frames that can be measured, rising, at least one.
        measured: what is known already, by its place in `times_s`.
        looks: of the same frames; none when they are not known.

    Returns:
        Places in `times_s`, rising. The first answer holds the start and the end, and further ones
        in long shots, or the middle alone where nothing moves; later answers lie between
        neighbours that differ, unless the change is an even one, and half-way where the picture
        shows something else there.
    """
    if not measured:
        return _first(times_s, looks)
    known = sorted(measured)
    halves = len(known) == 2 and times_s[-1] - times_s[0] >= TWO_FRAMES_S
    between = []
    for place, (low, high) in enumerate(pairwise(known)):
        middle = _between(times_s, low, high)
        far = halves or times_s[high] - times_s[low] > NARROWEST_GAP_S
        if middle is None or not far:
            continue
        other = halves and (
            _names(measured[low]) != _names(measured[high])
            or _shows_other(looks, low, middle, high)
        )
        if other or (
            _differ(measured[low], measured[high]) and not _is_even(times_s, measured, place)
        ):
            between.append(middle)
    return tuple(between)


def is_still(looks: Sequence[Look]) -> bool:
    """True when nothing moves from the first of several frames to the last."""
    return len(looks) > 1 and all(
        bool(np.abs(look - looks[0]).max() <= STILL_LEVELS) for look in looks[1:]
    )


def _first(times_s: Sequence[Fraction], looks: Sequence[Look]) -> tuple[int, ...]:
    last = len(times_s) - 1
    if times_s[last] - times_s[0] < ONE_FRAME_S or is_still(looks):
        return (last // 2,)
    chosen = {0, last}
    _split(times_s, (0, last), chosen)
    return tuple(sorted(chosen))


def _split(times_s: Sequence[Fraction], ends: tuple[int, int], chosen: set[int]) -> None:
    """Halve the stretch until no gap is too wide."""
    low, high = ends
    middle = _between(times_s, low, high)
    if middle is None or times_s[high] - times_s[low] <= WIDEST_GAP_S:
        return
    chosen.add(middle)
    _split(times_s, (low, middle), chosen)
    _split(times_s, (middle, high), chosen)


def _between(times_s: Sequence[Fraction], low: int, high: int) -> int | None:
    """The frame nearest to half-way in time; None when there is none between."""
    half_way = (times_s[low] + times_s[high]) / 2
    inner = range(low + 1, high)
    return min(inner, key=lambda index: abs(times_s[index] - half_way), default=None)


def _shows_other(looks: Sequence[Look], low: int, middle: int, high: int) -> bool:
    """True when a good part of the picture shows half-way what it shows at neither side."""
    if not looks:
        return False
    changes = [np.abs(looks[middle] - looks[side]).max(axis=2) for side in (low, high)]
    return bool((np.minimum(*changes) > OTHER_LEVELS).mean() >= OTHER_SHARE)


def _names(frame: FrameResult) -> tuple[str, ...]:
    return tuple(size.name for size in frame.judgement.sizes[:1])


def _is_even(times_s: Sequence[Fraction], measured: Mapping[int, FrameResult], place: int) -> bool:
    """True when the change between two neighbours goes on as it does beside them.

    Args:
        times_s: as for `needs_more`.
        measured: the same.
        place: of the earlier one of the two among the measured.
    """
    known = sorted(measured)
    threes = [known[first : first + 3] for first in (place - 1, place) if first >= 0]
    return any(
        len(three) == 3
        and _lie_on_a_line([times_s[i] for i in three], [measured[i] for i in three])
        for three in threes
    )


def _lie_on_a_line(times_s: Sequence[Fraction], three: Sequence[FrameResult]) -> bool:
    """True when the reading in the middle is what the two others lead to expect."""
    kinds = {(len(frame.measurement.people), frame.judgement.shot_type) for frame in three}
    places = follow_subject(three)
    if len(kinds) > 1 or len(places) < 3:
        return False
    first, middle, last = places
    share = float((times_s[1] - times_s[0]) / (times_s[2] - times_s[0]))
    ends = [_readings(first), _readings(last)]
    expected = [
        None if a is None or b is None else a + share * (b - a) for a, b in zip(*ends, strict=True)
    ]
    turns = _turned(first, middle) or _turned(middle, last) or _turned(first, last)
    # a change of one step that all happens on one side lies half a step off the line
    return not turns and not _any_apart(_readings(middle), expected, share=0.5)


def _differ(one: FrameResult, other: FrameResult) -> bool:
    if len(one.measurement.people) != len(other.measurement.people):
        return True
    if one.judgement.shot_type is not other.judgement.shot_type:
        return True
    places = follow_subject((one, other))
    return len(places) == 2 and _far_apart(*places)


def _far_apart(one: SubjectAt, other: SubjectAt) -> bool:
    return _any_apart(_readings(one), _readings(other)) or _turned(one, other)


def _readings(at: SubjectAt) -> tuple[float | None, ...]:
    return at.crop_level, at.log_scale, at.x_wfrac, at.y_frac


def _any_apart(
    one: Sequence[float | None], other: Sequence[float | None], share: float = 1.0
) -> bool:
    """True when two readings differ by more than a share of their step."""
    steps = (CROP_STEP_LEVEL, SCALE_STEP, PLACE_STEP, PLACE_STEP)
    return any(
        a is not None and b is not None and abs(a - b) > share * step
        for a, b, step in zip(one, other, steps, strict=True)
    )


def _turned(one: SubjectAt, other: SubjectAt) -> bool:
    if one.yaw_deg is None or other.yaw_deg is None:
        return False
    return turned_deg(one.yaw_deg, other.yaw_deg) > TURN_STEP_DEG
