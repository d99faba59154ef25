"""Windows: the parts of a picture that the passes look at, as boxes in pixels of the whole file."""

from __future__ import annotations

import math

from framecheck.records.values import Box

TILE_STEP = 0.66
"""Distance of the tiles over their side; the rest is overlap."""


def square_around(box: Box, side_px: float) -> Box:
    """A square with the box's middle."""
    x_px, y_px = box.centre_px
    return Box(x_px=x_px - side_px / 2, y_px=y_px - side_px / 2, w_px=side_px, h_px=side_px)


def grown(box: Box, share: float) -> Box:
    """The box with a share of its longer side around it, as a network needs the surroundings."""
    grow_px = share * max(box.w_px, box.h_px)
    return Box(
        x_px=box.x_px - grow_px, y_px=box.y_px - grow_px,
        w_px=box.w_px + 2 * grow_px, h_px=box.h_px + 2 * grow_px,
    )  # fmt: skip


def padded(box: Box, above_frac: float, below_frac: float) -> Box:
    """The box with a border: shares of its height above and below, and as much at the sides."""
    side_px = max(above_frac, below_frac) * box.w_px / 2
    return Box(
        x_px=box.x_px - side_px, y_px=box.y_px - above_frac * box.h_px,
        w_px=box.w_px + 2 * side_px, h_px=box.h_px * (1 + above_frac + below_frac),
    )  # fmt: skip


def window_around_face(face: Box) -> Box:
    """Room for a whole standing body around a face: about 8 faces high and 7 wide."""
    side_px = max(face.w_px, face.h_px)
    x_px, y_px = face.centre_px
    return Box(
        x_px=x_px - 3.5 * side_px, y_px=y_px - 1.8 * side_px, w_px=7 * side_px, h_px=8 * side_px
    )


def square_tiles(active: Box) -> list[Box]:
    """Overlapping square tiles, each six tenths of the shorter side."""
    side_px = 0.6 * min(active.w_px, active.h_px)
    columns = max(1, math.ceil((active.w_px / side_px - 1) / TILE_STEP) + 1)
    rows = max(1, math.ceil((active.h_px / side_px - 1) / TILE_STEP) + 1)
    return [
        Box(
            x_px=active.x_px + _share(column, columns) * (active.w_px - side_px),
            y_px=active.y_px + _share(row, rows) * (active.h_px - side_px),
            w_px=side_px,
            h_px=side_px,
        )
        for row in range(rows)
        for column in range(columns)
    ]


def scout_tiles(active: Box) -> list[Box]:
    """Overlapping parts of half the picture's width and height: three columns, two rows."""
    w_px, h_px = 0.5 * active.w_px, 0.55 * active.h_px
    return [
        Box(
            x_px=active.x_px + column / 2 * (active.w_px - w_px),
            y_px=active.y_px + row * (active.h_px - h_px),
            w_px=w_px, h_px=h_px,
        )
        for row in range(2)
        for column in range(3)
    ]  # fmt: skip


def _share(index: int, count: int) -> float:
    return 0.0 if count == 1 else index / (count - 1)
