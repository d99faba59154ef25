"""Boxes, points and the value for what cannot be measured."""

import dataclasses
import math

import pytest

from framecheck.records.values import Box, NotMeasured, is_number, number_or


def test_a_box_knows_its_far_edges() -> None:
    box = Box(x_px=10, y_px=20, w_px=30, h_px=40)
    assert (box.right_px, box.bottom_px) == (40, 60)
    assert box.centre_px == (25, 40)
    assert box.area_px2 == 1200


@pytest.mark.parametrize("sizes", [(-1, 1), (1, -1), (math.nan, 1), (math.inf, 1)])
def test_an_impossible_box_is_refused(sizes) -> None:
    with pytest.raises(ValueError, match="box needs"):
        Box(x_px=0, y_px=0, w_px=sizes[0], h_px=sizes[1])


def test_an_empty_box_is_a_box() -> None:
    assert Box(x_px=5, y_px=5, w_px=0, h_px=0).area_px2 == 0


def test_a_reason_is_needed() -> None:
    with pytest.raises(ValueError, match="needs a reason"):
        NotMeasured(reason="")


def test_numbers_and_reasons_are_told_apart() -> None:
    reason = NotMeasured(reason="faces the lens")
    assert is_number(0.0)
    assert not is_number(reason)
    assert number_or(0.0, 7.0) == 0.0
    assert number_or(reason, 7.0) == 7.0


def test_records_are_frozen() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        Box(x_px=0, y_px=0, w_px=1, h_px=1).x_px = 3  # type: ignore[misc]
