"""A vocabulary of shot sizes: bands over crop level, figure height and visible extent.

A band is one size; it owns one or more regions. A region is a box over three axes, each half-open
(`from` belongs to it, `to` does not), an end that is left out is open:

- crop: the crop level, the ruler reading of the bottom edge;
- figure: figure height over picture height, which tells sizes apart that show the whole body;
- extent: visible length of the body on the ruler, which tells a face from a part of a face.

Together the regions must cover every reading exactly once; `parse_vocabulary` proves it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from framecheck.classify.toml_text import (
    Table,
    check_keys,
    parse_toml,
    read_number,
    read_tables,
    read_text,
)
from framecheck.errors import ConfigError

AXES = ("crop", "figure", "extent")
_AXIS_START = {"crop": -math.inf, "figure": 0.0, "extent": 0.0}
_REGION_KEYS = tuple(f"{axis}_{end}" for axis in AXES for end in ("from", "to"))


@dataclass(frozen=True, slots=True, kw_only=True)
class Span:
    """A half-open range: `start` belongs to it, `stop` does not."""

    start: float = -math.inf
    stop: float = math.inf


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """A box over the three axes.

    Attributes:
        crop: crop levels, fractions of stature.
        figure: figure heights over the picture height.
        extent: visible lengths of the body, fractions of stature.
    """

    crop: Span = Span()
    figure: Span = Span()
    extent: Span = Span()


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """One size of a vocabulary.

    Attributes:
        name, abbr: the words.
        note: what the size shows, and why the borders lie where they do.
        regions: the readings that it covers.
    """

    name: str
    abbr: str
    note: str
    regions: tuple[Region, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Vocabulary:
    """A set of size names.

    Attributes:
        name: short name that tables carry, also the file name without its ending.
        title: one line for people.
        source: where the words and the borders come from.
        bands: from wide to tight.
    """

    name: str
    title: str
    source: str
    bands: tuple[Band, ...]


def region_holds(region: Region, cell: Sequence[float]) -> bool:
    """True when a reading (crop, figure, extent) lies in the region."""
    spans = (region.crop, region.figure, region.extent)
    return all(span.start <= at < span.stop for span, at in zip(spans, cell, strict=True))


def find_band(vocabulary: Vocabulary, cell: Sequence[float]) -> Band:
    """The one band that a reading (crop, figure, extent) lies in; figure and extent are >= 0."""
    return next(
        band
        for band in vocabulary.bands
        if any(region_holds(region, cell) for region in band.regions)
    )


def parse_vocabulary(text: str, where: str) -> Vocabulary:
    """The vocabulary that a TOML text describes.

    Args:
        text: the whole file.
        where: the file as the user named it, for messages.

    Raises:
        ConfigError: not TOML, unknown or missing keys, wrong types, a name or abbreviation used
            twice, bands out of order, or readings that no band, or more than one, covers.
    """
    table = parse_toml(text, where)
    check_keys(table, ("name", "title", "source", "band"), where)
    bands = tuple(
        _read_band(row, f"{where}, band {number}")
        for number, row in enumerate(read_tables(table, "band", where), start=1)
    )
    _check_words(bands, where)
    _check_cover(bands, where)
    _check_order(bands, where)
    return Vocabulary(
        name=read_text(table, "name", where),
        title=read_text(table, "title", where),
        source=read_text(table, "source", where),
        bands=bands,
    )


def _read_band(row: Table, where: str) -> Band:
    check_keys(row, ("name", "abbr", "note", "region"), where)
    name = read_text(row, "name", where)
    place = f"{where} ({name})"
    return Band(
        name=name,
        abbr=read_text(row, "abbr", place),
        note=read_text(row, "note", place, default=""),
        regions=tuple(_read_region(part, place) for part in read_tables(row, "region", place)),
    )


def _read_region(row: Table, where: str) -> Region:
    check_keys(row, _REGION_KEYS, where)
    crop, figure, extent = (_read_span(row, axis, where) for axis in AXES)
    return Region(crop=crop, figure=figure, extent=extent)


def _read_span(row: Table, axis: str, where: str) -> Span:
    start = read_number(row, f"{axis}_from", where, default=-math.inf)
    stop = read_number(row, f"{axis}_to", where, default=math.inf)
    if start >= stop:
        raise ConfigError(
            f"{where}: {axis}_from must be below {axis}_to, got {start:g} and {stop:g}",
            where=where,
        )
    return Span(start=start, stop=stop)


def _check_words(bands: Sequence[Band], where: str) -> None:
    for kind in ("name", "abbr"):
        words = [getattr(band, kind) for band in bands]
        for word in words:
            if words.count(word) > 1:
                raise ConfigError(
                    f"{where}: {kind} {word!r} is used by more than one band; give a band "
                    "several regions instead",
                    where=where,
                )


def _check_cover(bands: Sequence[Band], where: str) -> None:
    # All borders of an axis cut it into cells; as regions are boxes between such borders, one
    # point inside each cell decides for the whole of it.
    cells = itertools.product(*(_axis_cells(bands, axis) for axis in AXES))
    for cell in cells:
        middle = [_middle(span) for span in cell]
        owners = [
            band.name for band in bands for region in band.regions if region_holds(region, middle)
        ]
        if len(owners) != 1:
            raise ConfigError(f"{where}: {_describe_fault(cell, owners)}", where=where)


def _axis_cells(bands: Sequence[Band], axis: str) -> list[Span]:
    begin = _AXIS_START[axis]
    spans = [getattr(region, axis) for band in bands for region in band.regions]
    borders = {border for span in spans for border in (span.start, span.stop)}
    ends = [begin, *sorted(b for b in borders if begin < b < math.inf), math.inf]
    return [Span(start=a, stop=b) for a, b in itertools.pairwise(ends)]


def _middle(span: Span) -> float:
    if math.isinf(span.start):
        return span.stop - 1.0 if math.isfinite(span.stop) else 0.0
    return span.start + 1.0 if math.isinf(span.stop) else (span.start + span.stop) / 2


def _describe_fault(cell: Sequence[Span], owners: Sequence[str]) -> str:
    place = ", ".join(
        f"{axis} {span.start:g} to {span.stop:g}" for axis, span in zip(AXES, cell, strict=True)
    )
    if not owners:
        return f"gap: no band covers {place}; widen a neighbour"
    return f"overlap: {' and '.join(owners)} both cover {place}; move a border"


def _check_order(bands: Sequence[Band], where: str) -> None:
    for wider, tighter in itertools.pairwise(bands):
        if _tightness(wider) > _tightness(tighter):
            raise ConfigError(
                f"{where}: bands go from wide to tight, but {wider.name!r} stands before "
                f"{tighter.name!r}; swap them",
                where=where,
            )


def _tightness(band: Band) -> tuple[float, float, float]:
    return max(
        (region.crop.start, region.figure.start, -region.extent.start) for region in band.regions
    )
