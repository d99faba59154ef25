"""Tells whether a frame that is marked as two fields shows two moments, or one.

Films and progressive cameras are often carried in frames that are marked as interlaced, and a
picture in which nothing moves is whole as well. Taking one field of these would lose half their
lines. Where two fields show two moments, lines differ from both their neighbours in the same
direction, along everything that moves.
"""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from av.video.frame import VideoFrame

COMB_LEVELS = 20
"""Least difference of a line from both its neighbours, of 255; grain stays below."""
BLOCK = 32
"""Side of the squares that are judged by themselves, so that a small movement counts."""
COMB_SHARE = 0.12
"""Share of a square that is combed where something moves by 4 pixels from field to field. Fine
detail reaches it at times; then one field is taken, and nothing but lines is lost."""


def shows_two_moments(frame: VideoFrame) -> bool:
    """True when the two fields of a frame differ by movement; also when that cannot be told."""
    lines = _first_plane(frame)
    return lines is None or is_combed(lines, COMB_LEVELS << (_bits(frame) - 8))


def is_combed(lines: npt.NDArray[np.integer], least: int) -> bool:
    """True when the lines of some part of a picture differ from both their neighbours.

    Args:
        lines: (height, width) levels.
        least: the difference that counts.
    """
    wide = lines[:, ::2].astype(np.int32)
    above, line, below = wide[:-2], wide[1:-1], wide[2:]
    higher = np.minimum(line - above, line - below) > least
    lower = np.maximum(line - above, line - below) < -least
    combed = higher | lower
    high, across = min(BLOCK, combed.shape[0]), min(BLOCK // 2, combed.shape[1])
    rows, columns = combed.shape[0] // high, combed.shape[1] // across
    squares = combed[: rows * high, : columns * across].reshape(rows, high, columns, across)
    return bool(squares.mean(axis=(1, 3)).max() >= COMB_SHARE)


def _bits(frame: VideoFrame) -> int:
    return max([8, *(component.bits for component in frame.format.components)])


def _first_plane(frame: VideoFrame) -> npt.NDArray[np.integer] | None:
    """The brightness, or what holds it; None for orders of bytes that are not looked at."""
    deep = _bits(frame) > 8
    if deep and frame.format.is_big_endian != (sys.byteorder == "big"):
        return None
    plane = frame.planes[0]
    kind = np.uint16 if deep else np.uint8
    rows = np.frombuffer(plane, kind).reshape(-1, plane.line_size // kind().itemsize)  # type: ignore[call-overload]
    return np.asarray(rows[: plane.height, : plane.width])
