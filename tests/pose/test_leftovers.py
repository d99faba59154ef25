"""Where the people mask says "somebody" and nobody is known."""

import numpy as np
import pytest

from framecheck.pose.leftovers import (
    explains,
    find_leftovers,
    known_people,
    mask_box,
    paint_out,
)
from framecheck.pose.views import View
from framecheck.records.values import Box
from tests.pose.figures import PICTURE, a_body, a_face, anybody

CORNER = Box(x_px=0, y_px=240, w_px=240, h_px=480)  # 1/6 of the picture, at the lower left
LEAST = 0.01
CELL_PX = 720 / 240  # masks are compared on 240 rows


def test_without_known_people_all_of_the_mask_is_left_over() -> None:
    (left,) = find_leftovers(anybody(CORNER), (), (), LEAST)
    assert left.area_frac == pytest.approx(1 / 6, rel=0.03)
    assert left.box.x_px == pytest.approx(0, abs=CELL_PX)
    assert left.box.y_px == pytest.approx(240, abs=CELL_PX)
    assert left.box.right_px == pytest.approx(240, abs=CELL_PX)
    assert (left.at_left, left.at_right, left.at_bottom) == (True, False, True)


def test_a_known_body_leaves_nothing() -> None:
    body = a_body()
    assert find_leftovers(body.mask, [body], (), LEAST) == ()


def test_a_known_body_leaves_the_other_one() -> None:
    body = a_body(700)
    both = anybody(CORNER, Box(x_px=625, y_px=100, w_px=150, h_px=500))
    (left,) = find_leftovers(both, [body], (), 0.03)
    assert left.at_left


def test_a_known_face_takes_its_head_away() -> None:
    head = Box(x_px=440, y_px=90, w_px=80, h_px=90)
    assert find_leftovers(anybody(head), (), [a_face(480, 140, side_px=80)], LEAST) == ()
    assert len(find_leftovers(anybody(head), (), [a_face(100, 140, side_px=80)], LEAST)) == 1


def test_specks_are_no_leftovers() -> None:
    assert find_leftovers(anybody(Box(x_px=10, y_px=10, w_px=30, h_px=30)), (), (), LEAST) == ()


def test_the_largest_comes_first() -> None:
    small = Box(x_px=700, y_px=300, w_px=120, h_px=120)
    found = find_leftovers(anybody(small, CORNER), (), (), LEAST)
    assert [round(left.area_frac, 2) for left in found] == [0.17, 0.02]


def test_a_body_explains_what_it_covers() -> None:
    (left,) = find_leftovers(anybody(CORNER), (), (), LEAST)
    there = a_body(mask=anybody(Box(x_px=0, y_px=400, w_px=240, h_px=320)))
    beside = a_body(mask=anybody(Box(x_px=500, y_px=240, w_px=240, h_px=480)))
    assert explains(there, left)
    assert not explains(beside, left)


def test_the_box_of_a_bodys_pixels() -> None:
    assert mask_box(a_body()) == Box(x_px=405, y_px=100, w_px=150, h_px=500)
    assert mask_box(a_body(mask=anybody())) is None


def test_known_people_are_grown_a_little() -> None:
    known = known_people([a_body(mask=anybody(CORNER))], (), PICTURE, (96, 72))
    assert known[40, 24]  # a cell right of the drawn 24
    assert not known[40, 40]


def test_the_known_are_painted_over_and_the_rest_is_kept() -> None:
    rgb = np.full((72, 96, 3), 200, np.uint8)
    rgb[24:, :24] = 10
    view = View(rgb=rgb, box=PICTURE)
    painted = paint_out(view, [a_body(mask=anybody(CORNER))], ()).rgb
    assert (painted == 200).all()
    assert (rgb[24:, :24] == 10).all()  # the caller's picture is untouched


def test_with_nobody_known_nothing_is_painted() -> None:
    rgb = np.random.default_rng(1).integers(0, 255, (72, 96, 3)).astype(np.uint8)
    assert np.array_equal(paint_out(View(rgb=rgb, box=PICTURE), (), ()).rgb, rgb)
