"""Boxes of any size and place."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.records.values import Box, NotMeasured
from tests.steady import STEADY

PLACES = st.floats(-1e6, 1e6)
SIDES = st.floats(0, 1e6)


@STEADY
@given(PLACES, PLACES, SIDES, SIDES)
def test_a_box_is_as_wide_and_high_as_its_far_edges_are_away(x, y, w, h) -> None:
    box = Box(x_px=x, y_px=y, w_px=w, h_px=h)
    assert (box.right_px, box.bottom_px) == (x + w, y + h)
    assert box.centre_px == pytest.approx(((x + box.right_px) / 2, (y + box.bottom_px) / 2))
    assert box.area_px2 == pytest.approx(w * h)


@STEADY
@given(PLACES, PLACES, SIDES, SIDES, st.sampled_from([0.5, 2.0, 4.0]))
def test_a_box_twice_as_large_has_four_times_the_area(x, y, w, h, scale) -> None:
    one = Box(x_px=x, y_px=y, w_px=w, h_px=h)
    other = Box(x_px=scale * x, y_px=scale * y, w_px=scale * w, h_px=scale * h)
    assert other.area_px2 == pytest.approx(scale**2 * one.area_px2)
    assert other.centre_px == pytest.approx(tuple(scale * at for at in one.centre_px))


@pytest.mark.parametrize("place", range(4))
@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf])
def test_every_number_of_a_box_is_finite(place, wrong) -> None:
    numbers = [1.0, 2.0, 3.0, 4.0]
    numbers[place] = wrong
    with pytest.raises(ValueError, match=r"^a box needs finite numbers, got Box\("):
        Box(x_px=numbers[0], y_px=numbers[1], w_px=numbers[2], h_px=numbers[3])


@pytest.mark.parametrize("sizes", [(-1e-9, 1.0), (1.0, -1e-9)])
def test_no_side_of_a_box_is_below_0(sizes) -> None:
    with pytest.raises(ValueError, match=rf"^a box needs sizes >= 0, got {sizes[0]} x {sizes[1]}$"):
        Box(x_px=0, y_px=0, w_px=sizes[0], h_px=sizes[1])


def test_a_box_holds_plain_numbers() -> None:
    box = Box(x_px=np.float32(1), y_px=np.int64(2), w_px=True, h_px=3)
    assert [type(at) for at in (box.x_px, box.y_px, box.w_px, box.h_px)] == [float] * 4
    assert box == Box(x_px=1.0, y_px=2.0, w_px=1.0, h_px=3.0)


def test_an_empty_reason_is_told() -> None:
    with pytest.raises(ValueError, match=r"^a NotMeasured needs a reason, got an empty string$"):
        NotMeasured(reason="")
