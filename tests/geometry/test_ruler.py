"""The ruler against the handbook, and against figures that can be checked by hand."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.geometry.ruler import (
    BODY_LEVELS,
    MARK_LEVELS,
    level_at_point,
    point_at_level,
    read_bottom_edge,
    read_top_edge,
)
from framecheck.records.framing import BodyRuler, RulerMark

STATURE_PX = 1000.0


def ruler_at(points: dict[str, tuple[float, float]]) -> BodyRuler:
    marks = tuple(
        RulerMark(name=name, level=MARK_LEVELS[name], x_px=x, y_px=y, seen=True)
        for name, (x, y) in points.items()
    )
    length = sum(
        ((a.x_px - b.x_px) ** 2 + (a.y_px - b.y_px) ** 2) ** 0.5 for a, b in pairwise(marks)
    )
    return BodyRuler(marks=marks, figure_px=length, error_level=0.01)


def upright(*, crown_y_px: float = 100.0, stature_px: float = STATURE_PX) -> BodyRuler:
    return ruler_at(
        {n: (500.0, crown_y_px + (1.0 - level) * stature_px) for n, level in MARK_LEVELS.items()}
    )


def seated() -> BodyRuler:
    """Torso upright, thighs towards the right and level, shanks down."""
    return ruler_at({
        "crown": (0, 0), "eye": (0, 64), "chin": (0, 130), "shoulder": (0, 182), "hip": (0, 470),
        "knee": (245, 470), "ankle": (245, 716), "sole": (245, 755),
    })  # fmt: skip


def test_marks_are_the_handbooks() -> None:
    """Drillis & Contini 1966, in Winter: segment lengths add up to the heights."""
    level = MARK_LEVELS
    assert level["shoulder"] - level["hip"] == pytest.approx(0.288)
    assert level["hip"] - level["knee"] == pytest.approx(0.245)
    assert level["knee"] - level["ankle"] == pytest.approx(0.246)
    assert level["crown"] - level["chin"] == pytest.approx(0.130)
    assert BODY_LEVELS["elbow"] - 0.146 == pytest.approx(BODY_LEVELS["wrist"], abs=0.0011)
    assert BODY_LEVELS["wrist"] - 0.108 == pytest.approx(BODY_LEVELS["fingertips"])
    assert (level["crown"] - level["eye"]) / 0.130 == pytest.approx(0.492, abs=0.0005)
    assert BODY_LEVELS["mid-calf"] == pytest.approx((level["knee"] + level["ankle"]) / 2)


@pytest.mark.parametrize(("name", "level"), MARK_LEVELS.items())
def test_an_edge_on_a_mark_reads_its_level(name: str, level: float) -> None:
    ruler = upright()
    edge = 100.0 + (1.0 - level) * STATURE_PX
    assert read_bottom_edge(ruler, edge) == pytest.approx(level, abs=1e-9), name
    if name not in ("crown", "sole"):
        assert read_top_edge(ruler, edge) == pytest.approx(level, abs=1e-9)


@pytest.mark.parametrize(
    ("edge_y_px", "level"),
    [(1200.0, -0.1), (1350.0, -0.25), (600.0, 0.5), (60.0, 1.04)],
    ids=["clear below", "far below", "half way", "body below the edge"],
)
def test_bottom_edge_by_hand(edge_y_px: float, level: float) -> None:
    assert read_bottom_edge(upright(), edge_y_px) == pytest.approx(level)


@pytest.mark.parametrize(
    ("edge_y_px", "level"),
    [(0.0, 1.1), (100.0, 1.0), (132.0, 0.968), (1300.0, -0.2)],
    ids=["clear above", "touching", "through the hair", "body above the edge"],
)
def test_top_edge_by_hand(edge_y_px: float, level: float) -> None:
    assert read_top_edge(upright(), edge_y_px) == pytest.approx(level)


def test_the_ruler_follows_a_seated_body() -> None:
    ruler = seated()
    assert read_bottom_edge(ruler, 469.0) == pytest.approx(0.531, abs=1e-3)
    assert read_bottom_edge(ruler, 593.0) == pytest.approx(0.285 - 0.246 * 123 / 246)
    assert read_bottom_edge(ruler, 755.0 + 0.1 * ruler.figure_px) == pytest.approx(-0.1)


def test_first_crossing_from_the_crown_counts() -> None:
    """Bent forward, the head below the hips: the edge cuts the head first."""
    bent = ruler_at({
        "crown": (0, 300), "eye": (10, 250), "chin": (30, 200), "shoulder": (60, 150),
        "hip": (300, 100), "knee": (300, 345), "ankle": (300, 591), "sole": (300, 630),
    })  # fmt: skip
    assert read_bottom_edge(bent, 500.0) == pytest.approx(0.285 - 0.246 * (155 / 246))
    assert read_top_edge(bent, 120.0) == pytest.approx(0.53 + 0.288 * 20 / 50)


@given(st.floats(-0.5, 1.3), st.floats(0.1, 40.0))
def test_scale_changes_nothing(level: float, factor: float) -> None:
    edge = 100.0 + (1.0 - level) * STATURE_PX
    small = upright(crown_y_px=100.0 * factor, stature_px=STATURE_PX * factor)
    assert read_bottom_edge(small, edge * factor) == pytest.approx(
        read_bottom_edge(upright(), edge), abs=1e-9
    )


@given(st.floats(0.001, 0.999))
def test_point_and_level_are_inverse(level: float) -> None:
    ruler = seated()
    assert level_at_point(ruler, point_at_level(ruler, level)) == pytest.approx(level, abs=1e-6)


@given(st.floats(-0.4, 1.2), st.floats(0.001, 0.3))
def test_a_lower_edge_never_reads_higher(level: float, step: float) -> None:
    edge = 100.0 + (1.0 - level) * STATURE_PX
    assert read_bottom_edge(upright(), edge + step * STATURE_PX) < read_bottom_edge(upright(), edge)


def folded(*heights: float) -> BodyRuler:
    """A body whose marks lie one beside the other, at these heights."""
    names = list(MARK_LEVELS)
    return ruler_at({name: (10.0 * n, heights[n]) for n, name in enumerate(names)})


def test_a_crown_on_the_line_is_in_the_picture() -> None:
    """Then what leaves over the top is the leg, where it passes the line from below."""
    ruler = folded(100, 150, 200, 250, 300, 50, 40, 30)
    assert read_top_edge(ruler, 100.0) == pytest.approx(0.285 + 0.245 * 50 / 250)


@pytest.mark.parametrize(
    ("heights", "level"),
    [
        ((150, 160, 170, 180, 190, 100, 90, 80), MARK_LEVELS["knee"]),
        ((150, 160, 100, 180, 190, 110, 90, 80), 0.285 - 0.246 / 2),
        ((100, 90, 110, 80, 70, 60, 50, 40), 1.0),
    ],
    ids=["a mark on the line", "a mark that only touches it", "the crown on it"],
)
def test_a_body_that_leaves_over_the_top_is_read_where_it_does(heights, level) -> None:
    assert read_top_edge(folded(*heights), 100.0) == pytest.approx(level)


def test_of_two_levels_as_near_the_upper_counts() -> None:
    hairpin = folded(0, 10, 20, 30, 40, 40, 30, 0)
    other = ruler_at({
        "crown": (0, 0), "eye": (0, 10), "chin": (0, 20), "shoulder": (0, 30), "hip": (0, 100),
        "knee": (50, 100), "ankle": (50, 30), "sole": (50, 0),
    })  # fmt: skip
    assert level_at_point(other, (25.0, 65.0)) == pytest.approx((0.818 + 0.530) / 2)
    assert level_at_point(hairpin, (0.0, 0.0)) == 1.0


def test_marks_in_one_place_are_one_place() -> None:
    ruler = ruler_at({
        "crown": (0, 0), "eye": (0, 0), "chin": (0, 20), "shoulder": (0, 30), "hip": (0, 100),
        "knee": (0, 150), "ankle": (0, 150), "sole": (0, 160),
    })  # fmt: skip
    assert level_at_point(ruler, (5.0, -5.0)) == 1.0
    assert level_at_point(ruler, (9.0, 150.0)) == pytest.approx(0.285)


def test_a_figure_of_a_few_pixels_is_read_between_its_marks() -> None:
    ruler = ruler_at({name: (0.0, float(n)) for n, name in enumerate(MARK_LEVELS)})
    assert level_at_point(ruler, (0.0, 0.5)) == pytest.approx((1.0 + 0.936) / 2)
    assert level_at_point(ruler, (0.0, 3.25)) == pytest.approx(0.818 - 0.288 / 4)


def test_feet_over_the_head_and_the_head_out_below_show_nothing_of_the_head() -> None:
    """Upside down, the head under the bottom edge: there is no cut from above it to below."""
    hanging = folded(300, 290, 280, 270, 200, 150, 110, 100)
    assert read_bottom_edge(hanging, 250.0) == 1.0
