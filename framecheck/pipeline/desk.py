"""Between the inputs and the catalog: what is to be measured, and what came of it.

The parent of all processes is the only one that writes to the catalog.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.measurements import MeasurementId, State
from framecheck.errors import LeaseLost
from framecheck.export.rows import (
    Cell,
    Row,
    row_of_file,
    row_of_shot,
    rows_of_frame,
    writable_text,
)
from framecheck.pipeline.clip import ClipEnd
from framecheck.pipeline.drawn import Drawn
from framecheck.pipeline.identify import Identity
from framecheck.pipeline.order import Input, MediaKind, Order
from framecheck.pipeline.overlay_names import OVERLAY_FOLDER, name_overlays
from framecheck.pipeline.signature import Signature
from framecheck.pipeline.trouble import Trouble
from framecheck.records.clips import ClipHeader, ShotResult
from framecheck.records.judged import FileReport, FileStatus, FrameResult

OWN_DRAWING = "an annotated copy of an earlier run"


@dataclass(slots=True, kw_only=True)
class Job:
    """A content that this run measures.

    Attributes:
        index: the input that it is measured from. item: the same.
        key: content and fingerprint. measurement: its number in the catalog.
        signature: of the files.
        done: shots that are entered, with their first frame and the one after the last.
        samples: how many frames were measured, by shot.
        others: further inputs with the same content.
        header: of a clip, once it is open. frames: how many of them are read.
        end: of the reading of a clip. troubles: of its shots.
        in_flight: shots that are being measured, with their frames.
        reads: how often it was begun. given_up: another run has it now.
        drawn: True when an annotated copy was asked for, and with what trouble.
    """

    index: int
    item: Input
    key: tuple[str, str]
    measurement: MeasurementId
    signature: Signature
    done: dict[int, tuple[int, int]] = field(default_factory=dict)
    samples: dict[int, int] = field(default_factory=dict)
    others: list[int] = field(default_factory=list)
    header: ClipHeader | None = None
    frames: int = 0
    end: ClipEnd | None = None
    troubles: dict[int, Trouble] = field(default_factory=dict)
    in_flight: dict[int, tuple[int, int]] = field(default_factory=dict)
    reads: int = 0
    given_up: bool = False
    drawn: bool = False
    drawing_trouble: Trouble | None = None


@dataclass(slots=True, kw_only=True)
class Entry:
    """What an input came to.

    Attributes:
        status: measured, skipped or failed.
        measurement: where its rows are; None when there are none.
        trouble: what its row says in place of what the catalog says.
        overlay: the annotated copy, seen from the output folder.
        taken_over: True when an earlier run had left the results.
    """

    status: FileStatus
    measurement: MeasurementId | None = None
    trouble: Trouble | None = None
    overlay: str = ""
    taken_over: bool = False


class Desk:
    """Keeps the books of one run."""

    def __init__(self, order: Order, catalog: Catalog) -> None:
        self.order, self.catalog = order, catalog
        self.entries: dict[int, Entry] = {}
        self.postponed: list[tuple[int, Identity]] = []
        self._keys: dict[int, tuple[str, str]] = {}
        self._jobs: dict[tuple[str, str], Job] = {}
        self._ended: set[tuple[str, str]] = set()
        self._overlays = _name_overlays(order)
        self._drawn = Drawn(order.out, OVERLAY_FOLDER) if order.overlays else None

    def refuse(self, index: int, trouble: Trouble, status: FileStatus = FileStatus.FAILED) -> None:
        """An input that cannot be measured."""
        self.entries[index] = Entry(status=status, trouble=trouble)

    def admit(self, index: int, identity: Identity) -> Job | None:
        """Decide what becomes of an input whose content is known.

        Returns:
            The job when this run is to measure it now. None when it was measured before, is being
            measured by this run, or by another one; the latter is then among `postponed`.
        """
        item, catalog = self.order.inputs[index], self.catalog
        catalog.remember_place(identity.content, item.path, *identity.signature)
        key = self._keys[index] = (identity.content, self._fingerprint(item))
        if key in self._jobs:
            self._jobs[key].others.append(index)
            return None
        if self._take_over(index, key):
            return None
        number = catalog.begin(*key, item.kind.value, "", afresh=self.order.afresh)
        if number is None:
            self.postponed.append((index, identity))
            return None
        job = Job(index=index, item=item, key=key, measurement=number, signature=identity.signature)
        self._recall(job)
        self._jobs[key] = job
        return job

    def is_awaited(self, index: int) -> bool:
        """True as long as another run is at the content of a postponed input."""
        there = self.catalog.lookup(*self._keys[index])
        return there is not None and there.busy

    def enter_still(self, job: Job, result: FrameResult) -> None:
        """Enter the rows of a still.

        Raises:
            LeaseLost: another run has it now.
        """
        frame, people = rows_of_frame(result, self.order.further)
        self.catalog.add_shot(job.measurement, None, [frame], people)
        job.done[0], job.samples[0] = (0, 1), 1

    def enter_shot(self, job: Job, result: ShotResult) -> None:
        """Enter the rows of a shot.

        Raises:
            LeaseLost: another run has it now.
        """
        pairs = [rows_of_frame(frame, self.order.further) for frame in result.frames]
        people = [row for _, rows in pairs for row in rows]
        frames = [frame for frame, _ in pairs]
        self.catalog.add_shot(job.measurement, row_of_shot(result), frames, people)
        span = result.span
        job.done[span.shot] = (span.start_frame, span.end_frame)
        job.samples[span.shot] = len(frames)

    def close(self, job: Job, trouble: Trouble | None = None) -> None:
        """The job is at its end, well or not; the inputs with its content get their entries.

        Raises:
            LeaseLost: another run has it now.
        """
        number, end = job.measurement, job.end
        trouble = trouble or (end.trouble if end else None) or _first_trouble(job)
        if end is not None and (trouble is None or end.changed):
            # Of a file that changed nothing holds. Of a whole one, a run that was broken off may
            # have left shots that are not there any more.
            self._forget(job, from_shot=0 if end.changed else end.shots)
        row = _row_of_job(job, trouble)
        if trouble is None:
            self.catalog.finish(number, row)
        else:
            self.catalog.fail(number, trouble.why, trouble.where, row)
        self._ended.add(job.key)
        del self._jobs[job.key]
        status = FileStatus.FAILED if trouble else FileStatus.MEASURED
        for index in (job.index, *job.others):
            self.entries[index] = Entry(status=status, measurement=number)
        if job.drawn:
            self.note_drawing(job.index, job.drawing_trouble)

    def attempt(self, job: Job, enter: Callable[[], None]) -> None:
        """Enter something, unless another run has taken the job over: that one is waited for."""
        if job.given_up:
            return
        try:
            enter()
        except LeaseLost:
            self._give_up(job)

    def _give_up(self, job: Job) -> None:
        job.given_up = True
        self._jobs.pop(job.key, None)
        identity = Identity(content=job.key[0], signature=job.signature)
        self.postponed += [(index, identity) for index in (job.index, *job.others)]

    def file_row_of(self, index: int) -> Row:
        """The row for files of an input that was dealt with."""
        number, file = self.entries[index].measurement, self.order.inputs[index].file
        stored = None if number is None else self.catalog.rows(number, file=file).file
        return self.file_row(index, stored)

    def overlay_of(self, index: int) -> str:
        """The annotated copy that is wanted, seen from the output folder; "" for none."""
        return self._overlays[index]

    def needs_drawing(self, index: int) -> bool:
        """True when the annotated copy of a measured still is wanted and not there."""
        overlay, entry = self._overlays[index], self.entries[index]
        if not overlay or entry.status is not FileStatus.MEASURED or self._drawn is None:
            return False
        if self._drawn.has(overlay, self._mark(index)):
            entry.overlay = overlay
            return False
        return True

    def note_drawing(self, index: int, trouble: Trouble | None) -> None:
        """The annotated copy of a measured still was drawn, or could not be.

        Raises:
            ExportError: the disk is full.
        """
        entry = self.entries[index]
        entry.taken_over = False
        if trouble is not None:
            entry.status, entry.trouble = FileStatus.FAILED, trouble
        elif self._drawn is not None:
            entry.overlay = self._overlays[index]
            self._drawn.note(entry.overlay, self._mark(index))

    def file_row(self, index: int, stored: Row | None) -> Row:
        """The row for files of an input that was dealt with.

        Args:
            index: which one.
            stored: the row in the catalog, if it has one.
        """
        entry, file = self.entries[index], self.order.inputs[index].file
        if stored is None or entry.trouble is not None:
            told = entry.trouble or Trouble(why="", where="")
            report = FileReport(file=file, status=entry.status, why=told.why, where=told.where)
            plain = row_of_file(report)
            stored = {**(stored or plain), **{name: plain[name] for name in _HOW_IT_FARED}}
        return {**stored, "overlay": writable_text(entry.overlay)}

    def _take_over(self, index: int, key: tuple[str, str]) -> bool:
        """True when the content was measured before: by an earlier run, or in this one."""
        there = self.catalog.lookup(*key)
        if there is None or there.busy:
            return False
        ended, measured = key in self._ended, there.state is State.MEASURED
        if not ended and (not measured or self.order.afresh):
            return False
        self.entries[index] = Entry(
            status=FileStatus.MEASURED if measured else FileStatus.FAILED,
            measurement=there.id,
            taken_over=not ended,
        )
        return True

    def _recall(self, job: Job) -> None:
        """What an earlier run, that was broken off, has entered."""
        if not self.catalog.shots_done(job.measurement):
            return
        if job.item.kind is MediaKind.STILL:
            job.done, job.samples = {0: (0, 1)}, {0: 1}
            return
        for row in self.catalog.rows(job.measurement).shots:
            shot, start, end, samples = (_whole(row[name]) for name in _RECALLED)
            job.done[shot], job.samples[shot] = (start, end), samples

    def _forget(self, job: Job, from_shot: int) -> None:
        self.catalog.forget_shots(job.measurement, from_shot)
        job.samples = {shot: count for shot, count in job.samples.items() if shot < from_shot}

    def _fingerprint(self, item: Input) -> str:
        # The same numbered frames at another rate are another clip.
        rate = f" at {item.rate}" if item.rate is not None else ""
        return self.order.fingerprint + rate

    def _mark(self, index: int) -> str:
        return " ".join(self._keys[index])


_HOW_IT_FARED = ("status", "why", "where")
_RECALLED = ("shot", "start_frame", "end_frame", "samples")


def find_problem(order: Order, item: Input) -> tuple[FileStatus, str] | None:
    """Why an input is not to be measured, whatever it holds."""
    if item.problem:
        return FileStatus.FAILED, item.problem
    # What the user named and is not there has failed; our own drawings are only left out.
    drawn = os.path.abspath(order.out / OVERLAY_FOLDER)  # noqa: PTH100  # resolves no links
    inside = Path(drawn) in Path(os.path.abspath(item.path)).parents  # noqa: PTH100
    return (FileStatus.SKIPPED, OWN_DRAWING) if inside else None


def _name_overlays(order: Order) -> tuple[str, ...]:
    """The annotated copy of each input; "" for those that get none."""
    good = [
        index
        for index, item in enumerate(order.inputs)
        if order.overlays and item.kind is MediaKind.STILL and find_problem(order, item) is None
    ]
    named = dict(
        zip(good, name_overlays([order.inputs[index].path for index in good]), strict=True)
    )
    return tuple(named.get(index, "") for index in range(len(order.inputs)))


def _row_of_job(job: Job, trouble: Trouble | None) -> Row:
    report = FileReport(
        file=job.item.file,
        status=FileStatus.FAILED if trouble else FileStatus.MEASURED,
        why=trouble.why if trouble else "",
        where=trouble.where if trouble else "",
        frames=sum(job.samples.values()),
    )
    if job.end is None:
        return row_of_file(report)
    return row_of_file(
        report,
        header=job.end.header,
        shots=len(job.samples),
        duration_s=float(job.end.duration_s),
    )


def _first_trouble(job: Job) -> Trouble | None:
    return job.troubles[min(job.troubles)] if job.troubles else None


def _whole(cell: Cell) -> int:
    return int(cell or 0)
