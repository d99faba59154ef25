"""Lenses: the equations against vectors, against each other, and against brute force."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.geometry.optics import (
    angle_of_view_deg,
    distance_for_field_m,
    field_m,
    focal_for_angle_mm,
    focal_for_field_mm,
    image_height_mm,
    pinhole_distance_m,
    relative_size,
    same_size_distance_m,
    thin_lens_distance_m,
    used_sensor_mm,
)
from framecheck.geometry.set_ups import SetUp, compare_lenses, compare_sizes, longest_lens_mm
from tests.steady import STEADY

SIDES_MM = st.floats(2, 70)
FOCALS_MM = st.floats(4, 800)
LENGTHS_M = st.floats(0.05, 200)
MORE = st.floats(1.001, 20)


@STEADY
@given(SIDES_MM, FOCALS_MM, st.floats(0, 2))
def test_the_angle_is_that_between_the_rays_to_both_rims(side, focal, magnification) -> None:
    rays = np.array(
        [[-side / 2, focal * (1 + magnification)], [side / 2, focal * (1 + magnification)]]
    )
    rays /= np.linalg.norm(rays, axis=1, keepdims=True)
    expected = (
        math.degrees(
            math.atan2(np.linalg.norm(rays[1] - rays[0]) / 2, np.linalg.norm(rays[0] + rays[1]) / 2)
        )
        * 2
    )
    assert angle_of_view_deg(side, focal, magnification=magnification) == pytest.approx(expected)


@STEADY
@given(SIDES_MM, FOCALS_MM, LENGTHS_M)
def test_the_field_fills_the_angle(side, focal, distance) -> None:
    angle = math.radians(angle_of_view_deg(side, focal))
    assert field_m(side, distance, focal) == pytest.approx(2 * distance * math.tan(angle / 2))
    assert image_height_mm(field_m(side, distance, focal), distance, focal) == pytest.approx(side)


@STEADY
@given(SIDES_MM, FOCALS_MM, LENGTHS_M)
def test_every_way_there_has_its_way_back(side, focal, distance) -> None:
    field = field_m(side, distance, focal)
    assert distance_for_field_m(field, side, focal) == pytest.approx(distance)
    assert focal_for_field_mm(field, side, distance) == pytest.approx(focal)
    assert focal_for_angle_mm(side, angle_of_view_deg(side, focal)) == pytest.approx(focal)
    image = image_height_mm(1.7, distance, focal)
    assert pinhole_distance_m(1.7, image, focal) == pytest.approx(distance)


@STEADY
@given(LENGTHS_M, SIDES_MM, FOCALS_MM)
def test_a_thin_lens_keeps_its_equation(tall, image, focal) -> None:
    """1 / f = 1 / object distance + 1 / image distance; the image is m times the object."""
    distance_mm = 1000 * thin_lens_distance_m(tall, image, focal)
    behind_mm = distance_mm * image / (1000 * tall)
    assert 1 / distance_mm + 1 / behind_mm == pytest.approx(1 / focal)


@STEADY
@given(SIDES_MM, FOCALS_MM, LENGTHS_M, MORE)
def test_longer_narrows_and_farther_widens(side, focal, distance, more) -> None:
    assert angle_of_view_deg(side, focal * more) < angle_of_view_deg(side, focal)
    assert angle_of_view_deg(side * more, focal) > angle_of_view_deg(side, focal)
    assert 0 < angle_of_view_deg(side, focal) < 180
    assert field_m(side, distance * more, focal) > field_m(side, distance, focal)
    assert image_height_mm(1.7, distance * more, focal) < image_height_mm(1.7, distance, focal)


@STEADY
@given(SIDES_MM, FOCALS_MM, LENGTHS_M, MORE)
def test_a_larger_sensor_with_a_longer_lens_sees_the_same(side, focal, distance, more) -> None:
    assert angle_of_view_deg(side * more, focal * more) == pytest.approx(
        angle_of_view_deg(side, focal)
    )
    assert field_m(side * more, distance, focal * more) == pytest.approx(
        field_m(side, distance, focal)
    )


@STEADY
@given(LENGTHS_M, st.integers(-99, 9999).map(lambda n: n / 100), FOCALS_MM)
def test_sizes_of_two_people_are_those_of_their_images(distance, share, focal) -> None:
    behind = share * distance
    near, far = (image_height_mm(1.7, d, focal) for d in (distance, distance + behind))
    assert relative_size(distance, behind) == pytest.approx(far / near)
    assert (relative_size(distance, behind) > 1) == (behind < 0)
    assert relative_size(distance, behind) > 0


@STEADY
@given(LENGTHS_M, FOCALS_MM, FOCALS_MM)
def test_the_same_size_on_another_lens(distance, focal, other) -> None:
    there = same_size_distance_m(distance, focal, other)
    assert image_height_mm(1.7, there, other) == pytest.approx(
        image_height_mm(1.7, distance, focal)
    )
    assert same_size_distance_m(there, other, focal) == pytest.approx(distance)


@STEADY
@given(st.tuples(SIDES_MM, SIDES_MM), st.integers(16, 8000), st.integers(16, 8000))
def test_a_picture_takes_the_largest_part_of_the_sensor(sensor, w_px, h_px) -> None:
    width, height = used_sensor_mm(sensor, (w_px, h_px))
    assert width / height == pytest.approx(w_px / h_px)
    assert width <= sensor[0] * (1 + 1e-12)
    assert height <= sensor[1] * (1 + 1e-12)
    assert width == pytest.approx(sensor[0]) or height == pytest.approx(sensor[1])
    assert used_sensor_mm(sensor[::-1], (h_px, w_px)) == pytest.approx((height, width))


@pytest.mark.parametrize("wrong", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize(
    ("call", "names"),
    [
        (angle_of_view_deg, "side_mm focal_mm"),
        (focal_for_angle_mm, "side_mm angle_deg"),
        (pinhole_distance_m, "object_m image_mm focal_mm"),
        (thin_lens_distance_m, "object_m image_mm focal_mm"),
        (image_height_mm, "object_m distance_m focal_mm"),
        (field_m, "side_mm distance_m focal_mm"),
        (distance_for_field_m, "field_side_m side_mm focal_mm"),
        (focal_for_field_mm, "field_side_m side_mm distance_m"),
        (same_size_distance_m, "distance_m focal_mm other_focal_mm"),
    ],
)
def test_every_length_must_be_one(call, names, wrong) -> None:
    """And the message says which is not."""
    for place, name in enumerate(names.split()):
        values = [1.0] * len(names.split())
        values[place] = wrong
        with pytest.raises(ValueError, match=f"^{name} must be above 0 and finite, got {wrong}$"):
            call(*values)


@pytest.mark.parametrize("place", range(4))
def test_every_side_of_a_sensor_and_a_picture_must_be_one(place) -> None:
    sides = [36.0, 24.0, 16.0, 9.0]
    sides[place] = 0.0
    name = ("width_mm", "height_mm", "width_px", "height_px")[place]
    with pytest.raises(ValueError, match=f"^{name} must be above 0"):
        used_sensor_mm((sides[0], sides[1]), (sides[2], sides[3]))


SET_UPS = st.builds(
    SetUp,
    distance_m=st.floats(0.5, 30),
    focal_mm=FOCALS_MM,
    used_wh_mm=st.tuples(SIDES_MM, SIDES_MM),
    behind_m=st.floats(0, 30),
    most_distance_m=st.none() | st.floats(0.5, 40),
)
LENSES = st.lists(st.sampled_from([12.0, 18.0, 25.0, 35.0, 50.0, 85.0, 135.0]), max_size=6)


@STEADY
@given(SET_UPS, LENSES)
def test_lenses_compared_keep_the_subject_and_move_the_background(now, lenses) -> None:
    rows = compare_lenses(now, lenses)
    assert [row.focal_mm for row in rows] == sorted(set(lenses))
    for row in rows:
        size = image_height_mm(1.7, row.distance_m, row.focal_mm)
        assert size == pytest.approx(image_height_mm(1.7, now.distance_m, now.focal_mm))
        assert row.move_m == pytest.approx(row.distance_m - now.distance_m)
        far = image_height_mm(1.7, row.distance_m + now.behind_m, row.focal_mm)
        assert row.behind_size == pytest.approx(far / size)
        sees = [angle_of_view_deg(side, row.focal_mm) for side in now.used_wh_mm]
        assert row.view_wh_deg == pytest.approx(tuple(sees))
        half = math.tan(math.radians(row.view_wh_deg[0] / 2))
        assert row.background_m == pytest.approx(2 * (row.distance_m + now.behind_m) * half)
        deep = math.inf if now.most_distance_m is None else now.most_distance_m
        assert row.fits == (row.distance_m <= deep)


@STEADY
@given(SET_UPS, LENSES, st.floats(0.2, 5), st.floats(1, 2))
def test_sizes_compared_take_in_what_was_asked(now, lenses, height, spread) -> None:
    sizes = [("one", "1", (height / spread, height, height * spread)), ("two", "2", (1, 2, 3))]
    one, two = compare_sizes(now, sizes, lenses)
    assert (one.name, one.abbr, two.name, two.abbr) == ("one", "1", "two", "2")
    side, walks = now.used_wh_mm[1], (one.walk_low_m, one.walk_m, one.walk_high_m)
    for walk, asked in zip(walks, sizes[0][2], strict=True):
        assert field_m(side, walk, now.focal_mm) == pytest.approx(asked)
    assert one.field_m == height
    assert one.longest_mm == longest_lens_mm(now, height, lenses)
    assert one.move_m == pytest.approx(one.walk_m - now.distance_m)
    assert field_m(side, now.distance_m, one.zoom_mm) == pytest.approx(height)
    if now.most_distance_m is None:
        assert one.room_mm is None
    else:
        assert field_m(side, now.most_distance_m, one.room_mm) == pytest.approx(height)


@STEADY
@given(SET_UPS, LENSES, st.floats(0.2, 5))
def test_the_longest_lens_is_the_longest_that_fits(now, lenses, height) -> None:
    deep = math.inf if now.most_distance_m is None else now.most_distance_m
    fits = [f for f in lenses if distance_for_field_m(height, now.used_wh_mm[1], f) <= deep]
    assert longest_lens_mm(now, height, lenses) == (max(fits) if fits else None)


def test_a_place_that_is_just_deep_enough_is() -> None:
    now = SetUp(
        distance_m=2.5, focal_mm=50, used_wh_mm=(36.0, 20.0), behind_m=1, most_distance_m=2.5
    )
    assert [row.fits for row in compare_lenses(now, [49, 50, 51])] == [True, True, False]
    assert longest_lens_mm(now, 1.0, [49, 50, 51]) == 50


def test_who_stands_behind_the_lens_is_told_so() -> None:
    told = r"^a person 3\.0 m in front of one 2\.0 m away is behind the lens$"
    with pytest.raises(ValueError, match=told):
        relative_size(2.0, -3.0)


def test_the_longest_lens_of_a_size_is_that_of_its_middle() -> None:
    """From 3 m a side of 20 mm takes in 1.2 m with 50 mm, and 2.4 m with 25 mm."""
    now = SetUp(distance_m=2, focal_mm=50, used_wh_mm=(36, 20), behind_m=1, most_distance_m=3)
    (row,) = compare_sizes(now, [("one", "1", (1.0, 1.2, 2.4))], [25, 50, 60])
    assert row.longest_mm == 50
