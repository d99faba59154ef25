"""Set-ups compared, with figures that can be worked out by hand."""

import pytest

from framecheck.geometry.set_ups import SetUp, compare_lenses, compare_sizes, longest_lens_mm

# 36 mm wide at 50 mm from 2.5 m takes in 1.8 m; the published constant field of a lens change
NOW = SetUp(distance_m=2.5, focal_mm=50, used_wh_mm=(36.0, 20.25), behind_m=2.5)


def test_the_same_size_on_other_lenses() -> None:
    rows = compare_lenses(NOW, [100, 24, 50, 50])
    assert [row.focal_mm for row in rows] == [24, 50, 100]
    assert [row.distance_m for row in rows] == pytest.approx([1.20, 2.50, 5.00])
    assert [row.move_m for row in rows] == pytest.approx([-1.30, 0.0, 2.50])
    # somebody 2.5 m behind: 1.2 / 3.7, 2.5 / 5, 5 / 7.5
    assert [row.behind_size for row in rows] == pytest.approx([1.2 / 3.7, 0.5, 2 / 3])
    # the background widens from near: 3.7 x 36 / 24, 5 x 36 / 50, 7.5 x 36 / 100
    assert [row.background_m for row in rows] == pytest.approx([5.55, 3.6, 2.7])
    assert [round(row.view_wh_deg[0], 2) for row in rows] == [73.74, 39.60, 20.41]


def test_another_size_by_walking_and_by_zooming() -> None:
    half = NOW.field_height_m / 2
    assert NOW.field_height_m == pytest.approx(1.0125)
    (row,) = compare_sizes(NOW, [("half", "H", (half / 2, half, half * 2))], [24, 50])
    assert row.walk_m == pytest.approx(1.25)
    assert row.move_m == pytest.approx(-1.25)
    assert (row.walk_low_m, row.walk_high_m) == pytest.approx((0.625, 2.5))
    assert row.zoom_mm == pytest.approx(100)
    assert row.room_mm is None


def test_the_focal_length_that_a_room_needs() -> None:
    room = SetUp(
        distance_m=2.5, focal_mm=50, used_wh_mm=(36.0, 20.25), behind_m=2.5, most_distance_m=3.0
    )
    # twice the height from 3 m: 3 x 20.25 / 2.025 = 30 mm; no lens at hand is as short
    field_m = 2 * room.field_height_m
    (row,) = compare_sizes(room, [("twice", "T", (field_m, field_m, field_m))], [35, 50])
    assert row.room_mm == pytest.approx(30)
    assert row.longest_mm is None


def test_the_longest_lens_for_a_room() -> None:
    room = SetUp(
        distance_m=2.5, focal_mm=50, used_wh_mm=(36.0, 20.25), behind_m=2.5, most_distance_m=3.0
    )
    lenses = [24, 35, 50, 85]
    # the same field: 24 at 1.2 m, 35 at 1.75, 50 at 2.5, 85 at 4.25
    assert longest_lens_mm(room, room.field_height_m, lenses) == 50
    assert longest_lens_mm(room, 3 * room.field_height_m, lenses) is None
    assert longest_lens_mm(NOW, 3 * room.field_height_m, lenses) == 85
    assert [row.fits for row in compare_lenses(room, lenses)] == [True, True, True, False]
