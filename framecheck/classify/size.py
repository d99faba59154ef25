"""Shot size: the word that a vocabulary has for a reading, and how sure it is."""

from __future__ import annotations

import math
from dataclasses import dataclass

from framecheck.classify.gauss import tailed_mass_between
from framecheck.classify.vocabulary import Band, Region, Vocabulary, find_band
from framecheck.geometry.ruler import MARK_LEVELS
from framecheck.records.framing import PersonFraming
from framecheck.records.judged import SizeName
from framecheck.records.values import NotMeasured

FIGURE_ERROR = 0.03
"""Standard deviation of the figure height, as a share of itself."""
SECOND_MASS = 0.10
"""A second name is told when at least this share of the error falls into it."""
HEAD_OUT_LEVEL = MARK_LEVELS["chin"]
"""A top edge below this reading leaves the whole head out: sizes have no name for that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeReading:
    """What a size is named by.

    Attributes:
        crop_level, top_level: ruler readings of the bottom and the top edge.
        figure_frac: figure height over picture height, > 0.
        error_level: standard deviation of crop_level, >= 0.
    """

    crop_level: float
    top_level: float
    figure_frac: float
    error_level: float

    def __post_init__(self) -> None:
        values = (self.crop_level, self.top_level, self.figure_frac, self.error_level)
        if not all(map(math.isfinite, values)):
            raise ValueError(f"a size reading needs finite numbers, got {self}")
        if self.figure_frac <= 0 or self.error_level < 0:
            raise ValueError(f"figure_frac must be > 0 and error_level >= 0, got {self}")

    @property
    def extent(self) -> float:
        """Visible length of the body between the two edges, fractions of stature; <= 0: none."""
        return min(self.top_level, 1.0) - max(self.crop_level, 0.0)


def read_size(person: PersonFraming) -> SizeReading | NotMeasured:
    """What the person's size can be named by, or why it cannot."""
    if person.ruler is None:
        return NotMeasured(reason="no ruler")
    values = (person.crop_level, person.top_level, person.figure_frac)
    missing = [value for value in values if isinstance(value, NotMeasured)]
    if missing:
        return missing[0]
    crop_level, top_level, figure_frac = (v for v in values if not isinstance(v, NotMeasured))
    return SizeReading(
        crop_level=crop_level,
        top_level=top_level,
        figure_frac=figure_frac,
        error_level=person.ruler.error_level,
    )


def name_size(reading: SizeReading, vocabulary: Vocabulary) -> SizeName | None:
    """The size in the words of a vocabulary.

    The name is that of the band which the reading itself lies in, so that the number beside the
    word always explains it. The confidence is the share of the reading's error inside that band:
    independent along crop level, figure height and extent, Gaussian but for one in ten that is
    three times as large.

    Returns:
        None when the head, or the whole body, is outside the picture.
    """
    if reading.top_level < HEAD_OUT_LEVEL or reading.extent <= 0:
        return None
    best = find_band(vocabulary, (reading.crop_level, reading.figure_frac, reading.extent))
    others = [band for band in vocabulary.bands if band is not best]
    second = max(others, key=lambda band: _band_mass(band, reading), default=best)
    near = second is not best and _band_mass(second, reading) >= SECOND_MASS
    return SizeName(
        vocabulary=vocabulary.name,
        name=best.name,
        abbr=best.abbr,
        confidence=min(1.0, _band_mass(best, reading)),
        second=second.name if near else "",
    )


def size_belief(name: str, reading: SizeReading, vocabulary: Vocabulary) -> float:
    """The share of a reading's error inside the band of a name, 0..1."""
    if reading.top_level < HEAD_OUT_LEVEL or reading.extent <= 0:
        return 0.0
    masses = (_band_mass(band, reading) for band in vocabulary.bands if band.name == name)
    return min(1.0, sum(masses))


def _band_mass(band: Band, reading: SizeReading) -> float:
    return sum(_region_mass(region, reading) for region in band.regions)


def _region_mass(region: Region, reading: SizeReading) -> float:
    axes = (
        (reading.crop_level, reading.error_level, region.crop),
        (reading.figure_frac, FIGURE_ERROR * reading.figure_frac, region.figure),
        (reading.extent, reading.error_level, region.extent),
    )
    return math.prod(
        tailed_mass_between(mean, error, span.start, span.stop) for mean, error, span in axes
    )
