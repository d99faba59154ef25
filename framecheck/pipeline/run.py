"""One run from inputs to tables: find, take over what is done, measure the rest, write."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TypeAlias

from framecheck.errors import ConfigError
from framecheck.export.columns import Column, file_columns, frame_columns, people_columns
from framecheck.export.rows import Row, row_of_file, rows_of_frame
from framecheck.export.writers import check_writer, write_table
from framecheck.pipeline.batch import measure_stills
from framecheck.pipeline.journal import Entry, Journal, entry_key
from framecheck.pipeline.overlay_names import OVERLAY_FOLDER, name_overlays
from framecheck.pipeline.pool import PoolLimits
from framecheck.pipeline.settings import settings_fingerprint
from framecheck.pipeline.still import FileOutcome, OpenStillWork, StillTask
from framecheck.records.judged import FileReport, FileStatus

FINDING = "finding"
"""The stage of a trouble that lies in what the user named."""

Progress: TypeAlias = Callable[[int, int], None]
"""Called with (inputs done, inputs in all)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One input: its name, where it lies, and why it cannot be measured, if so."""

    file: str
    path: Path
    problem: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What a run has to deliver.

    Attributes:
        inputs: in the order of the tables.
        out: the output folder, made when it is not there.
        work: how a still is measured.
        limits: of the worker pool.
        overlays: draw annotated copies.
        format_name: of the tables.
        afresh: measure everything again, whatever an earlier run left.
    """

    inputs: tuple[Input, ...]
    out: Path
    work: OpenStillWork
    limits: PoolLimits
    overlays: bool = False
    format_name: str = "csv"
    afresh: bool = False

    def with_handling(self, *, limits: PoolLimits, format_name: str, afresh: bool) -> Order:
        """The same order with other wishes that do not change its results."""
        return replace(self, limits=limits, format_name=format_name, afresh=afresh)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSummary:
    """What a run delivered.

    Attributes:
        files: one row an input that was dealt with, in the order of the inputs.
        frames: one row a picture. people: one row a person.
        tables: the files written.
        taken_over: inputs whose results an earlier run had left.
        interrupted: True when Ctrl-C ended it. left: inputs that this left undone.
    """

    files: tuple[Row, ...]
    frames: tuple[Row, ...]
    people: tuple[Row, ...]
    tables: tuple[Path, ...]
    taken_over: int
    interrupted: bool
    left: int

    def count(self, status: FileStatus) -> int:
        """How many inputs fared so."""
        return sum(row["status"] == status.value for row in self.files)

    @property
    def flagged(self) -> int:
        """How many pictures carry a flag."""
        return sum(bool(row["flags"]) for row in self.frames)


@dataclass(slots=True, kw_only=True)
class _Ledger:
    """The rows so far, by the number of their input."""

    order: Order
    entries: dict[int, Entry] = field(default_factory=dict)
    taken_over: int = 0

    @property
    def further(self) -> int:
        return max(0, len(self.order.work.judging.vocabularies) - 1)

    def note(self, index: int, outcome: FileOutcome, key: str, overlay: str) -> Entry:
        frames, people = [], []
        for result in outcome.results:
            frame, persons = rows_of_frame(result, self.further)
            frames.append(frame)
            people += persons
        measured = outcome.report.status is FileStatus.MEASURED
        entry = Entry(
            key=key,
            file_row=row_of_file(outcome.report, overlay if measured else ""),
            frames=tuple(frames),
            people=tuple(people),
            overlay=overlay,
        )
        self.entries[index] = entry
        return entry


def measure_to_tables(order: Order, progress: Progress | None = None) -> RunSummary:
    """Measure all inputs and write the tables; Ctrl-C writes the tables of what is done.

    Raises:
        ConfigError: the format or the output folder cannot be used.
        ExportError: an output cannot be written.
        ModelError: the networks would not load.
        WorkerError: the workers cannot be started.
    """
    check_writer(order.format_name)
    _make_folder(order.out)
    ledger = _Ledger(order=order)
    try:
        _fill(ledger, progress or _silent)
    except KeyboardInterrupt:
        return _deliver(ledger, interrupted=True)
    return _deliver(ledger, interrupted=False)


def _fill(ledger: _Ledger, progress: Progress) -> None:
    order = ledger.order
    journal = Journal(order.out, afresh=order.afresh)
    names = _overlay_names(order)
    keys = _keys(order, names)
    waiting = []
    for index, item in enumerate(order.inputs):
        entry = journal.find(keys[index]) if keys[index] else None
        if entry is not None:
            ledger.entries[index] = entry
            ledger.taken_over += 1
        elif _problem(order, item):
            ledger.note(index, FileOutcome(report=_not_measurable(order, item)), "", "")
        else:
            waiting.append(index)
    named = {item.file for item in order.inputs}
    kept = [entry for entry in ledger.entries.values() if entry.key]
    with journal.open(journal.entries_besides(named) + kept):
        _measure_waiting(ledger, journal, (waiting, keys, names), progress)


def _measure_waiting(
    ledger: _Ledger,
    journal: Journal,
    plan: tuple[Sequence[int], Sequence[str], Sequence[str]],
    progress: Progress,
) -> None:
    order, (waiting, keys, names) = ledger.order, plan
    tasks = [
        StillTask(
            file=order.inputs[index].file,
            path=order.inputs[index].path,
            overlay=order.out / names[index] if names[index] else None,
        )
        for index in waiting
    ]
    progress(len(ledger.entries), len(order.inputs))
    for number, outcome in measure_stills(tasks, order.work, order.limits):
        index = waiting[number]
        entry = ledger.note(index, outcome, keys[index], names[index])
        if outcome.report.status is FileStatus.MEASURED:  # what failed is tried again next time
            journal.add(entry)
        progress(len(ledger.entries), len(order.inputs))


def _overlay_names(order: Order) -> tuple[str, ...]:
    if not order.overlays:
        return ("",) * len(order.inputs)
    good = [index for index, item in enumerate(order.inputs) if not _problem(order, item)]
    named = dict(
        zip(good, name_overlays([order.inputs[index].path for index in good]), strict=True)
    )
    return tuple(named.get(index, "") for index in range(len(order.inputs)))


def _keys(order: Order, names: Sequence[str]) -> list[str]:
    fingerprint = settings_fingerprint(order.work.judging, order.work.open_measurer)
    keys = []
    for item, name in zip(order.inputs, names, strict=True):
        try:
            key = "" if item.problem else entry_key(fingerprint, item.file, item.path, name)
        except OSError:  # gone since it was found; reading it will say so
            key = ""
        keys.append(key)
    return keys


def _problem(order: Order, item: Input) -> str:
    if item.problem:
        return item.problem
    drawn = os.path.abspath(order.out / OVERLAY_FOLDER)  # noqa: PTH100  # resolves no links
    inside = Path(drawn) in Path(os.path.abspath(item.path)).parents  # noqa: PTH100
    return "an annotated copy of an earlier run" if inside else ""


def _not_measurable(order: Order, item: Input) -> FileReport:
    # What the user named and is not there has failed; our own drawings are only left out.
    status = FileStatus.FAILED if item.problem else FileStatus.SKIPPED
    return FileReport(file=item.file, status=status, why=_problem(order, item), where=FINDING)


def _make_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = error.strerror or str(error)
        raise ConfigError(f"cannot use {folder} for output: {reason}", where=str(folder)) from error


def _deliver(ledger: _Ledger, *, interrupted: bool) -> RunSummary:
    order = ledger.order
    entries = [ledger.entries[index] for index in sorted(ledger.entries)]
    files = tuple(entry.file_row for entry in entries)
    frames = tuple(row for entry in entries for row in entry.frames)
    people = tuple(row for entry in entries for row in entry.people)
    tables: tuple[tuple[str, Sequence[Column], Sequence[Row]], ...] = (
        ("frames", frame_columns(ledger.further), frames),
        ("people", people_columns(), people),
        ("files", file_columns(), files),
    )
    written = tuple(
        write_table(order.out, name, columns, rows, order.format_name)
        for name, columns, rows in tables
    )
    return RunSummary(
        files=files,
        frames=frames,
        people=people,
        tables=written,
        taken_over=ledger.taken_over,
        interrupted=interrupted,
        left=len(order.inputs) - len(entries),
    )


def _silent(_done: int, _total: int) -> None:
    """No progress wanted."""
