"""Delivery frames as rectangles: the largest of a shape, rounded, and placed in the picture.

The order of steps is that of the ASC Framing Decision List (specification 2.0.1): fit the shape
into the canvas, round, take the protection off the rounded size, round again, centre.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from framecheck.records.delivery import Delivery, Extraction
from framecheck.records.values import Box


class RoundMode(str, Enum):
    """Which way to round."""

    UP = "up"
    DOWN = "down"
    ROUND = "round"


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounding:
    """How sizes become pixels.

    Attributes:
        even: to multiples of two, as most codecs want them.
        mode: away from zero, towards zero, or to the nearest with halves away from zero.
    """

    even: bool = True
    mode: RoundMode = RoundMode.UP


_PLACES = 6  # of a pixel that came from a share of the picture
EVEN_UP = Rounding()
"""What the Framing Decision List rounds by when nothing is said."""


def round_length(value: float | Fraction, rounding: Rounding = EVEN_UP) -> int:
    """The length in whole pixels."""
    step = 2 if rounding.even else 1
    steps = abs(Fraction(value)) / step
    whole = {
        RoundMode.UP: math.ceil(steps),
        RoundMode.DOWN: math.floor(steps),
        RoundMode.ROUND: math.floor(steps + Fraction(1, 2)),
    }[rounding.mode]
    return step * whole * (-1 if value < 0 else 1)


def fit_aspect(
    canvas_wh: tuple[int, int], aspect: Fraction, *, squeeze: Fraction = Fraction(1)
) -> tuple[Fraction, Fraction]:
    """The largest width and height of that shape inside a canvas, not rounded.

    Args:
        canvas_wh: pixels as stored.
        aspect: width over height as viewers see it.
        squeeze: how much wider a stored pixel is shown, 2 for a 2:1 anamorphic lens.
    """
    width, height = map(Fraction, canvas_wh)
    stored = aspect / squeeze
    if stored * height >= width:
        return width, width / stored
    return height * stored, height


def inner_size(size_wh: tuple[int, int], protection: Fraction) -> tuple[Fraction, Fraction]:
    """What is left of a size when the protection is taken off, not rounded."""
    share = 1 - protection
    return size_wh[0] * share, size_wh[1] * share


def centred(size_wh: tuple[float, float], canvas: Box) -> Box:
    """A rectangle of that size in the middle of another one."""
    width, height = map(float, size_wh)
    return Box(
        x_px=canvas.x_px + (canvas.w_px - width) / 2,
        y_px=canvas.y_px + (canvas.h_px - height) / 2,
        w_px=width,
        h_px=height,
    )


def extract(
    picture: Box,
    delivery: Delivery,
    *,
    squeeze: Fraction = Fraction(1),
    rounding: Rounding = EVEN_UP,
) -> Extraction:
    """Where a delivery frame lies in a picture.

    An offset that would push the frame, or its protection, out of the picture is cut short at the
    edge. Rounding never makes a frame larger than the picture.
    """
    if delivery.fixed_frac is not None:
        frame = _share_of(picture, delivery.fixed_frac)
        outside = delivery.protected_frac
        return Extraction(
            frame=frame, protected=_share_of(picture, outside) if outside is not None else frame
        )
    canvas_wh = (int(picture.w_px), int(picture.h_px))
    outer = _rounded(fit_aspect(canvas_wh, delivery.aspect, squeeze=squeeze), canvas_wh, rounding)
    inner = outer
    if delivery.protection:
        inner = _rounded(inner_size(outer, delivery.protection), outer, rounding)
    offset_px = (delivery.offset_x_frac * picture.w_px, delivery.offset_y_frac * picture.h_px)
    protected = shift_inside(centred(outer, picture), offset_px, picture)
    return Extraction(frame=centred(inner, protected), protected=protected)


def shift_inside(box: Box, offset_px: tuple[float, float], around: Box) -> Box:
    """The box moved by an offset, as far as the box around it allows."""
    return Box(
        x_px=_clamped(box.x_px + offset_px[0], around.x_px, around.right_px - box.w_px),
        y_px=_clamped(box.y_px + offset_px[1], around.y_px, around.bottom_px - box.h_px),
        w_px=box.w_px,
        h_px=box.h_px,
    )


def spare_px(box: Box, around: Box) -> tuple[float, float]:
    """How far a box could be moved from the middle of another one, sideways and up or down."""
    return (max(0.0, around.w_px - box.w_px) / 2, max(0.0, around.h_px - box.h_px) / 2)


def _rounded(
    size: tuple[Fraction, Fraction], most: tuple[int, int], rounding: Rounding
) -> tuple[int, int]:
    width, height = (
        max(1, min(round_length(side, rounding), limit))
        for side, limit in zip(size, most, strict=True)
    )
    return width, height


def _share_of(picture: Box, shares: tuple[float, float, float, float]) -> Box:
    x, y, w, h = shares
    return Box(
        x_px=round(picture.x_px + x * picture.w_px, _PLACES),
        y_px=round(picture.y_px + y * picture.h_px, _PLACES),
        w_px=round(w * picture.w_px, _PLACES),
        h_px=round(h * picture.h_px, _PLACES),
    )


def _clamped(value: float, low: float, high: float) -> float:
    return min(max(value, low), max(low, high))
