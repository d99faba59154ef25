"""What is read from the scout's maps, and that the packaged networks run as they were trained."""

import math

import numpy as np
import pytest

from framecheck.measure.head import head_from_body
from framecheck.pose.lookout import open_own_networks
from framecheck.pose.marks import (
    GROUPS,
    SIDE_PX,
    SPOTS_PX,
    cut_person,
    joint_spots,
    person_window,
    to_cells,
)
from framecheck.pose.scout import MAP_PX, find_heads, near_backs
from framecheck.pose.views import View, cut_view
from framecheck.records.picture import Picture
from framecheck.records.seen import JOINT_INDEX, MaskSeen, PersonSeen
from framecheck.records.values import Box
from tests.pose.figures import PICTURE, a_body, a_picture


def a_spot(x: float, y: float) -> np.ndarray:
    """The spot of a head as in training, at shares of the picture."""
    grid = np.arange(MAP_PX)
    column, row = int(x * MAP_PX), int(y * MAP_PX)
    return np.outer(np.exp(-((grid - row) ** 2) / 8), np.exp(-((grid - column) ** 2) / 8))


def told(height: float, down=(0.0, 1.0)) -> np.ndarray:
    """Maps that tell everywhere the same of a head."""
    maps = np.empty((3, MAP_PX, MAP_PX))
    maps[:] = np.array([math.log(height), *down])[:, None, None]
    return maps


def test_a_spot_is_a_head_of_its_place_height_and_direction() -> None:
    box = Box(x_px=10, y_px=20, w_px=1000, h_px=500)
    (head,) = find_heads(a_spot(0.6, 0.3), told(0.25, (3.0, 4.0)), box)
    assert head.centre_px == pytest.approx((610.0, 170.0), abs=7)  # half a cell of 12.5 px
    assert head.height_px == pytest.approx(125.0)
    assert head.down == pytest.approx((0.6, 0.8))


def test_two_spots_are_two_heads_the_surer_first_and_a_faint_one_is_none() -> None:
    belief = np.maximum(0.6 * a_spot(0.2, 0.3), 0.9 * a_spot(0.8, 0.4))
    belief = np.maximum(belief, 0.1 * a_spot(0.5, 0.8))
    found = find_heads(belief, told(0.2), PICTURE)
    assert [h.belief for h in found] == [0.9, 0.6]


def test_two_spots_on_one_head_are_one() -> None:
    belief = np.maximum(0.6 * a_spot(0.5, 0.3), 0.9 * a_spot(0.56, 0.4))
    (head,) = find_heads(belief, told(0.5), PICTURE)
    assert head.belief == 0.9


def test_an_empty_map_has_no_head() -> None:
    assert find_heads(np.zeros((MAP_PX, MAP_PX)), told(0.2), PICTURE) == ()


def test_a_mirror_shows_the_scout_the_same_picture() -> None:
    view = cut_view(a_half_lit().rgb, PICTURE, PICTURE, 384)
    nobody = MaskSeen(inside=np.zeros(view.rgb.shape[:2], np.uint8), box=PICTURE)
    mirror = View(rgb=np.ascontiguousarray(view.rgb[:, ::-1]), box=view.box)
    scout = open_own_networks().scout
    one, other = (scout.look(seen, nobody).back for seen in (view, mirror))
    assert one is not None
    assert other is not None
    assert np.array_equal(one.inside, other.inside[:, ::-1])


def a_half_lit() -> Picture:
    """Noise, brighter at the right."""
    rng = np.random.default_rng(2)
    rgb = rng.integers(0, 200, (720, 960, 3), dtype=np.uint8)
    rgb[:, 480:] += 50
    return Picture(rgb=rgb, active=PICTURE)


def test_the_cut_out_shows_the_person_and_marks_what_lies_outside() -> None:
    body = a_body(60, crown_y_px=-30)  # half out of the picture at the left and the top
    head = head_from_body(body)
    rgb = np.full((720, 960, 3), 90, np.uint8)
    layers, box = cut_person(rgb, PICTURE, body, person_window(head, body, PICTURE))
    assert layers.shape == (SIDE_PX, SIDE_PX, 5)
    assert box.w_px == pytest.approx(box.h_px)
    outside = max(0.0, -box.x_px) / box.w_px
    assert (layers[SIDE_PX // 2, :, 4] == 0).mean() == pytest.approx(outside, abs=0.02)


def test_each_joint_has_its_spot_in_its_layer() -> None:
    body = a_body()
    box = Box(x_px=230, y_px=90, w_px=520, h_px=520)
    cells = to_cells(body.joints_px, box)
    spots = joint_spots(cells)
    for layer, names in zip(spots, GROUPS, strict=True):
        for name in names:
            x, y = cells[JOINT_INDEX[name]] * (SPOTS_PX / SIDE_PX)
            # At most half a cell, 2 px, aside either way: exp(-(4 + 4) / (2 x 3.75 ** 2)).
            assert layer[int(y), int(x)] >= 0.75


def test_the_packaged_networks_answer_and_mirror() -> None:
    """The same figure in a mirror: its marks swap sides about the middle, heights stay."""
    own, body = open_own_networks(), a_body(400)
    rng = np.random.default_rng(1)
    rgb = rng.integers(0, 255, (720, 960, 3), dtype=np.uint8)
    picture = Picture(rgb=rgb, active=PICTURE)
    marks = own.marks.look(picture, PersonSeen(body=body))
    assert marks is not None
    # A figure whose joints are those of the handbook is left about where it is.
    assert np.abs(marks.points_px[:, 0] - 400).max() < 60
    assert (np.diff(marks.points_px[:, 1]) > 0).all()
    assert (marks.errors_px > 0).all()
    assert own.marks.look(picture, PersonSeen(face=None, outline=body.mask)) is None


def test_a_black_picture_has_neither_head_nor_back() -> None:
    view = cut_view(a_picture().rgb, PICTURE, PICTURE, 384)
    nobody = MaskSeen(inside=np.zeros(view.rgb.shape[:2], np.uint8), box=PICTURE)
    sighting = open_own_networks().scout.look(view, nobody)
    assert near_backs(sighting, (), ()) == ()
    assert sighting.heads == ()
