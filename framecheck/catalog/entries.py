"""The narrow rows that questions are asked of, made from the rows of shots, frames and people."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from framecheck.catalog.layout import Cell, Row, from_sql, to_sql
from framecheck.catalog.store import Store
from framecheck.classify.flag_cells import flagged_parts

ENTRY_COLUMNS = ("size", "size_abbr", "people", "shot_type", "facing", "duration_s")
"""What can be asked for, flags apart."""

_COLUMNS = (*ENTRY_COLUMNS, "best_row")
_INSERT = (
    f"INSERT INTO entries (measurement, shot, still, {', '.join(_COLUMNS)}) "
    f"VALUES (?, ?, ?{', ?' * len(_COLUMNS)})"
)


def enter_entry(
    store: Store, measurement: int, shot: int, rows: tuple[Row | None, Sequence[Row], Sequence[Row]]
) -> None:
    """Add the entry of a shot, or of a still when there is no shot row.

    Args:
        store: inside a transaction.
        measurement: which one.
        shot: the number in it, 0 for a still.
        rows: of the shot, of its frames, of the people in them.
    """
    shot_row, frames, people = rows
    row: Mapping[str, Cell] = shot_row if shot_row is not None else frames[0] if frames else {}
    entry = {
        **{name: row.get(name) for name in ENTRY_COLUMNS},
        "facing": row.get("facing") or usual_facing(people),
        "best_row": best_row(shot_row, frames),
    }
    # An empty text says nothing, whereas no people are a count as well.
    values = [None if entry[name] == "" else to_sql(entry[name]) for name in _COLUMNS]
    store.run(_INSERT, (measurement, shot, shot_row is None, *values))
    parts = flagged_parts(str(row.get("flags") or ""))
    store.run_many(
        "INSERT INTO entry_flags (part, measurement, shot) VALUES (?, ?, ?)",
        [(part, measurement, shot) for part in parts],
    )


def usual_facing(people: Sequence[Mapping[str, Cell]]) -> str | None:
    """How the main subject faces in most of the frames; of equals, the one that comes first."""
    facings = [str(row["facing"]) for row in people if row.get("person") == 0 and row.get("facing")]
    return Counter(facings).most_common(1)[0][0] if facings else None


def best_row(shot_row: Row | None, frames: Sequence[Row]) -> int | None:
    """Which of the frames shows the shot best: the one that its column `frame` names."""
    if shot_row is None:
        return 0 if frames else None
    wanted = shot_row.get("frame")
    numbers = [frame.get("frame") for frame in frames]
    return numbers.index(wanted) if wanted is not None and wanted in numbers else None


def rebuild_entries(store: Store) -> None:
    """Make all entries anew from the rows, inside a transaction."""
    store.run("DELETE FROM entries")
    shots = store.all("SELECT DISTINCT _measurement, _shot FROM frames UNION "
                      "SELECT _measurement, _shot FROM shots ORDER BY 1, 2")  # fmt: skip
    for measurement, shot in shots:
        rebuild_entry(store, measurement, shot)
    store.run(SHOW_BEST)


def rebuild_entry(store: Store, measurement: int, shot: int) -> None:
    """Make one entry anew from its rows, inside a transaction."""
    key = (measurement, shot)
    store.run("DELETE FROM entries WHERE measurement = ? AND shot = ?", key)
    found = _read(store, "shots", key)
    rows = (found[0] if found else None, _read(store, "frames", key), _read(store, "people", key))
    enter_entry(store, measurement, shot, rows)


SHOW_BEST = """
    UPDATE contents SET shown = (
        SELECT m.id FROM measurements m
        WHERE m.content = contents.id
            AND (m.state = 'measured' OR EXISTS (SELECT 1 FROM entries WHERE measurement = m.id))
        ORDER BY m.state = 'measured' DESC, m.asked_s DESC, m.id DESC LIMIT 1
    )
"""
"""Of each content, the whole measurement that was asked for last; else what there is of one."""


def _read(store: Store, table: str, key: tuple[int, int]) -> list[Row]:
    cursor = store.run(f"SELECT * FROM {table} WHERE _measurement = ? AND _shot = ?", key)
    names = [column[0] for column in cursor.description]
    return [dict(zip(names, map(from_sql, row), strict=True)) for row in cursor]
