"""From stored pixels to the picture a viewer sees: turned upright, its pixels made square."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, cast

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from av.sidedata.sidedata import SideData
    from av.video.frame import VideoFrame

MOST_SQUEEZED = 8  # a pixel that is wider or taller than this is a broken header
UNIT = 65536  # 1.0 in a display matrix, fixed point 16.16


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """How stored frames are to be shown.

    Attributes:
        pixel_aspect: width over height of a stored pixel.
        quarter_turns: clockwise, that make it upright: 0 to 3.
        mirrored: True when left and right change places, before the turn.
    """

    pixel_aspect: Fraction = Fraction(1)
    quarter_turns: int = 0
    mirrored: bool = False

    def square_wh(self, coded_wh: tuple[int, int], most_px: int) -> tuple[int, int]:
        """Width and height with square pixels before the turn, the long side at most `most_px`.

        Args:
            coded_wh: as stored. The lines stay as many as they are, the width follows the pixels.
            most_px: 0 for no limit.
        """
        width, height = coded_wh[0] * self.pixel_aspect, Fraction(coded_wh[1])
        longest = max(width, height)
        shrink = Fraction(most_px) / longest if 0 < most_px < longest else Fraction(1)
        return max(1, round(width * shrink)), max(1, round(height * shrink))

    def upright_wh(self, coded_wh: tuple[int, int]) -> tuple[int, int]:
        """Width and height as a viewer sees it."""
        width, height = self.square_wh(coded_wh, 0)
        return (height, width) if self.quarter_turns % 2 else (width, height)

    def upright(self, pixels: npt.NDArray[np.uint8]) -> npt.NDArray[np.uint8]:
        """The pixels mirrored and turned; a view of them."""
        if self.mirrored:
            pixels = pixels[:, ::-1]
        return np.rot90(pixels, -self.quarter_turns) if self.quarter_turns else pixels


def pixel_aspect_of(said: Fraction | None) -> tuple[Fraction, tuple[str, ...]]:
    """The pixel aspect to use, with notes."""
    if not said:
        return Fraction(1), ()
    if not Fraction(1, MOST_SQUEEZED) <= said <= MOST_SQUEEZED:
        return Fraction(1), (f"a pixel aspect of {said} makes no sense and was not used",)
    if said == 1:
        return Fraction(1), ()
    return said, (f"pixel aspect {float(said):.4f} squared up",)


def turn_of(frame: VideoFrame) -> tuple[int, bool, tuple[str, ...]]:
    """Clockwise quarter turns, whether to mirror first, and notes, by the frame's display matrix.

    FFmpeg stores it as nine 32-bit numbers, of which a, b, c and d take a point x, y to
    a x + c y, b x + d y.
    """
    data = frame.side_data.get("DISPLAYMATRIX")
    if data is None:
        return 0, False, ()
    a, b, _, c, d = struct.unpack_from("=5i", bytes(cast("SideData", data)))
    mirrored = a * d - b * c < 0
    if mirrored:
        a, b = -a, -b
    turns = {(1, 0): 0, (0, 1): 1, (-1, 0): 2, (0, -1): 3}
    unit = (_unit(a), _unit(b))
    if unit not in turns:
        return 0, False, ("turned by an odd angle in its header, left as it is stored",)
    notes = ("turned upright by its rotation mark",) if turns[unit] or mirrored else ()
    return turns[unit], mirrored, notes


def _unit(number: int) -> int | None:
    """-1, 0 or 1 when the number is one of these, give or take a hundredth."""
    nearest = round(number / UNIT)
    return nearest if abs(number - nearest * UNIT) <= UNIT // 100 and abs(nearest) <= 1 else None
