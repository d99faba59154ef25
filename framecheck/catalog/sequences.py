"""Studies of sequences in the catalog, and the measured rows that a study starts from."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from framecheck.catalog.layout import Row, check_cells, from_sql, to_sql
from framecheck.catalog.schema import columns_of
from framecheck.catalog.store import Store

STUDY_TABLES = ("cuts", "pairs", "scene")
_GROUP = 400
"""Measurements that one question asks for; SQLite takes up to 999 parameters everywhere."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SequenceRows:
    """A study as it is kept.

    Attributes:
        source: what was studied; one study is kept of each.
        name: of the sequence. scene_json: the scene as a whole.
        cuts, pairs, scene: the rows.
    """

    source: str
    name: str
    scene_json: str
    cuts: Sequence[Row]
    pairs: Sequence[Row]
    scene: Sequence[Row]


@dataclass(slots=True)
class ShotParts:
    """The measured rows of one shot, or of a still."""

    shot: Row | None = None
    frames: list[Row] = field(default_factory=list)
    people: list[Row] = field(default_factory=list)


def enter_sequence(store: Store, rows: SequenceRows) -> int:
    """Keep a study in place of the one of the same source; its number.

    Raises:
        ValueError: a row has a column that the layout does not know, or a NaN.
    """
    with store.writing():
        store.run("DELETE FROM sequences WHERE source = ?", (to_sql(rows.source),))
        cursor = store.run(
            "INSERT INTO sequences (source, name, scene, made_s) VALUES (?, ?, ?, ?)",
            (to_sql(rows.source), to_sql(rows.name), rows.scene_json, time.time()),
        )
        number = int(cursor.lastrowid or 0)
        for table in STUDY_TABLES:
            _insert(store, table, number, getattr(rows, table))
    return number


def read_sequences(store: Store) -> tuple[SequenceRows, ...]:
    """All studies that are kept, the last one first."""
    found = store.all("SELECT id, source, name, scene FROM sequences ORDER BY made_s DESC, id DESC")
    return tuple(
        SequenceRows(
            source=str(from_sql(source)),
            name=str(from_sql(name)),
            scene_json=str(scene),
            **{table: _read(store, table, number) for table in STUDY_TABLES},
        )
        for number, source, name, scene in found
    )


def read_shots(
    store: Store, measurements: Sequence[int], wanted: Mapping[str, Sequence[str]]
) -> Mapping[int, Mapping[int, ShotParts]]:
    """The rows of measurements, by measurement and then by shot (0 for a still).

    Args:
        store: of the catalog.
        measurements: which ones.
        wanted: columns of shots, frames and people; those that the catalog lacks are left out.
    """
    found: dict[int, dict[int, ShotParts]] = {number: {} for number in measurements}
    for table in ("shots", "frames", "people"):
        there = set(columns_of(store, table))
        names = [name for name in wanted[table] if name in there]
        for number, shot, row in _rows_of(store, table, measurements, names):
            parts = found[number].setdefault(shot, ShotParts())
            if table == "shots":
                parts.shot = row
            else:
                getattr(parts, table).append(row)
    return found


def _rows_of(
    store: Store, table: str, measurements: Sequence[int], names: Sequence[str]
) -> Iterator[tuple[int, int, Row]]:
    columns = "".join(f', "{name}"' for name in names)
    order = "_measurement, _shot" + ("" if table == "shots" else ", _row")
    unlike = list(dict.fromkeys(measurements))
    for start in range(0, len(unlike), _GROUP):
        group = unlike[start : start + _GROUP]
        marks = ", ".join("?" * len(group))
        sql = (
            f"SELECT _measurement, _shot{columns} FROM {table} "
            f"WHERE _measurement IN ({marks}) ORDER BY {order}"
        )
        for number, shot, *cells in store.all(sql, group):
            yield number, shot, dict(zip(names, map(from_sql, cells), strict=True))


def _insert(store: Store, table: str, number: int, rows: Sequence[Row]) -> None:
    columns = columns_of(store, table)
    names = ["_sequence", "_row", *(f'"{name}"' for name in columns)]
    values = []
    for place, row in enumerate(rows):
        check_cells(row, columns)
        values.append((number, place, *(to_sql(row.get(name)) for name in columns)))
    marks = ", ".join("?" * len(names))
    store.run_many(f"INSERT INTO {table} ({', '.join(names)}) VALUES ({marks})", values)


def _read(store: Store, table: str, number: int) -> tuple[Row, ...]:
    columns = columns_of(store, table)
    names = ", ".join(f'"{name}"' for name in columns) or "NULL"
    rows = store.all(f"SELECT {names} FROM {table} WHERE _sequence = ? ORDER BY _row", (number,))
    return tuple(dict(zip(columns, map(from_sql, row), strict=False)) for row in rows)
