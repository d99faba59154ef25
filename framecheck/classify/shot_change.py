"""What becomes of a subject within a shot: does the size change, does the subject move."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations, pairwise
from statistics import median

from framecheck.classify.shot_subject import SubjectAt
from framecheck.records.clips import SizeChange

SCALE_CHANGE = math.log(1.15)
"""Less than this change of the figure's height is taken for steady; a single reading of the height
is good to about 3 % (`size.FIGURE_ERROR`), of which this is three times the error of a pair."""
CROP_CHANGE_LEVEL = 0.08
"""The same for the bottom edge on the ruler: twice a common error of a pair of readings."""
ERRORS = 2.8
"""A change of the crop level must also be this many times its error (twice that of a pair)."""
MOVE_FRAC = 0.2
"""A subject that moves over less of the picture's width, or height, stays where it is."""
TURN_DEG = 40.0
"""Less turn of the head is a look about; three-quarter is about 45 degrees from the lens."""
MOTION_WFRAC_PER_S = 0.25
"""Faster than this a frame is likely to be blurred."""


def name_change(subject: Sequence[SubjectAt]) -> SizeChange:
    """Steady, tightening or widening.

    Read from the slope of the figure's height and of the crop level over the whole shot, by the
    median over all pairs of frames, so that one bad reading does not tell a change. Where the two
    disagree, the stronger one counts.
    """
    scale = _total([(at.time_s, at.log_scale) for at in subject]) / SCALE_CHANGE
    error = max((at.error_level for at in subject), default=0.0)
    crop = _total([(at.time_s, at.crop_level) for at in subject])
    crop /= max(CROP_CHANGE_LEVEL, ERRORS * error)
    strongest = max((scale, crop), key=abs)
    if abs(strongest) < 1:
        return SizeChange.STEADY
    return SizeChange.TIGHTENING if strongest > 0 else SizeChange.WIDENING


def _total(points: Sequence[tuple[float, float | None]]) -> float:
    """The change from the first point to the last: the median slope times the time between."""
    read = [(time_s, value) for time_s, value in points if value is not None]
    slopes = [(v - u) / (t - s) for (s, u), (t, v) in combinations(read, 2) if t > s]
    return median(slopes) * (read[-1][0] - read[0][0]) if slopes else 0.0


def tell_movement(subject: Sequence[SubjectAt]) -> bool | None:
    """True when the subject crosses the picture or turns; None when seen less than twice."""
    if len(subject) < 2:
        return None
    across = _spread([at.x_wfrac for at in subject])
    along = _spread([at.y_frac for at in subject])
    yaws = [at.yaw_deg for at in subject if at.yaw_deg is not None]
    turn = max((turned_deg(a, b) for a, b in combinations(yaws, 2)), default=0.0)
    return max(across, along) >= MOVE_FRAC or turn >= TURN_DEG


def turned_deg(one: float, other: float) -> float:
    """The smaller angle between two directions, 0 to 180."""
    return abs((one - other + 180.0) % 360.0 - 180.0)


def samples_in_motion(subject: Sequence[SubjectAt]) -> frozenset[int]:
    """The measured frames in which the subject crosses the picture fast."""
    fast: set[int] = set()
    for one, other in pairwise(subject):
        seconds = other.time_s - one.time_s
        if seconds > 0 and abs(other.x_wfrac - one.x_wfrac) / seconds > MOTION_WFRAC_PER_S:
            fast |= {one.sample, other.sample}
    return frozenset(fast)


def _spread(values: Sequence[float]) -> float:
    return max(values) - min(values)
