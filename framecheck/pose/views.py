"""Views: cut-outs of a picture, scaled and padded for a network, that know the way back."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from framecheck.records.values import Box

RgbArray = npt.NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class View:
    """A cut-out, ready for a network.

    Attributes:
        rgb: (rows, columns, 3) uint8.
        box: what it shows, in pixels of the whole file; may reach beyond the picture, where the
            border pixels are repeated.
    """

    rgb: RgbArray
    box: Box

    def to_file_px(self, points_unit: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        """Points in 0..1 of the view to pixels of the whole file; (N, 2) in, (N, 2) out."""
        scale = np.array([self.box.w_px, self.box.h_px])
        corner = np.array([self.box.x_px, self.box.y_px])
        return np.asarray(points_unit[:, :2] * scale + corner)


def cut_view(rgb: RgbArray, within: Box, box: Box, longest_px: int) -> View:
    """Cut a view out of a picture, no larger than `longest_px` on its longer side.

    Args:
        rgb: (height, width, 3) uint8, the whole file.
        within: the active picture; nothing outside it is ever shown.
        box: the wanted part, may reach beyond `within`, where the edge pixels are repeated.
        longest_px: bound of the longer side of the result; pictures are never enlarged.

    Returns:
        The view, with the box that was really cut: of whole pixels, and as many as halve evenly.
    """
    left, top = math.floor(box.x_px), math.floor(box.y_px)
    right, bottom = math.ceil(box.right_px), math.ceil(box.bottom_px)
    step = _halvings(longest_px / max(right - left, bottom - top))
    right, bottom = right + (left - right) % step, bottom + (top - bottom) % step
    rows, above, below = _span(top, bottom, round(within.y_px), round(within.bottom_px))
    columns, before, after = _span(left, right, round(within.x_px), round(within.right_px))
    pads_px = (above, below, before, after)
    # Borders of whole cells are added when all is small; only what fills a cell is added before.
    inner = _bordered(rgb[rows, columns], [pad % step for pad in pads_px])
    scale = min(1.0, longest_px / max(right - left, bottom - top))
    small = _shrink(_averaged(inner, step), scale * step)
    small = _bordered(small, [round(pad // step * step * scale) for pad in pads_px])
    return View(
        rgb=np.ascontiguousarray(small),
        box=Box(x_px=left, y_px=top, w_px=right - left, h_px=bottom - top),
    )


def _span(low: int, high: int, near: int, far: int) -> tuple[slice, int, int]:
    """The pixels of low..high that lie in near..far, and how many to repeat before and after.

    At least one is taken, the nearest, when the whole of low..high lies outside.
    """
    start = min(max(low, near), far - 1)
    stop = max(min(high, far), start + 1)
    missing = max(0, high - low - (stop - start))
    before = min(max(0, near - low), missing)
    return slice(start, stop), before, missing - before


def shrink_view(view: View, longest_px: int) -> View:
    """The same view, no larger than `longest_px`; cheaper than cutting it out of the file again."""
    rows, columns = view.rgb.shape[:2]
    shown = Box(x_px=0, y_px=0, w_px=columns, h_px=rows)
    small = cut_view(view.rgb, shown, shown, longest_px)
    across, down = view.box.w_px / columns, view.box.h_px / rows
    box = Box(
        x_px=view.box.x_px, y_px=view.box.y_px,
        w_px=small.box.w_px * across, h_px=small.box.h_px * down,
    )  # fmt: skip
    return View(rgb=small.rgb, box=box)


def _bordered(rgb: RgbArray, pads_px: Sequence[int]) -> RgbArray:
    """With the edge pixels repeated above, below, before and after."""
    import cv2

    if not any(pads_px):
        return rgb
    above, below, before, after = pads_px
    border = cv2.BORDER_REPLICATE
    return np.asarray(cv2.copyMakeBorder(rgb, above, below, before, after, border), dtype=np.uint8)


def _halvings(scale: float) -> int:
    """How many pixels make one, a power of two, before what is left to shrink is less than half."""
    return 1 if scale >= 1.0 else 2 ** math.floor(math.log2(1.0 / scale))


def _averaged(rgb: RgbArray, step: int) -> RgbArray:
    """Halved until `step` pixels are one; both sides must be multiples of it."""
    import cv2

    while step > 1:
        rows, columns = rgb.shape[:2]
        rgb = np.asarray(cv2.resize(rgb, (columns // 2, rows // 2), interpolation=cv2.INTER_AREA))
        step //= 2
    return rgb


def _shrink(rgb: RgbArray, scale: float) -> RgbArray:
    """To more than half the size.

    Averages over parts of pixels (`cv2.INTER_AREA`) hardly differ here and take eight times longer.
    """
    import cv2

    if scale >= 1.0:
        return rgb
    size = (max(1, round(rgb.shape[1] * scale)), max(1, round(rgb.shape[0] * scale)))
    return np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_LINEAR), dtype=np.uint8)
