"""Turns arrays of any usual kind into 8-bit RGB, and into pictures."""

from __future__ import annotations

from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from framecheck.media.bars import find_active_picture
from framecheck.media.limits import SMALLEST_SIDE_PX
from framecheck.records.picture import Picture

AnyArray: TypeAlias = npt.NDArray[Any]
Pixels: TypeAlias = npt.NDArray[np.uint8]

BACKDROP = 128
"""Level put behind transparent parts: mid-grey. Of two photographs cut out along the person, one
was not found at all on black, and both were on mid-grey; dark hair, besides, is lost on black and
fair hair on white, and a black surround would be taken for bars."""
ROUNDING = 1e-3  # floats may miss 0..1 by this much

RANGES = ((0.0, 1.0, "0 to 1"), (16.0, 255.0, "0 to 255"), (4096.0, 65535.0, "0 to 65535"))
"""Usual ranges of numbers: a brightest value of at least, and the top. What lies between fits
none, and would come out almost black."""


def picture_from_array(array: AnyArray, name: str = "array") -> Picture:
    """A picture out of pixels in memory.

    Args:
        array: (h, w, 3) RGB, (h, w, 4) RGB and alpha, or (h, w) grey; row 0 at the top; uint8 in
            0..255, uint16 in 0..65535 or float in 0..1, coded as for a screen (not linear light).
        name: for tables and messages.

    Raises:
        ValueError: another shape, type or range, or smaller than 16 pixels.
    """
    if not isinstance(array, np.ndarray):
        raise ValueError(f"{name}: expected a NumPy array, got {type(array).__name__}")  # noqa: TRY004
    if array.ndim not in {2, 3} or (array.ndim == 3 and array.shape[2] not in {3, 4}):
        raise ValueError(
            f"{name}: expected shape (h, w), (h, w, 3) or (h, w, 4), got {array.shape}"
        )
    if min(array.shape[:2]) < SMALLEST_SIDE_PX:
        raise ValueError(f"{name}: expected at least 16 x 16 pixels, got shape {array.shape}")
    rgb, notes = to_rgb(_eight_bits(array, name))
    return Picture(rgb=rgb, active=find_active_picture(rgb), name=name, notes=notes)


def to_rgb(pixels: Pixels) -> tuple[Pixels, tuple[str, ...]]:
    """Three channels out of one, two (grey and alpha), three or four, with notes."""
    if pixels.ndim == 2:
        pixels = pixels[:, :, None]
    channels = pixels.shape[2]
    if channels in {2, 4}:
        return _flattened(pixels[..., :-1], pixels[..., -1])
    return (np.repeat(pixels, 3, axis=2) if channels == 1 else pixels), ()


def eight_bits_of_16(array: npt.NDArray[np.uint16]) -> tuple[Pixels, str]:
    """The upper eight bits that are in use, with a note.

    A file that holds 10 or 12 bits in its 16 would come out black if they were not told apart.
    """
    brightest = int(array.max(initial=0))
    bits = next((bits for bits in (10, 12) if brightest < 1 << bits), 16)
    if brightest < 256:  # so dark that it tells nothing about the bits in use
        bits = 16
    note = "16 bit reduced to 8" if bits == 16 else f"{bits} bit (in a 16-bit file) reduced to 8"
    return (array >> (bits - 8)).astype(np.uint8), note


def eight_bits_of_numbers(array: AnyArray) -> tuple[Pixels, str]:
    """8 bits out of floats or wide integers of unknown range, with a note."""
    numbers = np.nan_to_num(array.astype(np.float32), nan=0.0, posinf=0.0, neginf=0.0)
    low, high = float(numbers.min()), float(numbers.max())
    for least, top, words in RANGES:
        if low >= -ROUNDING and least <= high <= top * (1 + ROUNDING):
            return _scaled(numbers, 0.0, top), f"numbers from {words} reduced to 8 bit"
    return _scaled(numbers, low, high), f"numbers from {low:g} to {high:g} stretched over 8 bit"


def _eight_bits(array: AnyArray, name: str) -> Pixels:
    if array.dtype == np.uint8:
        return array
    if array.dtype == np.uint16:
        return (array >> 8).astype(np.uint8)
    if array.dtype.kind != "f":
        raise ValueError(f"{name}: expected uint8, uint16 or float, got {array.dtype}")
    low, high = float(array.min()), float(array.max())
    # written so that a NaN fails it as well
    if not (low >= -ROUNDING and high <= 1 + ROUNDING):
        raise ValueError(f"{name}: expected floats in 0..1, got {low:g} to {high:g}")
    return _scaled(array, 0.0, 1.0)


def _scaled(numbers: AnyArray, low: float, high: float) -> Pixels:
    span = max(high - low, 1e-12)
    scaled = (numbers.astype(np.float32) - low) * np.float32(255 / span)
    levels: Pixels = (np.clip(scaled, 0, 255) + np.float32(0.5)).astype(np.uint8)
    return levels


def _flattened(colour: Pixels, alpha: Pixels) -> tuple[Pixels, tuple[str, ...]]:
    if colour.shape[2] == 1:
        colour = np.repeat(colour, 3, axis=2)
    if alpha.min(initial=255) == 255:
        return np.ascontiguousarray(colour), ()
    share = alpha[..., None].astype(np.uint16)
    mixed = (colour * share + BACKDROP * (255 - share) + 127) // 255
    return mixed.astype(np.uint8), ("transparent parts laid on mid-grey",)
