"""How much height a picture of each size takes in: from the words back to a set-up."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from framecheck.classify.room import RoomRanges, room_at
from framecheck.classify.vocabulary import Band, Vocabulary, find_band

TIGHTEST, WIDEST = 0.03, 20.0
"""Picture heights that are looked at, in statures: an eye, and a figure a twentieth as high."""
_STEPS_A_DOUBLING = 30
_HALVINGS = 32


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeField:
    """The picture heights that give a size.

    Attributes:
        name, abbr: of the band.
        low, middle, high: height of the picture at the subject, in statures.
    """

    name: str
    abbr: str
    low: float
    middle: float
    high: float


def crop_level_of_field(field: float, ranges: RoomRanges) -> float:
    """The level at which the bottom edge cuts somebody who stands in a picture that high.

    Args:
        field: height of the picture at the subject, in statures.
        ranges: the headroom is the middle of what passes; wider than the first row its own.

    Returns:
        Above 0 cut, below 0 clear under the sole by that many statures.
    """
    low, high = -WIDEST, 1.0
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if (1 - middle) > field * (1 - _headroom(middle, ranges)):
            low = middle
        else:
            high = middle
    return (low + high) / 2


def size_fields(vocabulary: Vocabulary, ranges: RoomRanges) -> tuple[SizeField, ...]:
    """Every size of a vocabulary that an upright figure with usual headroom can have.

    Note:
        The middle is the geometric one, so that it is as far in steps of the lens from either end.
    """
    found: dict[str, list[float]] = {}
    for field in _fields():
        found.setdefault(_band_at(field, vocabulary, ranges).name, []).append(field)
    return tuple(
        SizeField(
            name=band.name,
            abbr=band.abbr,
            low=min(found[band.name]),
            middle=math.sqrt(min(found[band.name]) * max(found[band.name])),
            high=max(found[band.name]),
        )
        for band in vocabulary.bands
        if band.name in found
    )


def translate_size(
    name: str, vocabulary: Vocabulary, other: Vocabulary, ranges: RoomRanges
) -> Band | None:
    """What another vocabulary calls the middle of a size; None for a name that there is not."""
    fields = size_fields(vocabulary, ranges)
    field = next((field for field in fields if field.name == name), None)
    return None if field is None else _band_at(field.middle, other, ranges)


def _band_at(field: float, vocabulary: Vocabulary, ranges: RoomRanges) -> Band:
    crop = crop_level_of_field(field, ranges)
    top = 1 + _headroom(crop, ranges) * field
    extent = max(0.0, min(top, 1.0) - max(crop, 0.0))
    return find_band(vocabulary, (crop, 1 / field, extent))


def _headroom(crop_level: float, ranges: RoomRanges) -> float:
    row = room_at(ranges, min(crop_level, ranges.rows[-1].crop_level))
    return 0.0 if row is None else (row.headroom_min + row.headroom_max) / 2


def _fields() -> Iterator[float]:
    steps = math.ceil(math.log2(WIDEST / TIGHTEST) * _STEPS_A_DOUBLING)
    for step in range(steps + 1):
        yield TIGHTEST * (WIDEST / TIGHTEST) ** (step / steps)
