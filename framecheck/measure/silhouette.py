"""What the mask says: the top of the head, and where the frame edges touch the body."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from framecheck.records.framing import Edge
from framecheck.records.seen import MaskSeen
from framecheck.records.values import Box, PointPx

FloatArray = npt.NDArray[np.float64]

INSIDE = 128
"""Mask value from which a pixel counts as the person's."""

EDGE_REACH_FRAC = 0.012
"""How near the mask must come to an edge, over the picture height, to count as touching it."""


def mask_scale_px(mask: MaskSeen) -> float:
    """File pixels per mask pixel."""
    return float(mask.box.h_px / max(1, mask.inside.shape[0]))


def mask_box(mask: MaskSeen, picture: Box) -> Box | None:
    """The box around the person's pixels inside the picture; None when the mask is empty."""
    rows = np.flatnonzero((mask.inside >= INSIDE).sum(axis=1) >= 2)
    columns = np.flatnonzero((mask.inside >= INSIDE).sum(axis=0) >= 2)
    if rows.size == 0 or columns.size == 0:
        return None
    sx, sy = _scales(mask)
    left = max(picture.x_px, mask.box.x_px + columns[0] * sx)
    top = max(picture.y_px, mask.box.y_px + rows[0] * sy)
    right = min(picture.right_px, mask.box.x_px + (columns[-1] + 1) * sx)
    bottom = min(picture.bottom_px, mask.box.y_px + (rows[-1] + 1) * sy)
    if right <= left or bottom <= top:
        return None
    return Box(x_px=left, y_px=top, w_px=right - left, h_px=bottom - top)


def is_on_person(mask: MaskSeen, places: FloatArray) -> npt.NDArray[np.bool_]:
    """Which places lie on the person's pixels; (N, 2) pixels of the whole file in, (N,) out."""
    height, width = mask.inside.shape
    columns = np.floor((places[:, 0] - mask.box.x_px) / max(mask.box.w_px, 1e-9) * width)
    rows = np.floor((places[:, 1] - mask.box.y_px) / max(mask.box.h_px, 1e-9) * height)
    within = (columns >= 0) & (columns < width) & (rows >= 0) & (rows < height)
    at = (np.clip(rows, 0, height - 1).astype(int), np.clip(columns, 0, width - 1).astype(int))
    return np.asarray(within & (mask.inside[at] >= INSIDE))


def walk_out_px(mask: MaskSeen, start_px: PointPx, direction: PointPx, limit_px: float) -> float:
    """Distance from a point inside the mask to where the mask ends, along a direction.

    Args:
        mask: the person's pixels.
        start_px: where to start, pixels of the whole file.
        direction: unit vector.
        limit_px: how far to walk at most.

    Returns:
        Distance in pixels, interpolated between samples; 0 when the start is outside the mask,
        `limit_px` when the mask does not end before it.
    """
    return float(_walk_out_all_px(mask, np.array([start_px]), direction, limit_px)[0])


def _walk_out_all_px(
    mask: MaskSeen, starts_px: FloatArray, direction: PointPx, limit_px: float
) -> FloatArray:
    """The same from many points at once; (N, 2) in, (N,) out."""
    step_px = max(0.5, mask_scale_px(mask) / 2)
    distances_px = np.arange(0.0, limit_px + step_px, step_px)
    values = _sample(mask, starts_px, direction, distances_px)
    outside = values < INSIDE
    first = outside.argmax(axis=1)
    rows, before = np.arange(len(values)), np.maximum(first - 1, 0)
    last, end = values[rows, before], values[rows, first]
    ends_px = distances_px[before] + step_px * (last - INSIDE) / np.maximum(last - end, 1e-6)
    ends_px = np.where(first == 0, 0.0, ends_px)
    return np.where(outside.any(axis=1), ends_px, limit_px)


def head_top_y_px(
    mask: MaskSeen, centre_px: PointPx, half_width_px: float, limit_px: float
) -> float | None:
    """The highest row of the head, hair included, raised arms left out.

    Walks up from a band across the head, column by column, and takes the highest end that at
    least a few neighbouring columns reach.

    Returns:
        y in pixels of the whole file, or None when the head's middle is not in the mask.
    """
    columns = np.linspace(-1.0, 1.0, 25) * half_width_px
    starts_px = np.column_stack([centre_px[0] + columns, np.full(len(columns), centre_px[1])])
    heights_px = _walk_out_all_px(mask, starts_px, (0.0, -1.0), limit_px)
    reached = np.sort(heights_px[heights_px > 0])
    if reached.size < 5:
        return None
    # The third highest of 25 columns: one stray column of hair or background does not count.
    return centre_px[1] - float(reached[-3])


def stretch_at(mask: MaskSeen, middle_px: PointPx, reach_px: float) -> tuple[float, float] | None:
    """The stretch of the person's pixels in a row that is nearest to a point.

    Args:
        mask: the person's pixels.
        middle_px: the point, pixels of the whole file.
        reach_px: how far from it to look on either side.

    Returns:
        x of its two ends; None when nothing is there, or one of its ends is out of reach.
    """
    step_px = max(0.5, mask_scale_px(mask) / 2)
    columns_px = np.arange(-reach_px, reach_px + step_px, step_px)
    start_px = np.array([[middle_px[0] - reach_px, middle_px[1]]])
    inside = _sample(mask, start_px, (1.0, 0.0), columns_px + reach_px)[0] >= INSIDE
    if not inside.any():
        return None
    found = np.flatnonzero(inside)
    nearest = int(found[np.abs(columns_px[found]).argmin()])
    outside = np.flatnonzero(~inside)
    before, after = outside[outside < nearest], outside[outside > nearest]
    if before.size == 0 or after.size == 0:
        return None
    ends_px = (
        (columns_px[before[-1]] + columns_px[before[-1] + 1]) / 2,
        (columns_px[after[0] - 1] + columns_px[after[0]]) / 2,
    )
    return middle_px[0] + float(ends_px[0]), middle_px[0] + float(ends_px[1])


def touches_edge(mask: MaskSeen, picture: Box, edge: Edge) -> tuple[float, float] | None:
    """The stretch of one edge that the person's pixels reach.

    Returns:
        First and last coordinate along the edge (y for the sides, x else) in pixels of the whole
        file, or None when the edge is clear of the person.
    """
    reach_px = max(EDGE_REACH_FRAC * picture.h_px, 1.5 * mask_scale_px(mask))
    sx, sy = _scales(mask)
    rows, columns = mask.inside.shape
    x0 = _index(picture.x_px - mask.box.x_px, sx, columns)
    x1 = _index(picture.right_px - mask.box.x_px, sx, columns)
    y0 = _index(picture.y_px - mask.box.y_px, sy, rows)
    y1 = _index(picture.bottom_px - mask.box.y_px, sy, rows)
    inside = mask.inside[y0:y1, x0:x1] >= INSIDE
    if inside.size == 0 or not _view_covers(mask, picture, edge):
        return None
    along = _edge_strip(inside, edge, max(1, math.ceil(reach_px / (sy if edge in _FLAT else sx))))
    hits = np.flatnonzero(along)
    if hits.size < 2:
        return None
    if edge in _FLAT:
        start_px, step_px = mask.box.x_px + x0 * sx, sx
    else:
        start_px, step_px = mask.box.y_px + y0 * sy, sy
    return float(start_px + hits[0] * step_px), float(start_px + (hits[-1] + 1) * step_px)


def find_touches(mask: MaskSeen, picture: Box) -> dict[Edge, tuple[float, float]]:
    """The stretches of the edges that the person's pixels reach; clear edges are left out."""
    touches = ((edge, touches_edge(mask, picture, edge)) for edge in Edge)
    return {edge: stretch for edge, stretch in touches if stretch is not None}


_FLAT = (Edge.TOP, Edge.BOTTOM)


def _edge_strip(inside: npt.NDArray[np.bool_], edge: Edge, depth: int) -> npt.NDArray[np.bool_]:
    strips = {
        Edge.TOP: inside[:depth].all(axis=0),
        Edge.BOTTOM: inside[-depth:].all(axis=0),
        Edge.LEFT: inside[:, :depth].all(axis=1),
        Edge.RIGHT: inside[:, -depth:].all(axis=1),
    }
    return np.asarray(strips[edge])


def _view_covers(mask: MaskSeen, picture: Box, edge: Edge) -> bool:
    """True when the mask's view reaches the edge at all (a cut-out may stop short of it)."""
    slack_px = 1.5 * mask_scale_px(mask)
    return {
        Edge.TOP: mask.box.y_px <= picture.y_px + slack_px,
        Edge.BOTTOM: mask.box.bottom_px >= picture.bottom_px - slack_px,
        Edge.LEFT: mask.box.x_px <= picture.x_px + slack_px,
        Edge.RIGHT: mask.box.right_px >= picture.right_px - slack_px,
    }[edge]


def _scales(mask: MaskSeen) -> tuple[float, float]:
    rows, columns = mask.inside.shape
    return mask.box.w_px / max(1, columns), mask.box.h_px / max(1, rows)


def _index(offset_px: float, scale: float, count: int) -> int:
    return min(count, max(0, round(offset_px / scale)))


def _sample(
    mask: MaskSeen, starts_px: FloatArray, direction: PointPx, distances_px: FloatArray
) -> FloatArray:
    """Mask values along lines, bilinear; 0 outside the mask's box.

    Args:
        mask: the person's pixels.
        starts_px: (N, 2), where the lines start, pixels of the whole file.
        direction: unit vector.
        distances_px: (M,), along each line.

    Returns:
        (N, M).
    """
    sx, sy = _scales(mask)
    x = (starts_px[:, :1] + direction[0] * distances_px - mask.box.x_px) / sx - 0.5
    y = (starts_px[:, 1:] + direction[1] * distances_px - mask.box.y_px) / sy - 0.5
    rows, columns = mask.inside.shape
    valid = (x > -0.5) & (y > -0.5) & (x < columns - 0.5) & (y < rows - 0.5)
    x, y = np.clip(x, 0, columns - 1.001), np.clip(y, 0, rows - 1.001)
    i, j = y.astype(int), x.astype(int)
    fy, fx = y - i, x - j
    i1, j1 = np.minimum(i + 1, rows - 1), np.minimum(j + 1, columns - 1)
    grid = mask.inside
    top = grid[i, j] * (1 - fx) + grid[i, j1] * fx
    bottom = grid[i1, j] * (1 - fx) + grid[i1, j1] * fx
    return np.where(valid, top * (1 - fy) + bottom * fy, 0.0)
