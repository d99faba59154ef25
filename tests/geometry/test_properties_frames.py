"""Boxes, safe areas and delivery frames: what holds for every picture."""

import dataclasses
import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.geometry.boxes import holds
from framecheck.geometry.extraction import (
    Rounding,
    RoundMode,
    centred,
    extract,
    fit_aspect,
    inner_size,
    round_length,
    shift_inside,
    spare_px,
)
from framecheck.geometry.safe_areas import SafeArea, is_within, safe_area, safe_inset_px
from framecheck.records.delivery import Delivery
from framecheck.records.values import Box
from tests.steady import STEADY

WHOLE = st.integers(-500, 500).map(float)
SIDES = st.integers(0, 900).map(float)
BOXES = st.builds(Box, x_px=WHOLE, y_px=WHOLE, w_px=SIDES, h_px=SIDES)
PICTURES = st.builds(
    Box, x_px=WHOLE, y_px=WHOLE, w_px=st.integers(2, 4000), h_px=st.integers(2, 4000)
)
ROUNDINGS = st.builds(Rounding, even=st.booleans(), mode=st.sampled_from(RoundMode))
ASPECTS = st.fractions(Fraction(1, 4), 4, max_denominator=100)


def mirror(box, width_px=1000.0):
    return Box(x_px=width_px - box.right_px, y_px=box.y_px, w_px=box.w_px, h_px=box.h_px)


@STEADY
@given(BOXES, WHOLE, WHOLE)
def test_a_box_holds_what_lies_between_its_sides(box, x, y) -> None:
    """Whole pixels can be listed."""
    listed = x in range(int(box.x_px), int(box.right_px) + 1) and y in range(
        int(box.y_px), int(box.bottom_px) + 1
    )
    assert holds(box, (x, y)) == listed
    assert holds(mirror(box), (1000.0 - x, y)) == listed


@STEADY
@given(BOXES)
def test_a_box_holds_its_own_corners_and_middle(box) -> None:
    for x in (box.x_px, box.right_px, box.centre_px[0]):
        for y in (box.y_px, box.bottom_px, box.centre_px[1]):
            assert holds(box, (x, y))
    for x, y in ((box.x_px - 1, box.y_px), (box.right_px + 1, box.y_px),
                 (box.x_px, box.y_px - 1), (box.x_px, box.bottom_px + 1)):  # fmt: skip
        assert not holds(box, (x, y))


@STEADY
@given(BOXES, BOXES)
def test_a_box_is_within_another_when_its_corners_are(inner, outer) -> None:
    corners = [(inner.x_px, inner.y_px), (inner.right_px, inner.bottom_px)]
    assert is_within(inner, outer, slack_px=0) == all(holds(outer, corner) for corner in corners)
    assert is_within(inner, outer) == is_within(mirror(inner), mirror(outer))


@STEADY
@given(PICTURES, st.integers(1, 50))
def test_slack_lets_pass_as_much_as_it_says(picture, slack) -> None:
    for dx, dy, dw, dh in (
        (slack, 0, slack, 0),
        (0, slack, 0, slack),
        (0, 0, slack, 0),
        (0, 0, 0, slack),
    ):
        larger = Box(
            x_px=picture.x_px - dx, y_px=picture.y_px - dy,
            w_px=picture.w_px + dw, h_px=picture.h_px + dh,
        )  # fmt: skip
        assert is_within(larger, picture, slack_px=slack)
        assert not is_within(larger, picture, slack_px=slack - 0.5)
        assert not is_within(larger, picture)


@STEADY
@given(PICTURES)
def test_graphics_lie_in_action_and_action_in_the_picture(picture) -> None:
    action, graphics = safe_area(picture, SafeArea.ACTION), safe_area(picture, SafeArea.GRAPHICS)
    assert is_within(graphics, action)
    assert is_within(action, picture)
    for area, share in ((action, 0.93), (graphics, 0.90)):
        assert area.w_px == pytest.approx(share * picture.w_px)
        assert area.h_px == pytest.approx(share * picture.h_px)
        assert area.centre_px == pytest.approx(picture.centre_px)


@STEADY
@given(st.integers(1, 9000), st.integers(1, 9000), st.sampled_from(SafeArea))
def test_insets_are_the_nearest_whole_pixels(width, height, kind) -> None:
    exact = {SafeArea.ACTION: Fraction(35, 1000), SafeArea.GRAPHICS: Fraction(5, 100)}[kind]
    for inset, side in zip(safe_inset_px((width, height), kind), (width, height), strict=True):
        assert isinstance(inset, int)
        assert abs(inset - exact * side) <= Fraction(1, 2) + Fraction(1, 10**9)


@STEADY
@given(st.floats(-3000, 3000), ROUNDINGS)
def test_rounding_takes_the_multiple_that_it_says(value, rounding) -> None:
    """By counting up from nothing, as one would on paper."""
    step = 2 if rounding.even else 1
    below = 0
    while below + step <= abs(value):
        below += step
    above = below if below == abs(value) else below + step
    nearest = below if abs(value) - below < above - abs(value) else above
    taken = {RoundMode.UP: above, RoundMode.DOWN: below, RoundMode.ROUND: nearest}[rounding.mode]
    assert round_length(value, rounding) == (taken if value >= 0 else -taken)
    assert round_length(-value, rounding) == -round_length(value, rounding)
    assert isinstance(round_length(-value, rounding), int)


@STEADY
@given(st.integers(1, 8000), st.integers(1, 8000), ASPECTS, st.sampled_from([1, 2, Fraction(4, 3)]))
def test_the_largest_frame_of_a_shape_touches_two_sides(width, height, aspect, squeeze) -> None:
    w, h = fit_aspect((width, height), aspect, squeeze=Fraction(squeeze))
    assert w / h * squeeze == aspect
    assert w <= width
    assert h <= height
    assert w == width or h == height
    if squeeze == 1:
        assert fit_aspect((width, height), aspect) == (w, h)


@STEADY
@given(st.integers(1, 8000), st.integers(1, 8000), st.fractions(0, Fraction(9, 10)))
def test_protection_is_taken_off_both_sides(width, height, protection) -> None:
    w, h = inner_size((width, height), protection)
    assert width - w == protection * width
    assert height - h == protection * height


@STEADY
@given(PICTURES, st.integers(1, 900), st.integers(1, 900))
def test_what_is_centred_has_the_same_middle(canvas, width, height) -> None:
    inner = centred((width, height), canvas)
    assert (inner.w_px, inner.h_px) == (width, height)
    assert inner.centre_px == pytest.approx(canvas.centre_px)


@STEADY
@given(BOXES, PICTURES, WHOLE, WHOLE)
def test_a_shifted_box_goes_as_far_as_it_may(box, around, dx, dy) -> None:
    """Of all places in between, by trying them one by one."""
    moved = shift_inside(box, (dx, dy), around)
    assert (moved.w_px, moved.h_px) == (box.w_px, box.h_px)
    for at, size, low, room, wanted in (
        (moved.x_px, box.w_px, around.x_px, around.w_px, box.x_px + dx),
        (moved.y_px, box.h_px, around.y_px, around.h_px, box.y_px + dy),
    ):
        places = [low + n for n in range(int(room - size) + 1)] if room >= size else [low]
        assert at == min(places, key=lambda place: abs(place - wanted))


@STEADY
@given(PICTURES, st.integers(1, 5000), st.integers(1, 5000))
def test_spare_room_is_what_is_left_on_each_side(picture, width, height) -> None:
    inner = centred((width, height), picture)
    spare_x, spare_y = spare_px(inner, picture)
    assert spare_x == pytest.approx(max(0.0, inner.x_px - picture.x_px))
    assert spare_y == pytest.approx(max(0.0, inner.y_px - picture.y_px))


DELIVERIES = st.builds(
    Delivery,
    name=st.just("d"),
    aspect=ASPECTS,
    protection=st.sampled_from([Fraction(0), Fraction(1, 20), Fraction(1, 5)]),
    offset_x_frac=st.floats(-0.6, 0.6),
    offset_y_frac=st.floats(-0.6, 0.6),
)


@STEADY
@given(PICTURES, DELIVERIES, ROUNDINGS)
def test_a_frame_is_rounded_inside_its_protection_inside_the_picture(
    picture, delivery, rounding
) -> None:
    found = extract(picture, delivery, rounding=rounding)
    assert is_within(found.protected, picture)
    assert is_within(found.frame, found.protected)
    assert found.frame.centre_px == pytest.approx(found.protected.centre_px)
    size = (int(picture.w_px), int(picture.h_px))
    exact = fit_aspect(size, delivery.aspect)
    sides = (found.protected.w_px, found.protected.h_px)
    for side, asked, most in zip(sides, exact, size, strict=True):
        assert side == min(most, max(1, round_length(asked, rounding)))
    if not delivery.protection:
        assert found.frame == found.protected


@STEADY
@given(PICTURES, DELIVERIES, WHOLE, WHOLE)
def test_a_frame_moves_with_its_picture(picture, delivery, dx, dy) -> None:
    there = Box(
        x_px=picture.x_px + dx, y_px=picture.y_px + dy, w_px=picture.w_px, h_px=picture.h_px
    )
    one, other = extract(picture, delivery).frame, extract(there, delivery).frame
    assert (other.x_px - dx, other.y_px - dy) == pytest.approx((one.x_px, one.y_px), abs=1e-6)
    assert (other.w_px, other.h_px) == (one.w_px, one.h_px)


@STEADY
@given(PICTURES, DELIVERIES)
def test_a_mirrored_offset_gives_the_mirrored_frame(picture, delivery) -> None:
    other = dataclasses.replace(delivery, offset_x_frac=-delivery.offset_x_frac)
    one, two = extract(picture, delivery).frame, extract(picture, other).frame
    left, right = one.x_px - picture.x_px, picture.right_px - two.right_px
    assert left == pytest.approx(right, abs=1e-6)
    assert two.y_px == one.y_px


@STEADY
@given(PICTURES, DELIVERIES)
def test_a_frame_goes_as_far_as_it_was_asked_to_where_there_is_room(picture, delivery) -> None:
    found = extract(picture, delivery).protected
    middle = centred((found.w_px, found.h_px), picture)
    for at, start, spare, asked in (
        (found.x_px, middle.x_px, picture.w_px - found.w_px, delivery.offset_x_frac * picture.w_px),
        (found.y_px, middle.y_px, picture.h_px - found.h_px, delivery.offset_y_frac * picture.h_px),
    ):
        assert at - start == pytest.approx(max(-spare / 2, min(spare / 2, asked)), abs=1e-6)


FIXED = st.tuples(*[st.integers(0, 100).map(lambda n: n / 200)] * 4)


@STEADY
@given(PICTURES, FIXED, FIXED)
def test_fixed_frames_are_shares_of_the_picture(picture, inner, outer) -> None:
    alone = Delivery(name="d", aspect=Fraction(1), fixed_frac=inner)
    both = Delivery(name="d", aspect=Fraction(1), fixed_frac=inner, protected_frac=outer)
    assert extract(picture, alone).protected == extract(picture, alone).frame
    found = extract(picture, both)
    for box, shares in ((found.frame, inner), (found.protected, outer)):
        assert box.x_px == pytest.approx(picture.x_px + shares[0] * picture.w_px, abs=1e-6)
        assert box.y_px == pytest.approx(picture.y_px + shares[1] * picture.h_px, abs=1e-6)
        assert box.w_px == pytest.approx(shares[2] * picture.w_px, abs=1e-6)
        assert box.h_px == pytest.approx(shares[3] * picture.h_px, abs=1e-6)
    assert math.isclose(round(found.frame.x_px, 6), found.frame.x_px)
