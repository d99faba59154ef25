"""Reads the tables back that the writers wrote: the same rows, numbers as rounded there."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import IO

from framecheck.errors import ConfigError, ExportError
from framecheck.export.columns import (
    Column,
    Kind,
    file_columns,
    frame_columns,
    people_columns,
    shot_columns,
)
from framecheck.export.rows import Cell, Row

TABLES = ("frames", "people", "shots", "files")
_SUFFIXES = ("csv", "jsonl", "parquet")
_MOST_SIZES = 20  # vocabularies in one table
_LONGEST_CELL = 1_000_000
_LARGEST = 2**53  # beyond it, a number of a table is not exact
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def find_tables(folder: Path) -> Mapping[str, Path]:
    """The tables in a results folder by name, of the format that was written last.

    Raises:
        ConfigError: there is none.
    """
    groups = [{name: folder / f"{name}.{suffix}" for name in TABLES} for suffix in _SUFFIXES]
    whole = [group for group in groups if all(path.is_file() for path in group.values())]
    if not whole:
        raise ConfigError(
            f"{folder} holds no tables of framecheck ({', '.join(TABLES)}); name the folder that "
            "framecheck measure wrote to, or a catalog",
            where=str(folder),
        )
    return max(whole, key=lambda group: group["files"].stat().st_mtime_ns)


def read_table(path: Path, name: str) -> list[Row]:
    """The rows of one table.

    Args:
        path: a .csv, .jsonl or .parquet file that a writer wrote.
        name: of the table, which says what its columns are.

    Raises:
        ExportError: it cannot be read, or is no such table.
        ConfigError: the extra that its format needs is not installed.
    """
    columns = _columns_of(name)
    try:
        rows = list(_READERS[path.suffix[1:]](path, columns))
    except (OSError, ValueError, TypeError, OverflowError, csv.Error, RecursionError) as error:
        reason = " ".join(str(error).split())[:200]
        raise ExportError(
            f"{path} is no table of framecheck ({reason}); measure again, or name another folder",
            where=str(path),
        ) from error
    missing = [column for column in _NEEDED[name] if rows and column not in rows[0]]
    if missing:
        raise ExportError(
            f"{path} lacks the column {missing[0]!r} of the table {name}; measure again",
            where=str(path),
        )
    return rows


_NEEDED = {
    "frames": ("file", "shot", "frame", "people", "size"),
    "people": ("file", "shot", "frame", "person"),
    "shots": ("file", "shot", "start_frame", "end_frame"),
    "files": ("file", "status"),
}


def _columns_of(name: str) -> Mapping[str, Column]:
    columns: Sequence[Column] = {
        "frames": frame_columns(_MOST_SIZES),
        "people": people_columns(),
        "shots": shot_columns(),
        "files": file_columns(),
    }[name]
    return {column.name: column for column in columns}


def _read_csv(path: Path, columns: Mapping[str, Column]) -> Iterator[Row]:
    with path.open(encoding="utf-8", newline="") as source:
        lines = _limited(source)
        names = next(lines, [])
        for number, cells in enumerate(lines, start=2):
            if len(cells) != len(names):
                raise ValueError(f"line {number} has {len(cells)} cells, not {len(names)}")
            yield {
                name: _cell(columns.get(name), cell)
                for name, cell in zip(names, cells, strict=True)
            }


def _limited(source: IO[str]) -> Iterator[list[str]]:
    before = csv.field_size_limit(_LONGEST_CELL)
    try:
        yield from csv.reader(source, strict=True)
    finally:
        csv.field_size_limit(before)


def _read_jsonl(path: Path, columns: Mapping[str, Column]) -> Iterator[Row]:
    with path.open(encoding="utf-8") as source:
        for number, line in enumerate(source, start=1):
            row = json.loads(line)
            if not isinstance(row, dict):
                raise TypeError(f"line {number} is no object")
            yield {name: _checked(columns.get(name), cell) for name, cell in row.items()}


def _read_parquet(path: Path, columns: Mapping[str, Column]) -> Iterator[Row]:
    try:
        from pyarrow import ArrowException, parquet
    except ImportError as error:
        message = "parquet needs pyarrow: pip install 'framecheck[parquet]'"
        raise ConfigError(message) from error
    try:
        rows = parquet.read_table(path).to_pylist()
    except ArrowException as error:
        raise ValueError(str(error)) from error
    for row in rows:
        yield {name: _checked(columns.get(name), cell) for name, cell in row.items()}


_READERS = {"csv": _read_csv, "jsonl": _read_jsonl, "parquet": _read_parquet}


def _cell(column: Column | None, text: str) -> Cell:
    kind = column.kind if column else Kind.TEXT
    if kind is Kind.TEXT:
        harmless = text[:1] == "'" and text[1:2] in _FORMULA_STARTS
        return text[1:] if harmless else text
    if kind is Kind.PATH:
        return text[2:] if text[:2] == "./" and text[2:3] in _FORMULA_STARTS else text
    if not text:
        return None
    return _in_range(int(text) if kind is Kind.WHOLE else float(text))


def _checked(column: Column | None, value: object) -> Cell:
    kind = column.kind if column else Kind.TEXT
    if value is None:
        return "" if kind in {Kind.TEXT, Kind.PATH} else None
    if kind in {Kind.TEXT, Kind.PATH}:
        return str(value)
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(f"{value!r} in a column of numbers")
    return _in_range(int(value) if kind is Kind.WHOLE else float(value))


def _in_range(number: float) -> float:
    """The number, when it is one that a table can hold; no measurement is beyond it."""
    if not abs(number) <= _LARGEST:
        raise ValueError(f"{str(number)[:40]} is no number of a measurement")
    return number
