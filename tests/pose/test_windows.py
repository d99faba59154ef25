"""The windows that the passes look through."""

from itertools import pairwise

import pytest

from framecheck.pose.windows import padded, square_around, square_tiles
from framecheck.records.values import Box

PICTURE = Box(x_px=10, y_px=20, w_px=1600, h_px=900)


def test_tiles_are_square_and_cover_the_picture() -> None:
    tiles = square_tiles(PICTURE)
    assert {(tile.w_px, tile.h_px) for tile in tiles} == {(540.0, 540.0)}
    assert min(t.x_px for t in tiles) == 10
    assert max(t.right_px for t in tiles) == pytest.approx(PICTURE.right_px)
    columns = sorted({t.x_px for t in tiles})
    assert all(right - left <= 540 for left, right in pairwise(columns))


def test_a_square_keeps_the_middle() -> None:
    square = square_around(Box(x_px=100, y_px=100, w_px=40, h_px=20), 60)
    assert square == Box(x_px=90, y_px=80, w_px=60, h_px=60)


def test_a_border_above_moves_the_top_alone() -> None:
    box = padded(Box(x_px=0, y_px=0, w_px=100, h_px=100), 0.5, 0.0)
    assert (box.y_px, box.bottom_px) == (-50, 100)
    assert (box.x_px, box.right_px) == (-25, 125)
