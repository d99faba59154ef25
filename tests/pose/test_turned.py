"""Pictures on their side, and the way back."""

import numpy as np
import pytest

from framecheck.pose.scout import HeadHint
from framecheck.pose.turned import turn_mask, turn_view, turned_back
from framecheck.pose.views import View
from framecheck.records.seen import MaskSeen
from framecheck.records.values import Box

BOX = Box(x_px=10, y_px=20, w_px=40, h_px=30)


@pytest.mark.parametrize("quarters", [1, -1, 2])
def test_a_spot_in_a_turned_picture_is_found_where_it_lies(quarters) -> None:
    rgb = np.zeros((30, 40, 3), np.uint8)
    rgb[5, 31] = 200
    view = turn_view(View(rgb=rgb, box=BOX), quarters)
    mask = turn_mask(MaskSeen(inside=rgb[..., 0], box=BOX), quarters)
    assert (view.box.w_px, view.box.h_px) == ((40, 30) if quarters == 2 else (30, 40))
    assert np.array_equal(mask.inside, view.rgb[..., 0])
    ((row, column),) = np.argwhere(view.rgb[..., 0])
    seen = HeadHint(centre_px=(column + 0.5, row + 0.5), height_px=4.0, belief=0.5)
    back = turned_back(seen, quarters, BOX)
    assert back.centre_px == pytest.approx((10 + 31.5, 20 + 5.5))


def test_who_is_upright_in_a_picture_turned_left_lies_with_the_feet_to_the_left() -> None:
    """Turned counter-clockwise, the picture's left is below; the feet below were at its left."""
    upright = HeadHint(centre_px=(15.0, 10.0), height_px=4.0, belief=0.5)
    assert turned_back(upright, 1, BOX).down == pytest.approx((-1.0, 0.0))
    assert turned_back(upright, -1, BOX).down == pytest.approx((1.0, 0.0))
    assert turned_back(upright, 2, BOX).down == pytest.approx((0.0, -1.0))
