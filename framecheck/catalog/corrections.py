"""What people have said about results: kept by content, so that it outlives a measurement.

A correction is tied to a content and to the frame that was looked at (-1 for a still). It is never
changed; a later one of the same field counts, and one can be withdrawn. What it changes is written
into the rows themselves, so that everything that reads them shows it; what was measured is kept in
`originals` and comes back when the correction is withdrawn.
"""

from __future__ import annotations

import json
import time
from collections.abc import Mapping
from dataclasses import dataclass

from framecheck.catalog.confirmed import Field, Value
from framecheck.catalog.correction_rows import (
    STILL_ANCHOR,
    ShotPlace,
    frame_number_of,
    people_numbers_of,
    rows_of_shot,
    said_of,
    shots_of,
    show_everywhere,
    spoken_of,
)
from framecheck.catalog.layout import Row
from framecheck.catalog.store import Store

__all__ = ["STILL_ANCHOR", "ConfirmedShot", "Corrections"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ConfirmedShot:
    """One shot or still that a person has said something about.

    Attributes:
        content: what it is of. measurement, shot: where its rows are; shot 0 for a still.
        anchor: the frame that was looked at, -1 for a still.
        values: what was said, by field.
        measured: the row of the shot or still as it was measured.
        frame, people: of the frame that was looked at, as they were measured; None and () when it
            is not among the measured ones.
    """

    content: str
    measurement: int
    shot: int
    anchor: int
    values: Mapping[Field, Value]
    measured: Row
    frame: Row | None
    people: tuple[Row, ...]


class Corrections:
    """What people have said about the results in one catalog."""

    def __init__(self, store: Store) -> None:
        self._store = store

    def enter(self, content: str, anchor: int, values: Mapping[Field, Value]) -> int:
        """Keep what a person said of a frame, at once; all that is read then shows it.

        Args:
            content: as `content_id` says.
            anchor: the frame that was looked at; `STILL_ANCHOR` for a still.
            values: by field, see `Field`.

        Returns:
            A number to take it back by.

        Raises:
            CatalogError: it cannot be written.
            ValueError: the content is not known, or nothing is said.
        """
        return enter_corrections(self._store, content, anchor, values)

    def take_back(self, act: int) -> tuple[str, int] | None:
        """Take back what was said in one go; content and anchor, None when there is nothing.

        Raises:
            CatalogError: it cannot be written.
        """
        return withdraw_act(self._store, act)

    def check_writable(self) -> None:
        """Make sure that something can be kept.

        Raises:
            CatalogError: the catalog may only be read, or is full.
        """
        with self._store.writing():
            pass

    def confirmed(self) -> tuple[ConfirmedShot, ...]:
        """All that people have said, each beside what is measured now."""
        return confirmed_shots(self._store)


def enter_corrections(
    store: Store, content: str, anchor: int, values: Mapping[Field, Value]
) -> int:
    """Keep what a person said in one go, and let the rows show it; the number of the act.

    Raises:
        ValueError: the content is not known, or nothing is said.
    """
    with store.writing():
        number = _content_number(store, content)
        if not values:
            raise ValueError("a correction needs at least one field")
        row = store.first("SELECT coalesce(max(act), 0) + 1 FROM corrections")
        act = int(row[0]) if row else 1
        store.run_many(
            "INSERT INTO corrections (act, content, anchor, field, vocabulary, value, made_s) "
            "VALUES (?, ?, ?, ?, ?, ?, ?)",
            [
                (act, number, anchor, kind.value, str(value.get("vocabulary") or ""),
                 json.dumps(dict(value), sort_keys=True), time.time())
                for kind, value in values.items()
            ],
        )  # fmt: skip
        show_everywhere(store, number)
    return act


def withdraw_act(store: Store, act: int) -> tuple[str, int] | None:
    """Take back what was said in one go.

    Returns:
        Content and anchor that it was about; None when there is no such act, or it was withdrawn.
    """
    with store.writing():
        row = store.first(
            "SELECT c.id, c.content, r.anchor FROM corrections r JOIN contents c "
            "ON c.id = r.content WHERE r.act = ? AND NOT r.withdrawn",
            (act,),
        )
        if row is None:
            return None
        store.run("UPDATE corrections SET withdrawn = 1 WHERE act = ?", (act,))
        show_everywhere(store, int(row[0]))
    return str(row[1]), int(row[2])


def confirmed_shots(store: Store) -> tuple[ConfirmedShot, ...]:
    """All that a person has said, joined with what is measured of it now, by content."""
    found = []
    contents = store.all(
        "SELECT DISTINCT c.id, c.content, c.shown FROM corrections r "
        "JOIN contents c ON c.id = r.content WHERE NOT r.withdrawn AND c.shown IS NOT NULL "
        "ORDER BY c.id"
    )
    for number, content, shown in contents:
        said = said_of(store, int(number))
        for shot in shots_of(store, int(shown)):
            spoken = spoken_of(said, shot)
            if spoken is not None:
                found.append(_confirmed(store, str(content), int(shown), (shot, spoken)))
    return tuple(found)


def _confirmed(
    store: Store,
    content: str,
    measurement: int,
    told: tuple[ShotPlace, tuple[int, Mapping[Field, Value]]],
) -> ConfirmedShot:
    span, (anchor, values) = told
    named, frame, people = rows_of_shot(store, measurement, span, anchor)
    kept = store.all(
        "SELECT place, number, cells FROM originals WHERE measurement = ? AND shot = ?",
        (measurement, span.shot),
    )
    cells = {(str(place), int(number)): json.loads(text) for place, number, text in kept}
    number = frame_number_of(store, measurement, span, anchor) or 0
    frame_cells = cells.get(("frames", number), {})
    numbers = people_numbers_of(store, measurement, span, anchor)
    return ConfirmedShot(
        content=content,
        measurement=measurement,
        shot=span.shot,
        anchor=anchor,
        values=values,
        measured={**(named or {}), **(frame_cells if span.still else cells.get(("shots", 0), {}))},
        frame=None if frame is None else {**frame, **frame_cells},
        people=tuple(
            {**row, **cells.get(("people", place), {})}
            for place, row in zip(numbers, people, strict=True)
        ),
    )


def _content_number(store: Store, content: str) -> int:
    row = store.first("SELECT id FROM contents WHERE content = ?", (content,))
    if row is None:
        raise ValueError(f"the catalog knows no content {content!r}")
    return int(row[0])
