"""Safe areas: how far from the edges action and graphics are to stay.

EBU R 95 (2017), SMPTE ST 2046-1:2009 and ITU-R BT.1848-1 agree: action stays 3.5 % of the width and
height away from each edge (93 % are left), graphics 5 % (90 % are left).
"""

from __future__ import annotations

import math
from enum import Enum

from framecheck.records.values import Box


class SafeArea(str, Enum):
    """What is to stay inside."""

    ACTION = "action"
    GRAPHICS = "graphics"


INSET_FRAC = {SafeArea.ACTION: 0.035, SafeArea.GRAPHICS: 0.05}
"""Distance from each edge over the width, or the height."""


def safe_area(picture: Box, kind: SafeArea) -> Box:
    """The safe area of a picture, exact."""
    inset = INSET_FRAC[kind]
    return Box(
        x_px=picture.x_px + inset * picture.w_px,
        y_px=picture.y_px + inset * picture.h_px,
        w_px=(1 - 2 * inset) * picture.w_px,
        h_px=(1 - 2 * inset) * picture.h_px,
    )


def safe_inset_px(size_wh: tuple[int, int], kind: SafeArea) -> tuple[int, int]:
    """The distance from the sides and from top and bottom, in whole pixels, to the nearest."""
    width, height = (math.floor(INSET_FRAC[kind] * side + 0.5) for side in size_wh)
    return width, height


def is_within(inner: Box, outer: Box, *, slack_px: float = 1e-6) -> bool:
    """True when a box lies inside another one; rims may touch."""
    return (
        inner.x_px >= outer.x_px - slack_px
        and inner.y_px >= outer.y_px - slack_px
        and inner.right_px <= outer.right_px + slack_px
        and inner.bottom_px <= outer.bottom_px + slack_px
    )
