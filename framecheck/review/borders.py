"""Borders of a vocabulary that fit a user's own naming better. Pure.

A border is a level on the body where one size ends and the next begins. Each is moved to where the
fewest confirmed frames fall on the wrong side of it, the nearest such place to where it was, and no
further than its neighbours let it. Borders of figure height and of extent are left alone: so few
frames lie at them that they could not be placed.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from framecheck.classify.vocabulary import Region, Span, Vocabulary, find_band

LEAST_FRAMES = 6
"""Confirmed frames that must lie in the two sizes at a border before it is moved."""
_LEAST_GAIN = 2
_PARTS = 50  # that readings are left out in, one after another
_SPACE = 0.01  # of stature, between two borders, so that every size keeps some room


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedReading:
    """A reading and the size that a person confirmed for it.

    Attributes:
        crop_level, figure_frac, extent: what the vocabulary names by.
        name: of the size. source: the frame, for lists.
    """

    crop_level: float
    figure_frac: float
    extent: float
    name: str
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class BorderMove:
    """One border of the crop level that fits better elsewhere.

    Attributes:
        before, after: levels. wider, tighter: names of the sizes that it parts.
        frames: confirmed between the neighbouring borders. wrong_before, wrong_after: those
            misnamed.
    """

    before: float
    after: float
    wider: str
    tighter: str
    frames: int
    wrong_before: int
    wrong_after: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BorderProposal:
    """A vocabulary with borders moved.

    Attributes:
        moves: empty when nothing is gained. vocabulary: with them.
        right_before, right_after: how many frames it names as confirmed, of `frames`.
        held_out: the same with frames left out of the fit that they are judged by: what the new
            borders can be expected to do with further frames. None when nothing moves.
    """

    moves: tuple[BorderMove, ...]
    vocabulary: Vocabulary
    frames: int
    right_before: int
    right_after: int
    held_out: int | None


def propose_borders(vocabulary: Vocabulary, readings: Sequence[NamedReading]) -> BorderProposal:
    """The borders that fit the confirmed names better, with what they would gain.

    Args:
        vocabulary: in use.
        readings: confirmed in words of this vocabulary.
    """
    moved, moves = _fit(vocabulary, readings)
    return BorderProposal(
        moves=moves,
        vocabulary=moved,
        frames=len(readings),
        right_before=count_right(vocabulary, readings),
        right_after=count_right(moved, readings),
        held_out=_count_held_out(vocabulary, readings) if moves else None,
    )


def count_right(vocabulary: Vocabulary, readings: Sequence[NamedReading]) -> int:
    """How many readings the vocabulary names as they were confirmed."""
    return sum(_names_right(vocabulary, reading) for reading in readings)


def crop_borders(vocabulary: Vocabulary) -> tuple[float, ...]:
    """The levels on the body at which some size ends and another begins, rising."""
    ends = {
        end
        for band in vocabulary.bands
        for region in band.regions
        for end in (region.crop.start, region.crop.stop)
    }
    return tuple(sorted(end for end in ends if math.isfinite(end)))


def move_border(vocabulary: Vocabulary, before: float, after: float) -> Vocabulary:
    """The vocabulary with every region that ends or begins at a level ending at another one."""

    def moved(region: Region) -> Region:
        ends = (after if end == before else end for end in (region.crop.start, region.crop.stop))
        start, stop = ends
        return replace(region, crop=Span(start=start, stop=stop))

    bands = tuple(
        replace(band, regions=tuple(map(moved, band.regions))) for band in vocabulary.bands
    )
    return replace(vocabulary, bands=bands)


def _fit(
    vocabulary: Vocabulary, readings: Sequence[NamedReading]
) -> tuple[Vocabulary, tuple[BorderMove, ...]]:
    moves = []
    for border in crop_borders(vocabulary):
        move = _best_move(vocabulary, border, readings)
        if move is not None:
            vocabulary = move_border(vocabulary, move.before, move.after)
            moves.append(move)
    return vocabulary, tuple(moves)


def _count_held_out(vocabulary: Vocabulary, readings: Sequence[NamedReading]) -> int:
    """Readings named right by borders that were fitted without them, a part at a time."""
    parts = min(len(readings), _PARTS)
    right = 0
    for part in range(parts):
        others = [one for number, one in enumerate(readings) if number % parts != part]
        right += count_right(_fit(vocabulary, others)[0], readings[part::parts])
    return right


def _best_move(
    vocabulary: Vocabulary, border: float, readings: Sequence[NamedReading]
) -> BorderMove | None:
    wider, tighter = _sides(vocabulary, border)
    low, high = _limits(crop_borders(vocabulary), border)
    between = [reading for reading in readings if low <= reading.crop_level < high]
    counts = [sum(one.name in side for one in between) for side in (wider, tighter)]
    if sum(counts) < LEAST_FRAMES or not all(counts):
        return None
    middles = _middle(low, border), _middle(border, high)
    named = [[_name_at(vocabulary, level, one) == one.name for one in between] for level in middles]
    levels = [reading.crop_level for reading in between]
    places = [border, *_places(levels, low, high)]
    wrong = dict(zip(places, _count_wrong(levels, named, places), strict=True))
    after = min(places, key=lambda place: (wrong[place], abs(place - border)))
    if wrong[border] - wrong[after] < _LEAST_GAIN:
        return None
    return BorderMove(
        before=border,
        after=after,
        wider=" / ".join(wider),
        tighter=" / ".join(tighter),
        frames=len(between),
        wrong_before=wrong[border],
        wrong_after=wrong[after],
    )


def _count_wrong(
    levels: Sequence[float], named: Sequence[Sequence[bool]], places: Sequence[float]
) -> list[int]:
    """Misnamed readings for each place of a border.

    Args:
        levels: of the readings.
        named: whether each is named right below the border, and above it.
        places: to try.
    """
    order = np.argsort(levels, kind="stable")
    below, above = (~np.asarray(side, dtype=bool)[order] for side in named)
    under = np.searchsorted(np.asarray(levels, dtype=float)[order], places, side="left")
    wrong_below = np.concatenate([[0], np.cumsum(below)])
    wrong_above = np.concatenate([[0], np.cumsum(above)])
    return [int(wrong_below[at] + wrong_above[-1] - wrong_above[at]) for at in under]


def _sides(vocabulary: Vocabulary, border: float) -> tuple[list[str], list[str]]:
    """The sizes that end at a border, and those that begin there."""
    wider = [b.name for b in vocabulary.bands if any(r.crop.stop == border for r in b.regions)]
    tighter = [b.name for b in vocabulary.bands if any(r.crop.start == border for r in b.regions)]
    return wider, tighter


def _limits(borders: Sequence[float], border: float) -> tuple[float, float]:
    below = [one for one in borders if one < border]
    above = [one for one in borders if one > border]
    return (max(below) if below else -math.inf), (min(above) if above else math.inf)


def _middle(low: float, high: float) -> float:
    if math.isinf(low):
        return high - 1.0
    return low + 1.0 if math.isinf(high) else (low + high) / 2


def _places(levels: Sequence[float], low: float, high: float) -> list[float]:
    """Half-way between neighbouring readings, in thousandths, with room to the next borders."""
    ordered = sorted(set(levels))
    middles = [round(float(a + b) / 2, 3) for a, b in itertools.pairwise(ordered)]
    return sorted({place for place in middles if low + _SPACE < place < high - _SPACE})


def _name_at(vocabulary: Vocabulary, level: float, reading: NamedReading) -> str:
    cell = (level, max(0.0, reading.figure_frac), max(0.0, reading.extent))
    return find_band(vocabulary, cell).name


def _names_right(vocabulary: Vocabulary, reading: NamedReading) -> bool:
    return _name_at(vocabulary, reading.crop_level, reading) == reading.name
