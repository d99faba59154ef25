"""Counts of a catalog as a table for terminals, and as the bytes of files."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from framecheck.cli.text import printable
from framecheck.export.columns import Column, Kind
from framecheck.export.rows import writable_text
from framecheck.export.writers import encode_csv, encode_jsonl

if TYPE_CHECKING:
    from framecheck.catalog.tally import Tally
    from framecheck.export.rows import Cell, Row

_HEADINGS = {
    "size": "size", "people": "people", "shot_type": "shot type", "facing": "facing",
    "flag": "flag",
}  # fmt: skip
_WIDTH = 30
COLUMNS = (
    Column(name="by", kind=Kind.TEXT, unit="", meaning="What is counted by."),
    Column(name="value", kind=Kind.TEXT, unit="", meaning="Which one; empty where none is known."),
    Column(name="abbr", kind=Kind.TEXT, unit="", meaning="Of a size."),
    Column(name="shots", kind=Kind.WHOLE, unit="", meaning="Shots of clips."),
    Column(name="stills", kind=Kind.WHOLE, unit="", meaning="Stills."),
    Column(name="duration_s", kind=Kind.NUMBER, unit="s", meaning="Of the shots.", decimals=3),
)


def counted_lines(counts: Sequence[Tally]) -> Iterator[str]:
    """What a terminal shows: a block for each thing that is counted by."""
    by = ""
    for found in counts:
        if found.by != by:
            yield from ("",) if by else ()
            by = found.by
            yield f"{_HEADINGS[by]:{_WIDTH}} {'shots':>9} {'stills':>9} {'length':>11}"
        name = printable(_name(found))
        yield (f"{name:{_WIDTH}} {found.shots:9,} {found.stills:9,} {_length(found.seconds):>11}")


def counted_csv(counts: Sequence[Tally]) -> bytes:
    """The counts as the other tables are written."""
    return encode_csv(COLUMNS, list(map(_row, counts)))


def counted_json(counts: Sequence[Tally]) -> bytes:
    """The counts as one array of objects, each on a line of its own."""
    lines = encode_jsonl(COLUMNS, list(map(_row, counts))).splitlines()
    return b"[\n" + b",\n".join(lines) + b"\n]\n" if lines else b"[]\n"


def _row(found: Tally) -> Row:
    value: Cell = "" if found.value is None else writable_text(str(found.value))
    return {
        "by": found.by,
        "value": value,
        "abbr": writable_text(found.abbr),
        "shots": found.shots,
        "stills": found.stills,
        "duration_s": found.seconds,
    }


def _name(found: Tally) -> str:
    if found.value is None:
        return "none" if found.by == "flag" else "not known"
    return f"{found.value} ({found.abbr})" if found.abbr else str(found.value)


def _length(seconds: float) -> str:
    minutes, whole = divmod(round(seconds), 60)
    return f"{minutes // 60}:{minutes % 60:02}:{whole:02}"
