"""Leftovers: places where the people mask says "somebody" and no known person explains it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from framecheck.pose.views import View
from framecheck.records.seen import BodySeen, FaceSeen, MaskSeen
from framecheck.records.values import Box

WORK_ROWS = 240
"""Rows of the grid on which masks are compared."""

GROW_FRAC = 0.02
"""How far known people are grown before they are taken away, over the picture height."""

EXPLAINED = 0.4
"""Share of a leftover that a body found there must cover, to be what was left over."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Leftover:
    """One connected leftover.

    Attributes:
        box: around it, pixels of the whole file.
        area_frac: its area over the picture's.
        at_left, at_right, at_bottom: which edges of the picture it touches.
        mask: its pixels, over the whole active picture.
    """

    box: Box
    area_frac: float
    at_left: bool
    at_right: bool
    at_bottom: bool
    mask: MaskSeen


def mask_box(body: BodySeen) -> Box | None:
    """The box around a body's pixels; None when it has none."""
    rows = np.flatnonzero((body.mask.inside >= 128).any(axis=1))
    columns = np.flatnonzero((body.mask.inside >= 128).any(axis=0))
    if rows.size == 0 or columns.size == 0:
        return None
    sy = body.mask.box.h_px / body.mask.inside.shape[0]
    sx = body.mask.box.w_px / body.mask.inside.shape[1]
    return Box(
        x_px=body.mask.box.x_px + columns[0] * sx, y_px=body.mask.box.y_px + rows[0] * sy,
        w_px=(columns[-1] + 1 - columns[0]) * sx, h_px=(rows[-1] + 1 - rows[0]) * sy,
    )  # fmt: skip


def explains(body: BodySeen, leftover: Leftover) -> bool:
    """True when a body's pixels cover a good part of the leftover."""
    cells = leftover.mask.inside >= 128
    rows, columns = cells.shape
    own = _placed(body.mask, leftover.mask.box, (columns, rows)) >= 128
    return bool(own[cells].mean() >= EXPLAINED)


def find_leftovers(
    anybody: MaskSeen, bodies: Sequence[BodySeen], faces: Sequence[FaceSeen], least_frac: float
) -> tuple[Leftover, ...]:
    """The leftovers of at least an area, largest first.

    Args:
        anybody: the people mask over the active picture.
        bodies: whose masks are taken away.
        faces: whose heads are taken away.
        least_frac: least area over the picture's.
    """
    import cv2

    picture = anybody.box
    columns = max(1, round(WORK_ROWS * picture.w_px / picture.h_px))
    size = (columns, WORK_ROWS)
    known = known_people(bodies, faces, picture, size)
    left = (cv2.resize(anybody.inside, size) >= 128) & ~known
    if np.count_nonzero(left) < least_frac * columns * WORK_ROWS:
        return ()  # and none of its parts is large enough; telling them apart takes longer
    count, labels, stats, _ = cv2.connectedComponentsWithStats(left.astype(np.uint8))
    found = [
        _leftover(labels == i, stats[i], picture)
        for i in range(1, count)
        if stats[i][4] >= least_frac * columns * WORK_ROWS
    ]
    return tuple(sorted(found, key=lambda leftover: -leftover.area_frac))


def paint_out(view: View, bodies: Sequence[BodySeen], faces: Sequence[FaceSeen]) -> View:
    """The view with the known people painted over in the colour of what is around them.

    The people mask looks for one person in the middle; with that one gone it finds the others.
    """
    rows, columns = view.rgb.shape[:2]
    known = known_people(bodies, faces, view.box, (columns, rows))
    rgb = view.rgb.copy()
    if known.any() and not known.all():
        rgb[known] = np.median(rgb[~known], axis=0).astype(np.uint8)
    return View(rgb=rgb, box=view.box)


def known_people(
    bodies: Sequence[BodySeen], faces: Sequence[FaceSeen], picture: Box, size: tuple[int, int]
) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    """Where the known people are, grown a little, on a grid of (columns, rows) over the picture."""
    import cv2

    columns, rows = size
    known = np.zeros((rows, columns), dtype=np.uint8)
    for body in bodies:
        known |= (_placed(body.mask, picture, size) >= 64).astype(np.uint8)
    for face in faces:
        aside_px, above_px = 0.3 * face.box.w_px, 0.6 * face.box.h_px
        x0, y0 = _cell(face.box.x_px - aside_px, face.box.y_px - above_px, picture, size)
        x1, y1 = _cell(face.box.right_px + aside_px, face.box.bottom_px, picture, size)
        known[y0:y1, x0:x1] = 1
    reach = 2 * max(1, round(GROW_FRAC * rows)) + 1
    return np.asarray(cv2.dilate(known, np.ones((reach, reach), np.uint8)) > 0)


def _cell(x_px: float, y_px: float, picture: Box, size: tuple[int, int]) -> tuple[int, int]:
    x = round((x_px - picture.x_px) / picture.w_px * size[0])
    y = round((y_px - picture.y_px) / picture.h_px * size[1])
    return min(size[0], max(0, x)), min(size[1], max(0, y))


def mask_within(mask: MaskSeen, box: Box, size: tuple[int, int]) -> MaskSeen:
    """The part of a mask that a box shows, (columns, rows) fine; empty beyond the mask."""
    return MaskSeen(inside=_placed(mask, box, size), box=box)


def _placed(
    mask: MaskSeen, picture: Box, size: tuple[int, int]
) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    """The mask drawn into a grid over the picture; what lies outside is lost."""
    import cv2

    sx, sy = size[0] / picture.w_px, size[1] / picture.h_px
    rows, columns = mask.inside.shape
    matrix = np.array(
        [
            [mask.box.w_px / columns * sx, 0.0, (mask.box.x_px - picture.x_px) * sx],
            [0.0, mask.box.h_px / rows * sy, (mask.box.y_px - picture.y_px) * sy],
        ]
    )
    return np.asarray(cv2.warpAffine(mask.inside, matrix, size), dtype=np.uint8)


def _leftover(
    cells: np.ndarray[tuple[int, ...], np.dtype[np.bool_]],
    stats: np.ndarray[tuple[int, ...], np.dtype[np.int32]],
    picture: Box,
) -> Leftover:
    rows, columns = cells.shape
    x, y, w, h, area = (int(v) for v in stats)
    sx, sy = picture.w_px / columns, picture.h_px / rows
    return Leftover(
        box=Box(x_px=picture.x_px + x * sx, y_px=picture.y_px + y * sy, w_px=w * sx, h_px=h * sy),
        area_frac=area / (rows * columns),
        at_left=x <= 2,
        at_right=x + w >= columns - 2,
        at_bottom=y + h >= rows - 2,
        mask=MaskSeen(inside=cells.astype(np.uint8) * 255, box=picture),
    )
