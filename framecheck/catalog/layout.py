"""Which columns the stored rows have, and how their cells become values of SQLite and back."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import TypeAlias

Cell: TypeAlias = str | int | float | None
Row: TypeAlias = dict[str, Cell]
TableLayout: TypeAlias = Sequence[tuple[str, str]]
"""Column names, each with its kind."""

SQL_TYPES = {"path": "TEXT", "text": "TEXT", "whole number": "INTEGER", "number": "REAL"}
"""What SQLite calls the kinds of cells."""

PLAIN_NAME = re.compile(r"[a-z][a-z0-9_]{0,62}")
"""Names that can stand in an SQL text, where no parameter can."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The columns of the tables, in order; names are lower case, kinds are `SQL_TYPES`.

    The last three are those of studied sequences.

    A wider layout than that of the database adds columns to it; none is ever taken away.
    """

    files: TableLayout = ()
    shots: TableLayout = ()
    frames: TableLayout = ()
    people: TableLayout = ()
    cuts: TableLayout = ()
    pairs: TableLayout = ()
    scene: TableLayout = ()

    def __post_init__(self) -> None:
        for table in fields(self):
            for name, kind in getattr(self, table.name):
                if not PLAIN_NAME.fullmatch(name) or kind not in SQL_TYPES:
                    raise ValueError(f"a column is a plain name and a kind, got {(name, kind)}")


def check_cells(row: Mapping[str, Cell], columns: Sequence[str]) -> None:
    """Raise when the row holds a column that the table has not.

    Raises:
        ValueError: it does; the layout that the catalog was opened with lacks the column.
    """
    unknown = sorted(set(row) - set(columns))
    if unknown:
        raise ValueError(f"the layout has no column {unknown[0]!r}, got {sorted(row)}")


def to_sql(value: Cell) -> str | int | float | bytes | None:
    """The value as SQLite keeps it.

    Text that UTF-8 cannot hold (file names with stray bytes) goes in as bytes and comes back
    whole. Numbers keep their full precision; minus zero alone comes back as zero.

    Raises:
        ValueError: the value is not a number though it says so: SQLite would make it NULL.
    """
    if isinstance(value, float) and math.isnan(value):
        raise ValueError("a cell cannot hold NaN; leave it empty")
    if not isinstance(value, str):
        return value
    try:
        value.encode()
    except UnicodeEncodeError:
        return value.encode("utf-8", "surrogateescape")
    return value


def from_sql(value: str | int | float | bytes | None) -> Cell:
    """The value that went in."""
    return value.decode("utf-8", "surrogateescape") if isinstance(value, bytes) else value
