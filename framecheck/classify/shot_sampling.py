"""Which frames of a shot to measure: few where nothing happens, more where something does."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from fractions import Fraction
from itertools import pairwise

from framecheck.classify.shot_change import turned_deg
from framecheck.classify.shot_subject import SubjectAt, follow_subject
from framecheck.records.judged import FrameResult

ONE_FRAME_S = 0.4
"""A shot that lasts less is told by one frame: nobody gets anywhere in it."""
TWO_FRAMES_S = 1.0
"""A shot that lasts less is told by its first and last frame."""
WIDEST_GAP_S = 6.0
"""Nowhere in a shot is more time than this left unmeasured while there are frames to measure."""
NARROWEST_GAP_S = 2.0
"""Neighbours nearer than this are not looked between, however much they differ."""
CROP_STEP_LEVEL, SCALE_STEP, PLACE_STEP, TURN_STEP_DEG = 0.06, math.log(1.12), 0.12, 30.0
"""Neighbours that differ by more are looked between. Somewhat below what `shot_change` tells, so
that a change is not told by two frames alone."""


def needs_more(times_s: Sequence[Fraction], measured: Mapping[int, FrameResult]) -> tuple[int, ...]:
    """The frames to measure next; none when what is measured tells enough.

    Args:
        times_s: of the frames that can be measured, rising, at least one.
        measured: what is known already, by its place in `times_s`.

    Returns:
        Places in `times_s`, rising. The first answer holds the start, the middle and the end
        (fewer in short shots), and further ones in long shots; later answers lie between
        neighbours that differ.
    """
    if not measured:
        return _first(times_s)
    known = sorted(measured)
    between = [
        _between(times_s, low, high)
        for low, high in pairwise(known)
        if times_s[high] - times_s[low] > NARROWEST_GAP_S and _differ(measured[low], measured[high])
    ]
    return tuple(index for index in between if index is not None)


def _first(times_s: Sequence[Fraction]) -> tuple[int, ...]:
    last = len(times_s) - 1
    lasts_s = times_s[last] - times_s[0]
    if lasts_s < ONE_FRAME_S:
        return (last // 2,)
    chosen = {0, last}
    if lasts_s >= TWO_FRAMES_S:
        _split(times_s, (0, last), chosen, least=1)
    return tuple(sorted(chosen))


def _split(
    times_s: Sequence[Fraction], ends: tuple[int, int], chosen: set[int], *, least: int = 0
) -> None:
    """Halve the stretch until no gap is too wide, `least` times in any case."""
    low, high = ends
    middle = _between(times_s, low, high)
    if middle is None or (least < 1 and times_s[high] - times_s[low] <= WIDEST_GAP_S):
        return
    chosen.add(middle)
    _split(times_s, (low, middle), chosen)
    _split(times_s, (middle, high), chosen)


def _between(times_s: Sequence[Fraction], low: int, high: int) -> int | None:
    """The frame nearest to half-way in time; None when there is none between."""
    half_way = (times_s[low] + times_s[high]) / 2
    inner = range(low + 1, high)
    return min(inner, key=lambda index: abs(times_s[index] - half_way), default=None)


def _differ(one: FrameResult, other: FrameResult) -> bool:
    if len(one.measurement.people) != len(other.measurement.people):
        return True
    if one.judgement.shot_type is not other.judgement.shot_type:
        return True
    places = follow_subject((one, other))
    return len(places) == 2 and _far_apart(*places)


def _far_apart(one: SubjectAt, other: SubjectAt) -> bool:
    pairs = (
        (one.crop_level, other.crop_level, CROP_STEP_LEVEL),
        (one.log_scale, other.log_scale, SCALE_STEP),
        (one.x_wfrac, other.x_wfrac, PLACE_STEP),
        (one.y_frac, other.y_frac, PLACE_STEP),
    )
    if any(a is not None and b is not None and abs(a - b) > step for a, b, step in pairs):
        return True
    if one.yaw_deg is None or other.yaw_deg is None:
        return False
    return turned_deg(one.yaw_deg, other.yaw_deg) > TURN_STEP_DEG
