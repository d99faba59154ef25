"""The body ruler: where a frame edge cuts a person, as a height on the body.

The marks are the handbook's segment heights as fractions of stature, after R. Drillis and
R. Contini, *Body Segment Parameters* (New York University, 1966), as tabled in D. A. Winter,
*Biomechanics and Motor Control of Human Movement*. The ruler is anchored on them: the knee reads
0.285 on every body, and between two marks it is linear along the segment.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from types import MappingProxyType

from framecheck.records.framing import BodyRuler, Edge, RulerMark
from framecheck.records.values import Box, PointPx

MARK_LEVELS = MappingProxyType(
    {
        "crown": 1.0,
        "eye": 0.936,
        "chin": 0.870,
        "shoulder": 0.818,
        "hip": 0.530,
        "knee": 0.285,
        "ankle": 0.039,
        "sole": 0.0,
    }
)
"""Heights above the floor over stature (Drillis & Contini 1966, in Winter)."""

BODY_LEVELS = MappingProxyType(
    {"chest": 0.720, "elbow": 0.630, "wrist": 0.485, "fingertips": 0.377, "mid-calf": 0.162}
)
"""Further heights on an upright body with hanging arms; mid-calf is half way from knee to ankle."""


def edge_position_px(picture: Box, edge: Edge) -> float:
    """The pixel coordinate of one edge of the active picture (x for the sides, y else)."""
    if edge is Edge.TOP:
        return picture.y_px
    if edge is Edge.BOTTOM:
        return picture.bottom_px
    return picture.x_px if edge is Edge.LEFT else picture.right_px


def ruler_length_px(points_px: Sequence[PointPx]) -> float:
    """Length of the line through the points, in pixels."""
    return sum(math.dist(a, b) for a, b in pairwise(points_px))


def read_bottom_edge(ruler: BodyRuler, edge_y_px: float) -> float:
    """The level at which a horizontal line cuts the body, met when walking down from the crown.

    Returns:
        The level of the first crossing from above the line to below it. When the whole body lies
        above the line: minus the distance below the lowest mark, in figure heights. When the whole
        body lies below the line: 1 plus the distance over the highest mark, in figure heights.
    """
    crossing = _first_crossing(ruler.marks, edge_y_px, downwards=True)
    if crossing is not None:
        return crossing
    lowest_px = max(mark.y_px for mark in ruler.marks)
    if ruler.marks[-1].y_px <= edge_y_px and lowest_px <= edge_y_px:
        return -(edge_y_px - lowest_px) / ruler.figure_px
    highest_px = min(mark.y_px for mark in ruler.marks)
    return 1.0 + max(0.0, highest_px - edge_y_px) / ruler.figure_px


def read_top_edge(ruler: BodyRuler, edge_y_px: float) -> float:
    """The level at which the top edge cuts the body.

    Returns:
        The level of the first crossing from above the line to below it, walking down from the
        crown. When the whole body lies below the line: 1 plus the distance over the highest mark,
        in figure heights. When it lies above the line: minus the distance, in figure heights.
    """
    crossing = _first_crossing(ruler.marks, edge_y_px, downwards=True)
    if crossing is not None and ruler.marks[0].y_px < edge_y_px:
        return crossing
    highest_px = min(mark.y_px for mark in ruler.marks)
    if highest_px >= edge_y_px:
        return 1.0 + (highest_px - edge_y_px) / ruler.figure_px
    if max(mark.y_px for mark in ruler.marks) <= edge_y_px:
        return -(edge_y_px - max(mark.y_px for mark in ruler.marks)) / ruler.figure_px
    # The crown is inside, and some lower part of a bent or tilted body leaves over the top.
    upwards = _first_crossing(ruler.marks, edge_y_px, downwards=False)
    return 1.0 if upwards is None else upwards


def _first_crossing(
    marks: Sequence[RulerMark], edge_y_px: float, *, downwards: bool
) -> float | None:
    for upper, lower in pairwise(marks):
        crosses_down = upper.y_px <= edge_y_px < lower.y_px
        crosses_up = upper.y_px >= edge_y_px > lower.y_px
        if crosses_down if downwards else crosses_up:
            share = (edge_y_px - upper.y_px) / (lower.y_px - upper.y_px)
            return upper.level + share * (lower.level - upper.level)
    return None


def level_at_point(ruler: BodyRuler, point_px: PointPx) -> float:
    """The level of the ruler point nearest to a point in the picture."""
    best_distance_px, best_level = math.inf, 0.0
    for upper, lower in pairwise(ruler.marks):
        share, distance_px = _nearest_on_segment(upper, lower, point_px)
        if distance_px < best_distance_px:
            best_distance_px = distance_px
            best_level = upper.level + share * (lower.level - upper.level)
    return best_level


def point_at_level(ruler: BodyRuler, level: float) -> PointPx:
    """The point in the picture at a level; beyond the ends the last segment is continued."""
    pairs = list(pairwise(ruler.marks))
    upper, lower = next((pair for pair in pairs if level >= pair[1].level), pairs[-1])
    share = (upper.level - level) / (upper.level - lower.level)
    return (
        upper.x_px + share * (lower.x_px - upper.x_px),
        upper.y_px + share * (lower.y_px - upper.y_px),
    )


def _nearest_on_segment(
    upper: RulerMark, lower: RulerMark, point_px: PointPx
) -> tuple[float, float]:
    dx, dy = lower.x_px - upper.x_px, lower.y_px - upper.y_px
    length2 = dx * dx + dy * dy
    along = (point_px[0] - upper.x_px) * dx + (point_px[1] - upper.y_px) * dy
    share = 0.0 if length2 == 0 else min(1.0, max(0.0, along / length2))
    foot = (upper.x_px + share * dx, upper.y_px + share * dy)
    return share, math.dist(foot, point_px)
