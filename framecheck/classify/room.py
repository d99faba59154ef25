"""Headroom and looking room that pass without a flag, by crop level."""

from __future__ import annotations

import itertools
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

_NUMBERS = ("crop_level", "headroom_min", "headroom_max", "look_ratio_min")


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomRange:
    """The room that passes at one crop level; both ends belong to it.

    Attributes:
        at: the place on the body, in words.
        crop_level: ruler reading of the bottom edge.
        headroom_min, headroom_max: over the picture height, negative when the crown is cut.
        look_ratio_min: least room ahead of a profile over the room behind it.
    """

    at: str
    crop_level: float
    headroom_min: float
    headroom_max: float
    look_ratio_min: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomRanges:
    """Room ranges along the ruler.

    Attributes:
        title: one line for people.
        source: where the figures come from.
        rows: crop levels rising.
    """

    title: str
    source: str
    rows: tuple[RoomRange, ...]


def room_at(ranges: RoomRanges, crop_level: float) -> RoomRange | None:
    """The range at a crop level, linear between two rows.

    Returns:
        The first row for anything wider than it; None for anything tighter than the last row,
        which is not judged.
    """
    if crop_level > ranges.rows[-1].crop_level:
        return None
    rows = ranges.rows
    above = sum([row.crop_level <= crop_level for row in rows])
    low, high = rows[max(above - 1, 0)], rows[min(above, len(rows) - 1)]
    nearest = min((low, high), key=lambda row: abs(row.crop_level - crop_level))
    return RoomRange(at=nearest.at, **_between(low, high, crop_level))


def _between(low: RoomRange, high: RoomRange, crop_level: float) -> dict[str, float]:
    """The numbers, linear between two rows."""
    starts = {name: float(getattr(low, name)) for name in _NUMBERS}
    if low is high:
        return starts
    width, along = high.crop_level - low.crop_level, crop_level - low.crop_level
    return {
        name: (getattr(high, name) - start) / width * along + start
        for name, start in starts.items()
    }


def parse_room_ranges(text: str, where: str) -> RoomRanges:
    """The room ranges that a TOML text describes.

    Args:
        text: the whole file, `[[row]]` tables with the fields of `RoomRange`.
        where: the file as the user named it, for messages.

    Raises:
        ConfigError: not TOML, unknown or missing keys, wrong types, rows out of order, or a
            least value above its greatest.
    """
    table = parse_toml(text, where)
    check_keys(table, ("title", "source", "row"), where)
    rows = tuple(
        _read_row(row, f"{where}, row {number}")
        for number, row in enumerate(read_tables(table, "row", where), start=1)
    )
    for lower, upper in itertools.pairwise(rows):
        if lower.crop_level >= upper.crop_level:
            raise ConfigError(
                f"{where}: crop_level must rise from row to row, got {lower.crop_level:g} before "
                f"{upper.crop_level:g}; sort the rows",
                where=where,
            )
    return RoomRanges(
        title=read_text(table, "title", where), source=read_text(table, "source", where), rows=rows
    )


def _read_row(row: Table, where: str) -> RoomRange:
    check_keys(row, ("at", *_NUMBERS), where)
    values = {name: read_number(row, name, where) for name in _NUMBERS}
    if values["headroom_min"] > values["headroom_max"]:
        raise ConfigError(f"{where}: headroom_min is above headroom_max; swap them", where=where)
    if values["look_ratio_min"] < 0:
        raise ConfigError(f"{where}: look_ratio_min must be >= 0; raise it", where=where)
    return RoomRange(at=read_text(row, "at", where), **values)
