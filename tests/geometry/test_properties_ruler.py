"""What holds for the ruler of every body, in any posture."""

import math
from itertools import pairwise

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from framecheck.geometry.ruler import (
    MARK_LEVELS,
    edge_position_px,
    level_at_point,
    point_at_level,
    read_bottom_edge,
    read_top_edge,
    ruler_length_px,
)
from framecheck.records.framing import Edge
from framecheck.records.values import Box
from tests.geometry.bodies import PLACES, bent, mirrored, moved, place_at, points_of, standing
from tests.steady import STEADY

LEVELS = st.floats(0.0, 1.0)
SCALES = st.sampled_from([0.25, 0.5, 2.0, 8.0])
WIDTH_PX = 1920.0
NEAR = 1e-6


def walk(ruler, edge_y_px, *, downwards):
    """A slow oracle: the first level from the crown down at which the body passes the line."""
    levels = sorted({*MARK_LEVELS.values(), *(n / 200 for n in range(201))}, reverse=True)
    for high, low in pairwise(levels):
        above, below = (place_at(ruler, level)[1] for level in (high, low))
        if above <= edge_y_px < below if downwards else above >= edge_y_px > below:
            return halved(ruler, edge_y_px, (high, low), downwards)
    return None


def halved(ruler, edge_y_px, between, downwards):
    high, low = between
    for _ in range(60):
        middle = (high + low) / 2
        beyond = (place_at(ruler, middle)[1] > edge_y_px) is downwards
        high, low = (high, middle) if beyond else (middle, low)
    return (high + low) / 2


@STEADY
@given(bent(), PLACES)
def test_the_bottom_edge_reads_what_a_walk_down_the_body_meets(ruler, edge) -> None:
    heights = [y for _, y in points_of(ruler)]
    assume(edge not in heights)
    expected = walk(ruler, edge, downwards=True)
    if expected is None and max(heights) <= edge:
        expected = -(edge - max(heights)) / ruler.figure_px
    elif expected is None:
        expected = 1 + max(0.0, min(heights) - edge) / ruler.figure_px
    assert read_bottom_edge(ruler, edge) == pytest.approx(expected, abs=NEAR)


@STEADY
@given(bent(), PLACES)
def test_the_top_edge_reads_what_a_walk_down_the_body_meets(ruler, edge) -> None:
    heights = [y for _, y in points_of(ruler)]
    assume(edge not in heights)
    if min(heights) > edge:
        expected = 1 + (min(heights) - edge) / ruler.figure_px
    elif max(heights) < edge:
        expected = -(edge - max(heights)) / ruler.figure_px
    else:
        expected = walk(ruler, edge, downwards=heights[0] < edge)
    assert read_top_edge(ruler, edge) == pytest.approx(expected, abs=NEAR)


@STEADY
@given(bent(), PLACES, LEVELS)
def test_a_mirror_changes_no_reading(ruler, edge, level) -> None:
    other = mirrored(ruler, WIDTH_PX)
    assert read_bottom_edge(other, edge) == pytest.approx(read_bottom_edge(ruler, edge), abs=NEAR)
    assert read_top_edge(other, edge) == pytest.approx(read_top_edge(ruler, edge), abs=NEAR)
    x, y = point_at_level(ruler, level)
    assert point_at_level(other, level) == pytest.approx((WIDTH_PX - x, y), abs=1e-5)


@STEADY
@given(bent(), PLACES, LEVELS, SCALES, st.tuples(PLACES, PLACES))
def test_scale_and_place_change_no_reading(ruler, edge, level, scale, by) -> None:
    other, line = moved(ruler, scale, by), scale * edge + by[1]
    assert read_bottom_edge(other, line) == pytest.approx(read_bottom_edge(ruler, edge), abs=NEAR)
    assert read_top_edge(other, line) == pytest.approx(read_top_edge(ruler, edge), abs=NEAR)
    x, y = point_at_level(ruler, level)
    there = (scale * x + by[0], scale * y + by[1])
    assert point_at_level(other, level) == pytest.approx(there, abs=1e-5)


@STEADY
@given(bent(), LEVELS)
def test_a_level_gives_the_point_between_its_two_marks(ruler, level) -> None:
    assert point_at_level(ruler, level) == pytest.approx(place_at(ruler, level), abs=1e-6)


@STEADY
@given(bent(), st.floats(0.001, 0.5))
def test_beyond_its_ends_a_ruler_goes_straight_on(ruler, beyond) -> None:
    """The point, the end and the mark before it lie on one line, apart as their levels are."""
    for end, before, level in ((0, 1, 1.0 + beyond), (-1, -2, -beyond)):
        at, one, other = point_at_level(ruler, level), ruler.marks[end], ruler.marks[before]
        share = (level - one.level) / (one.level - other.level)
        assert at[0] == pytest.approx(one.x_px + share * (one.x_px - other.x_px), abs=1e-5)
        assert at[1] == pytest.approx(one.y_px + share * (one.y_px - other.y_px), abs=1e-5)


@STEADY
@given(bent(), LEVELS)
def test_the_level_of_a_point_is_a_nearest_one(ruler, level) -> None:
    """From a level to its point and back: there may be another level, but at the same place."""
    point = point_at_level(ruler, level)
    again = point_at_level(ruler, level_at_point(ruler, point))
    assert again == pytest.approx(point, abs=1e-4)


@STEADY
@given(bent(), PLACES, PLACES)
def test_no_other_level_is_nearer_to_a_point(ruler, x, y) -> None:
    found = math.dist(point_at_level(ruler, level_at_point(ruler, (x, y))), (x, y))
    others = [math.dist(place_at(ruler, n / 500), (x, y)) for n in range(501)]
    assert found <= min(others) + 1e-6
    assert 0.0 <= level_at_point(ruler, (x, y)) <= 1.0


@STEADY
@given(standing(), LEVELS)
def test_both_edges_read_the_level_that_they_are_put_at(ruler, level) -> None:
    edge = place_at(ruler, level)[1]
    assert read_bottom_edge(ruler, edge) == pytest.approx(level, abs=1e-6)
    assert read_top_edge(ruler, edge) == pytest.approx(level, abs=1e-6)


@STEADY
@given(standing(), st.floats(-1, 2), st.floats(0, 1))
def test_a_lower_edge_never_reads_higher(ruler, share, step) -> None:
    top, bottom = points_of(ruler)[0][1], points_of(ruler)[-1][1]
    upper = top + share * (bottom - top)
    lower = upper + step * (bottom - top)
    for read in (read_bottom_edge, read_top_edge):
        assert read(ruler, lower) <= read(ruler, upper) + 1e-9


@STEADY
@given(bent(), st.floats(0.0, 3.0))
def test_clear_of_the_body_figure_heights_count(ruler, figures) -> None:
    heights = [y for _, y in points_of(ruler)]
    under = max(heights) + figures * ruler.figure_px
    over = min(heights) - figures * ruler.figure_px
    assert read_bottom_edge(ruler, under) == pytest.approx(-figures, abs=1e-6)
    assert read_top_edge(ruler, over) == pytest.approx(1 + figures, abs=1e-6)
    if figures > 1e-6:
        assert read_bottom_edge(ruler, over) == pytest.approx(1 + figures, abs=1e-6)
        assert read_top_edge(ruler, under) == pytest.approx(-figures, abs=1e-6)


@STEADY
@given(bent())
def test_a_ruler_is_as_long_as_its_parts(ruler) -> None:
    points = points_of(ruler)
    parts = [math.hypot(c - a, d - b) for (a, b), (c, d) in pairwise(points)]
    assert ruler_length_px(points) == pytest.approx(math.fsum(parts))
    assert ruler_length_px(points[::-1]) == pytest.approx(ruler_length_px(points))
    assert ruler_length_px(points) >= math.dist(points[0], points[-1]) - 1e-9
    assert ruler_length_px(points[:1]) == 0


@STEADY
@given(PLACES, PLACES, st.integers(0, 4000), st.integers(0, 4000))
def test_edges_are_where_the_box_ends(x, y, w, h) -> None:
    picture = Box(x_px=x, y_px=y, w_px=w, h_px=h)
    assert edge_position_px(picture, Edge.LEFT) == x
    assert edge_position_px(picture, Edge.TOP) == y
    assert edge_position_px(picture, Edge.RIGHT) == x + w
    assert edge_position_px(picture, Edge.BOTTOM) == y + h
