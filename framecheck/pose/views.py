"""Views: cut-outs of a picture, scaled and padded for a network, that know the way back."""

from __future__ import annotations

import math
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
        The view, with a box rounded to what was really cut.
    """
    import cv2

    left, top = math.floor(box.x_px), math.floor(box.y_px)
    right, bottom = math.ceil(box.right_px), math.ceil(box.bottom_px)
    near_y, far_y = round(within.y_px), round(within.bottom_px)
    near_x, far_x = round(within.x_px), round(within.right_px)
    rows, above, below = _span(top, bottom, near_y, far_y)
    columns, before, after = _span(left, right, near_x, far_x)
    inner = rgb[rows, columns]
    pads_px = (above, below, before, after)
    scale = min(1.0, longest_px / max(right - left, bottom - top))
    small = _shrink(inner, scale)
    up, down, aside, beyond = (round(pad * scale) for pad in pads_px)
    if up or down or aside or beyond:
        small = cv2.copyMakeBorder(small, up, down, aside, beyond, cv2.BORDER_REPLICATE)
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
    scale = min(1.0, longest_px / max(view.rgb.shape[:2]))
    return View(rgb=_shrink(view.rgb, scale), box=view.box)


def _shrink(rgb: RgbArray, scale: float) -> RgbArray:
    import cv2

    if scale >= 1.0:
        return rgb
    size = (max(1, round(rgb.shape[1] * scale)), max(1, round(rgb.shape[0] * scale)))
    return np.asarray(cv2.resize(rgb, size, interpolation=cv2.INTER_AREA), dtype=np.uint8)
