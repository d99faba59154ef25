"""The dome of a head that an edge cuts."""

import math

import pytest

from framecheck.geometry.dome import DOME_POWER, WIDEST_AT_EDGE, dome_over_edge


def test_an_edge_that_sees_no_width_lies_at_the_top() -> None:
    assert dome_over_edge(1.3, 0.0) == 0.0


@pytest.mark.parametrize("top", [0.9, 1.5, 240.0])
@pytest.mark.parametrize("cut", [0.05, 0.3, 0.6])
def test_the_top_of_a_superellipse_is_found_again(top: float, cut: float) -> None:
    """|x/a|^p + |y/b|^p = 1 at y = (1 - cut) b has the width ratio (1 - (1 - cut)^p)^(1/p)."""
    ratio = math.pow(1 - math.pow(1 - cut, DOME_POWER), 1 / DOME_POWER)
    assert dome_over_edge((1 - cut) * top, ratio) == pytest.approx(cut * top)


def test_the_wider_the_head_at_the_edge_the_more_is_missing() -> None:
    missing = [dome_over_edge(1.0, ratio) for ratio in (0.2, 0.5, 0.8, 0.96)]
    assert missing == sorted(missing)


@pytest.mark.parametrize("ratio", [WIDEST_AT_EDGE, 1.0, 1.2])
def test_an_edge_as_wide_as_the_head_tells_nothing(ratio: float) -> None:
    assert dome_over_edge(1.0, ratio) is None
