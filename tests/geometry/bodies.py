"""Bodies for property tests: rulers of any posture, whole, mirrored, moved and scaled."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import strategies as st

from framecheck.geometry.ruler import MARK_LEVELS, ruler_length_px
from framecheck.records.framing import BodyRuler, RulerMark
from framecheck.records.values import PointPx

PLACES = st.integers(-2000, 2000).map(float)
STEPS = st.integers(1, 400).map(float)


def a_ruler(points: list[PointPx]) -> BodyRuler:
    """The ruler through eight points, crown first."""
    marks = tuple(
        RulerMark(name=name, level=level, x_px=x, y_px=y, seen=True)
        for (name, level), (x, y) in zip(MARK_LEVELS.items(), points, strict=True)
    )
    return BodyRuler(marks=marks, figure_px=ruler_length_px(points), error_level=0.01)


@st.composite
def bent(draw: st.DrawFn) -> BodyRuler:
    """A body in any posture, no two neighbouring marks in one place."""
    points = draw(st.lists(st.tuples(PLACES, PLACES), min_size=8, max_size=8))
    return a_ruler([(x + n * 1e-3, y) for n, (x, y) in enumerate(points)])


@st.composite
def standing(draw: st.DrawFn) -> BodyRuler:
    """A body whose every mark lies lower than the one before, as far aside as it likes."""
    x, y = draw(PLACES), draw(PLACES)
    points = [(x, y)]
    for _ in range(7):
        points.append((points[-1][0] + draw(st.integers(-90, 90)), points[-1][1] + draw(STEPS)))
    return a_ruler(points)


def points_of(ruler: BodyRuler) -> list[PointPx]:
    return [(mark.x_px, mark.y_px) for mark in ruler.marks]


def mirrored(ruler: BodyRuler, width_px: float) -> BodyRuler:
    return a_ruler([(width_px - x, y) for x, y in points_of(ruler)])


def moved(ruler: BodyRuler, scale: float, by: PointPx) -> BodyRuler:
    return a_ruler([(scale * x + by[0], scale * y + by[1]) for x, y in points_of(ruler)])


def place_at(ruler: BodyRuler, level: float) -> PointPx:
    """An oracle for `point_at_level` between the ends: two marks around the level, by weights."""
    for upper, lower in pairwise(ruler.marks):
        if lower.level <= level <= upper.level:
            low = (upper.level - level) / (upper.level - lower.level)
            return (
                (1 - low) * upper.x_px + low * lower.x_px,
                (1 - low) * upper.y_px + low * lower.y_px,
            )
    raise AssertionError(level)
