"""The colours of a person's hair, face and clothes, read where the body ruler says they are."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from framecheck.geometry.colours import lab_from_srgb, two_colours
from framecheck.measure.silhouette import is_on_person
from framecheck.records.framing import BodyRuler
from framecheck.records.looks import ColourShare, PartLook, PersonLook
from framecheck.records.seen import MaskSeen
from framecheck.records.values import Box

FEWEST = 24
"""Samples that a part needs to count."""
BEHIND_DEG = 105.0
"""From this head yaw on the face is out of sight, and what is between eyes and chin is hair."""

AHEAD = {"face": 0.03, "hair": -0.03}
"""How far the middle of a part lies ahead of the head's own middle in a profile, over stature."""

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Band:
    """Where a part lies: levels on the ruler, and how far to both sides, over stature."""

    part: str
    upper: float
    lower: float
    half: float
    inner: float = 0.0


_BANDS = (
    _Band(part="hair", upper=1.0, lower=0.965, half=0.045),
    _Band(part="face", upper=0.945, lower=0.89, half=0.022),
    _Band(part="chest", upper=0.785, lower=0.70, half=0.085),
    _Band(part="waist", upper=0.69, lower=0.56, half=0.075),
    _Band(part="legs", upper=0.46, lower=0.12, half=0.06),
)
_HEAD_BAND = _Band(part="hair", upper=1.0, lower=0.90, half=0.04)
_COLLAR = _Band(part="chest", upper=0.815, lower=0.775, half=0.11, inner=0.04)
"""What a close shot shows of the clothes, beside the neck; read where the chest is out of it."""
_ROWS, _COLUMNS = 16, 13


def read_look(  # noqa: PLR0913  # what may be left out goes by name
    rgb: npt.NDArray[np.uint8],
    ruler: BodyRuler,
    mask: MaskSeen | None,
    picture: Box,
    yaw_deg: float,
    *,
    nearer: Sequence[MaskSeen] = (),
    face_found: bool = False,
) -> PersonLook | None:
    """The colours of one person.

    Args:
        rgb: (height, width, 3) uint8, the whole file.
        ruler: the person's.
        mask: the person's pixels; None when only a face was found: then that alone is read.
        picture: the active picture.
        yaw_deg: of the head; a head seen from behind shows no face.
        nearer: the pixels of people who stand nearer to the lens, and so before this one.
        face_found: whether a face was found: nobody stands before that.

    Returns:
        None when too little of the person can be seen.
    """
    behind = abs(yaw_deg) > BEHIND_DEG
    parts = []
    for band in _BANDS:
        if (mask is None and band.part != "face") or (behind and band.part == "face"):
            continue
        wanted = _HEAD_BAND if behind and band.part == "hair" else band
        covered = () if face_found and band.part == "face" else nearer
        tries = (wanted, _COLLAR) if band.part == "chest" else (wanted,)
        read = (
            _read_band(
                rgb, _free(_places(ruler, one, _ahead(one, yaw_deg)), covered), mask, picture
            )
            for one in tries
        )
        found = next((colours for colours in read if colours is not None), None)
        if found is not None:
            parts.append(PartLook(part=band.part, colours=found))
    return PersonLook(parts=tuple(parts)) if parts else None


def _ahead(band: _Band, yaw_deg: float) -> float:
    """Shift across, over stature: of a turned head the face lies ahead, and the hair behind."""
    return AHEAD.get(band.part, 0.0) * math.sin(math.radians(yaw_deg))


def _places(ruler: BodyRuler, band: _Band, shift: float) -> FloatArray:
    """(N, 2) pixels in a grid over the part, across the body's own axis."""
    marks = ruler.marks[::-1]
    at = np.array([mark.level for mark in marks])
    levels = np.linspace(band.upper, band.lower, _ROWS)
    axis = np.column_stack(
        [
            np.interp(levels, at, [mark.x_px for mark in marks]),
            np.interp(levels, at, [mark.y_px for mark in marks]),
        ]
    )
    down = axis[-1] - axis[0]
    length = float(np.hypot(*down))
    across = np.array([down[1], -down[0]]) / length if length > 0 else np.array([1.0, 0.0])
    beside = np.linspace(-band.half, band.half, _COLUMNS)
    steps = (beside[np.abs(beside) >= band.inner] + shift) * ruler.figure_px
    return np.asarray((axis[:, None, :] + steps[None, :, None] * across).reshape(-1, 2))


def _free(places: FloatArray, nearer: Sequence[MaskSeen]) -> FloatArray:
    """The places that nobody nearer covers: the masks of two people claim the same pixels."""
    for mask in nearer:
        places = places[~is_on_person(mask, places)]
    return places


def _read_band(
    rgb: npt.NDArray[np.uint8], places: FloatArray, mask: MaskSeen | None, picture: Box
) -> tuple[ColourShare, ColourShare] | None:
    x, y = places[:, 0], places[:, 1]
    kept = (x >= picture.x_px) & (x < picture.right_px)
    kept &= (y >= picture.y_px) & (y < picture.bottom_px)
    if mask is not None:
        kept &= is_on_person(mask, places)
    if int(kept.sum()) < FEWEST:
        return None
    rows = np.clip(y[kept].astype(int), 0, rgb.shape[0] - 1)
    columns = np.clip(x[kept].astype(int), 0, rgb.shape[1] - 1)
    means, shares = two_colours(lab_from_srgb(rgb[rows, columns]))
    return _share(means[0], shares[0]), _share(means[1], shares[1])


def _share(colour: FloatArray, share: float) -> ColourShare:
    light, green_red, blue_yellow = (round(float(value), 1) + 0.0 for value in colour)
    return ColourShare(
        light=light, green_red=green_red, blue_yellow=blue_yellow, share=round(float(share), 2)
    )
