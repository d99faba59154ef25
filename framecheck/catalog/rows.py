"""The rows of a measurement in and out of the database."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from framecheck.catalog.correction_rows import show_corrections
from framecheck.catalog.entries import enter_entry
from framecheck.catalog.layout import Row, check_cells, from_sql, to_sql
from framecheck.catalog.measurements import MeasurementId
from framecheck.catalog.schema import columns_of
from framecheck.catalog.store import Store

_SYSTEM = {"files": (), "shots": ("_shot",), "frames": ("_shot", "_row"),
           "people": ("_shot", "_row")}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredRows:
    """All rows of a measurement, in order: by shot, then as they were added.

    Attributes:
        file: the row for files, None while it is not finished.
        shots, frames, people: the other rows. A still has no shots.
        place: where the content was seen last; None when no place was noted.
    """

    file: Row | None
    shots: tuple[Row, ...]
    frames: tuple[Row, ...]
    people: tuple[Row, ...]
    place: Path | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotRows:
    """What is entered in one go: a shot with its frames and people, or a still."""

    shot: Row | None
    frames: Sequence[Row]
    people: Sequence[Row]


def enter_shot(store: Store, measurement: MeasurementId, rows: ShotRows) -> None:
    """Add the rows of a shot in place of those that it may have, inside a transaction."""
    number = shot_number(rows.shot)
    for table in ("shots", "frames", "people"):
        store.run(
            f"DELETE FROM {table} WHERE _measurement = ? AND _shot = ?", (measurement, number)
        )
    for table in ("entries", "originals"):
        store.run(f"DELETE FROM {table} WHERE measurement = ? AND shot = ?", (measurement, number))
    if rows.shot is not None:
        insert_rows(store, "shots", [((measurement, number), rows.shot)])
    for table, group in (("frames", rows.frames), ("people", rows.people)):
        keyed = [((measurement, number, index), row) for index, row in enumerate(group)]
        insert_rows(store, table, keyed)
    enter_entry(store, measurement, number, (rows.shot, rows.frames, rows.people))
    show_corrections(store, measurement, number)


def shot_number(shot_row: Row | None) -> int:
    """The number of a shot, 0 for a still.

    Raises:
        ValueError: the row has none.
    """
    if shot_row is None:
        return 0
    number = shot_row.get("shot")
    if not isinstance(number, int) or number < 0:
        raise ValueError(f"a shot row needs its number in column shot, got {number!r}")
    return number


def insert_rows(store: Store, table: str, rows: Sequence[tuple[tuple[int, ...], Row]]) -> None:
    """Insert rows with their keys in front.

    Raises:
        ValueError: a row has a column that the layout does not know, or a NaN.
    """
    columns = columns_of(store, table)
    names = ["_measurement", *_SYSTEM[table], *(f'"{name}"' for name in columns)]
    values = []
    for key, row in rows:
        check_cells(row, columns)
        values.append((*key, *(to_sql(row.get(name)) for name in columns)))
    marks = ", ".join("?" * len(names))
    store.run_many(f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})", values)


def read_rows(
    store: Store,
    table: str,
    measurement: MeasurementId,
    columns: Sequence[str],
    frames: Sequence[int] | None = None,
) -> tuple[Row, ...]:
    """The rows of a measurement in their order, with those columns.

    Args:
        store: of the catalog.
        table: which one.
        measurement: whose rows.
        columns: of the table.
        frames: numbers of frames, a few hundred at most; only their rows. None for all rows.
    """
    names = ", ".join(f'"{name}"' for name in columns) or "NULL"
    order = ", ".join(_SYSTEM[table]) or "_measurement"
    of_frames = "" if frames is None else f" AND frame IN ({', '.join('?' * len(frames))})"
    found = store.all(
        f"SELECT {names} FROM {table} WHERE _measurement = ?{of_frames} ORDER BY {order}",
        (measurement, *(frames or ())),
    )
    return tuple(_row(columns, cells) for cells in found)


def _row(columns: Sequence[str], cells: tuple[Any, ...]) -> Row:
    # Bytes are rare, and asking each cell takes as long as reading it.
    there = map(from_sql, cells) if bytes in set(map(type, cells)) else cells
    return dict(zip(columns, there, strict=False))
