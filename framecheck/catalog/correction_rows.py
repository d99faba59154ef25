"""Corrections in the rows: written into every measurement of a content, and taken out again.

What was measured is kept in `originals` and comes back when nothing more is said.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from framecheck.catalog.confirmed import Changes, Field, Value, corrected
from framecheck.catalog.entries import rebuild_entry
from framecheck.catalog.layout import Row, from_sql, to_sql
from framecheck.catalog.store import Store

STILL_ANCHOR = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotPlace:
    """A shot of a measurement: the frames it holds; a still holds the anchor of stills alone."""

    shot: int
    still: bool
    start: int
    end: int


Said: TypeAlias = dict[int, dict[Field, Value]]
"""What counts of all that was said: by anchor and field."""


def show_corrections(store: Store, measurement: int, shot: int | None = None) -> None:
    """Let the rows of a measurement, or of one shot of it, show what was said; in a transaction."""
    row = store.first("SELECT content FROM measurements WHERE id = ?", (measurement,))
    said = said_of(store, int(row[0])) if row else {}
    touched = store.first("SELECT 1 FROM originals WHERE measurement = ?", (measurement,))
    if not said and touched is None:
        return
    for number in shots_of(store, measurement):
        if shot is None or number.shot == shot:
            _show(store, measurement, number, said)


def show_everywhere(store: Store, content: int) -> None:
    """Let the rows of every measurement of a content show what was said; in a transaction."""
    for (number,) in store.all("SELECT id FROM measurements WHERE content = ?", (content,)):
        show_corrections(store, int(number))


def _show(store: Store, measurement: int, span: ShotPlace, said: Said) -> None:
    key = (measurement, span.shot)
    kept = store.all(
        "SELECT place, number, cells FROM originals WHERE measurement = ? AND shot = ?", key
    )
    for place, number, cells in kept:
        _update(store, str(place), (*key, int(number)), json.loads(cells))
    store.run("DELETE FROM originals WHERE measurement = ? AND shot = ?", key)
    spoken = spoken_of(said, span)
    if spoken is not None:
        anchor, values = spoken
        named, frame, people = rows_of_shot(store, measurement, span, anchor)
        if named is not None:
            _write(store, measurement, span, (anchor, corrected(values, named, frame, people)))
    if kept or spoken is not None:
        rebuild_entry(store, measurement, span.shot)


def _write(store: Store, measurement: int, span: ShotPlace, told: tuple[int, Changes]) -> None:
    anchor, changes = told
    frame_number = frame_number_of(store, measurement, span, anchor)
    named_table = "frames" if span.still else "shots"
    _keep_and_update(store, named_table, (measurement, span.shot, 0), changes.named)
    if frame_number is None:
        return
    _keep_and_update(store, "frames", (measurement, span.shot, frame_number), changes.frame)
    places = people_numbers_of(store, measurement, span, anchor)
    for place, cells in changes.people.items():
        _keep_and_update(store, "people", (measurement, span.shot, places[place]), cells)


def _keep_and_update(store: Store, table: str, key: tuple[int, int, int], cells: Row) -> None:
    if not cells:
        return
    before = _row(store, table, key)
    if before is None:
        return
    changed = {name: cell for name, cell in cells.items() if name in before}
    kept = {name: before[name] for name in changed}
    store.run(
        "INSERT OR REPLACE INTO originals (measurement, shot, place, number, cells) "
        "VALUES (?, ?, ?, ?, ?)",
        (key[0], key[1], table, key[2], json.dumps(kept)),
    )
    _update(store, table, key, changed)


def _update(store: Store, table: str, key: tuple[int, int, int], cells: Row) -> None:
    names = [name for name in cells if name in _names(store, table)]
    if not names:
        return
    row = "" if table == "shots" else " AND _row = ?"
    store.run(
        f"UPDATE {table} SET {', '.join(f'{_quoted(name)} = ?' for name in names)} "
        f"WHERE _measurement = ? AND _shot = ?{row}",
        (*(to_sql(cells[name]) for name in names), *(key[:2] if table == "shots" else key)),
    )


def said_of(store: Store, content: int) -> Said:
    """What counts now: by anchor and field the last one that is not withdrawn."""
    said: Said = {}
    rows = store.all(
        "SELECT anchor, field, value FROM corrections WHERE content = ? AND NOT withdrawn "
        "ORDER BY id",
        (content,),
    )
    known = {kind.value: kind for kind in Field}
    for anchor, name, value in rows:
        if str(name) in known:  # a later version may know more
            said.setdefault(int(anchor), {})[known[str(name)]] = json.loads(value)
    return said


def spoken_of(said: Said, span: ShotPlace) -> tuple[int, Mapping[Field, Value]] | None:
    """What was said about frames of the shot, with the frame; of several, all of it together."""
    if span.still:
        values = said.get(STILL_ANCHOR)
        return (STILL_ANCHOR, values) if values else None
    inside = [anchor for anchor in said if span.start <= anchor < span.end]
    if not inside:
        return None
    together: dict[Field, Value] = {}
    for anchor in inside:
        together |= said[anchor]
    return inside[-1], together


def shots_of(store: Store, measurement: int) -> Iterable[ShotPlace]:
    """The shots of a measurement, or its still."""
    names = _names(store, "shots")
    if {"start_frame", "end_frame"} <= names:
        for shot, start, end in store.all(
            "SELECT _shot, start_frame, end_frame FROM shots WHERE _measurement = ?", (measurement,)
        ):
            yield ShotPlace(shot=shot, still=False, start=start or 0, end=end or 0)
    still = store.first(
        "SELECT 1 FROM entries WHERE measurement = ? AND still AND shot = 0", (measurement,)
    )
    if still:
        yield ShotPlace(shot=0, still=True, start=0, end=0)


def rows_of_shot(
    store: Store, measurement: int, span: ShotPlace, anchor: int
) -> tuple[Row | None, Row | None, Sequence[Row]]:
    """The row that is named, that of the frame that was looked at, and those of its people."""
    key = (measurement, span.shot)
    number = frame_number_of(store, measurement, span, anchor)
    frame = None if number is None else _row(store, "frames", (*key, number))
    named = frame if span.still else _row(store, "shots", (*key, 0))
    places = people_numbers_of(store, measurement, span, anchor)
    people = [_row(store, "people", (*key, place)) for place in places]
    return named, frame, [row for row in people if row is not None]


def frame_number_of(store: Store, measurement: int, span: ShotPlace, anchor: int) -> int | None:
    """Which of the rows of frames is the one that was looked at; None for none."""
    if span.still:
        return 0
    row = store.first(
        "SELECT _row FROM frames WHERE _measurement = ? AND _shot = ? AND frame = ?",
        (measurement, span.shot, anchor),
    )
    return int(row[0]) if row else None


def people_numbers_of(store: Store, measurement: int, span: ShotPlace, anchor: int) -> list[int]:
    """Which of the rows of people are in the frame that was looked at."""
    wanted = "" if span.still else " AND frame = ?"
    rows = store.all(
        f"SELECT _row FROM people WHERE _measurement = ? AND _shot = ?{wanted} ORDER BY _row",
        (measurement, span.shot, *(() if span.still else (anchor,))),
    )
    return [int(row[0]) for row in rows]


def _row(store: Store, table: str, key: tuple[int, int, int]) -> Row | None:
    wanted = "" if table == "shots" else " AND _row = ?"
    cursor = store.run(
        f"SELECT * FROM {table} WHERE _measurement = ? AND _shot = ?{wanted}",
        key[:2] if table == "shots" else key,
    )
    names = [column[0] for column in cursor.description]
    found = cursor.fetchone()
    if found is None:
        return None
    cells = dict(zip(names, map(from_sql, found), strict=True))
    return {name: cell for name, cell in cells.items() if not name.startswith("_")}


def _names(store: Store, table: str) -> set[str]:
    return {row[1] for row in store.all(f"PRAGMA table_info({table})")}


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'
