"""The tables of a run, written from the catalog in the order of the inputs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from framecheck.catalog.layout import Layout
from framecheck.catalog.rows import MeasuredRows
from framecheck.export.columns import (
    Column,
    file_columns,
    frame_columns,
    people_columns,
    shot_columns,
)
from framecheck.export.rows import Row, writable_text
from framecheck.export.writers import Sink, open_tables, table_path
from framecheck.pipeline.desk import Desk
from framecheck.pipeline.order import MOST_KEPT, MediaKind, RunSummary


@dataclass(slots=True)
class _Tally:
    """What the summary says, gathered while the tables are written."""

    files: list[Row] = field(default_factory=list)
    stills: list[Row] = field(default_factory=list)
    shots: list[Row] = field(default_factory=list)
    sizes: dict[str, Counter[str]] = field(default_factory=dict)
    flagged_stills: int = 0
    flagged_shots: int = 0
    shot_count: int = 0

    def count(self, rows: MeasuredRows, *, still: bool) -> None:
        if still:
            self.flagged_stills += sum(bool(row["flags"]) for row in rows.frames)
            self.stills += rows.frames[: max(0, MOST_KEPT - len(self.stills))]
        self.shot_count += len(rows.shots)
        self.flagged_shots += sum(bool(row["flags"]) for row in rows.shots)
        for row in rows.shots:
            counted = self.sizes.setdefault(str(row["file"]), Counter())
            counted[str(row["size_abbr"] or row["shot_type"] or "no size")] += 1
        self.shots += rows.shots[: max(0, MOST_KEPT - len(self.shots))]


def columns_of_tables(further: int) -> Mapping[str, Sequence[Column]]:
    """The tables of a run with their columns, in the order in which they are named."""
    return {
        "frames": frame_columns(further),
        "people": people_columns(),
        "shots": shot_columns(),
        "files": file_columns(),
    }


def catalog_layout(further: int) -> Layout:
    """The same columns as the catalog wants to know them."""
    layout = {
        name: [(column.name, column.kind.value) for column in columns]
        for name, columns in columns_of_tables(further).items()
    }
    return Layout(**layout)


def write_tables(desk: Desk, *, interrupted: bool) -> RunSummary:
    """Write the rows of all inputs that were dealt with; all tables appear together.

    Raises:
        CatalogError: the rows cannot be read.
        ExportError: the tables cannot be written; those of before are then still there.
    """
    order, tally = desk.order, _Tally()
    tables = columns_of_tables(order.further)
    with open_tables(order.out, tables, order.format_name) as sinks:
        for index in sorted(desk.entries):
            _write_input(desk, index, sinks, tally)
    return RunSummary(
        files=tuple(tally.files),
        stills=tuple(tally.stills),
        shots=tuple(tally.shots),
        sizes=tally.sizes,
        tables=tuple(table_path(order.out, name, order.format_name) for name in tables),
        taken_over=sum(entry.taken_over for entry in desk.entries.values()),
        flagged_stills=tally.flagged_stills,
        flagged_shots=tally.flagged_shots,
        shot_count=tally.shot_count,
        interrupted=interrupted,
        left=len(order.inputs) - len(desk.entries),
    )


def _write_input(desk: Desk, index: int, sinks: Mapping[str, Sink], tally: _Tally) -> None:
    entry, item = desk.entries[index], desk.order.inputs[index]
    stored = None
    if entry.measurement is not None:
        rows = desk.catalog.rows(entry.measurement, file=writable_text(item.file))
        stored = rows.file
        sinks["frames"].add(rows.frames)
        sinks["people"].add(rows.people)
        sinks["shots"].add(rows.shots)
        tally.count(rows, still=item.kind is MediaKind.STILL)
    row = desk.file_row(index, stored)
    sinks["files"].add([row])
    tally.files.append(row)
