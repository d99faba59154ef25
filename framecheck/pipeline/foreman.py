"""The loop of a run: takes on one input after the other, and sees each of them to its end."""

from __future__ import annotations

import contextlib
import time
from functools import partial

from framecheck.pipeline.clip_jobs import ClipJobs
from framecheck.pipeline.desk import Desk, Job, find_problem
from framecheck.pipeline.estimate import Estimate
from framecheck.pipeline.executor import open_executor
from framecheck.pipeline.identify import Identity
from framecheck.pipeline.order import FINDING, ClipState, MediaKind, RunState, Watcher
from framecheck.pipeline.pool import Lost
from framecheck.pipeline.signature import GONE, sign
from framecheck.pipeline.still_jobs import StillJobs
from framecheck.pipeline.trouble import Trouble
from framecheck.records.judged import FileStatus

PULSE_S = 1.0
"""How long nothing may happen before the catalog and the watcher are seen to."""
SHOW_S = 0.2
"""How often the watcher hears how far the run is."""
ASK_S = 2.0
"""How often it is asked whether another run has done what it has in hand."""
AT_ONCE = 200
"""Inputs looked at in one go; those that were measured before cost next to nothing."""


class Foreman:
    """Carries out one order."""

    def __init__(self, desk: Desk, watcher: Watcher) -> None:
        self._desk, self._order, self._watcher = desk, desk.order, watcher
        self._workshop = open_executor(desk.order, watcher.told, desk.catalog.together)
        self._clips = ClipJobs(desk, self._workshop, self._close)
        self._stills = StillJobs(desk, self._workshop, self._close, self._tell_end)
        self._next = 0
        self._began_s: dict[int, float] = {}
        self._estimate = Estimate(time.monotonic())
        self._asked_s = self._shown_s = 0.0
        self._waits = False

    def run(self) -> None:
        """Deal with all inputs.

        Raises:
            CatalogError, ExportError: results cannot be written.
            ModelError: the networks would not load.
            WorkerError: the processes cannot be started.
        """
        self._expect()
        try:
            while self._take_on():
                self._workshop.turn(PULSE_S)
                self._desk.catalog.heartbeat()
                self._show()
        finally:
            self._workshop.close()

    def _take_on(self) -> bool:
        """Look at further inputs while there is room for them; False when all is done."""
        for _ in range(AT_ONCE):
            if self._next == len(self._order.inputs) or not self._workshop.has_room():
                break
            self._next += 1
            self._begin(self._next - 1)
        self._ask_for_postponed()
        more = self._next < len(self._order.inputs) or bool(self._desk.postponed)
        return more or not self._workshop.idle

    def _begin(self, index: int) -> None:
        item = self._order.inputs[index]
        self._began_s[index] = time.monotonic()
        problem = find_problem(self._order, item)
        if problem is not None:
            self._refuse(index, Trouble(why=problem[1], where=FINDING), problem[0])
            return
        try:
            signature = sign(item.files)
        except OSError:  # it was there when inputs were searched for
            self._refuse(index, Trouble(why=GONE, where=FINDING))
            return
        # a server that tells no date and no tag does not say whether it is the file of before
        known = self._desk.catalog.known_content(item.path, *signature)
        content = known if signature[1] else None
        if content is None:
            if item.kind is not MediaKind.STILL:
                self._workshop.expect_clip()
            self._workshop.identify(item.files, partial(self._on_identity, index))
        else:
            self._admit(index, Identity(content=content, signature=signature))

    def _on_identity(self, index: int, identity: Identity | Lost) -> None:
        if isinstance(identity, Lost):
            self._refuse(index, Trouble(why=identity.why, where="identifying"))
        elif identity.trouble is not None:
            self._refuse(index, identity.trouble)
        else:
            self._admit(index, identity)

    def _refuse(self, index: int, trouble: Trouble, status: FileStatus = FileStatus.FAILED) -> None:
        self._desk.refuse(index, trouble, status)
        self._settle(index)

    def _admit(self, index: int, identity: Identity) -> None:
        job = self._desk.admit(index, identity)
        if job is None:
            self._estimate.drop(index)
            if index in self._desk.entries:
                self._settle(index)
        elif job.item.kind is MediaKind.STILL:
            self._stills.start(job)
        else:
            self._clips.start(job)

    def _close(self, job: Job, trouble: Trouble | None) -> None:
        """A job is at its end."""
        self._desk.attempt(job, partial(self._desk.close, job, trouble))
        if job.given_up:
            return
        self._estimate.end(job.index)
        for index in (job.index, *job.others):
            self._settle(index)

    def _settle(self, index: int) -> None:
        """An input has its entry; what is left is its annotated copy."""
        if self._desk.needs_drawing(index):
            self._stills.draw(index)
        else:
            self._tell_end(index)

    def _tell_end(self, index: int) -> None:
        if not self._desk.entries[index].taken_over:
            seconds = time.monotonic() - self._began_s[index]
            self._watcher.ended(self._desk.file_row_of(index), seconds)

    def _ask_for_postponed(self) -> None:
        now_s = time.monotonic()
        if not self._desk.postponed or now_s - self._asked_s < ASK_S:
            return
        self._asked_s = now_s
        if self._workshop.idle and not self._waits:
            self._waits = True
            self._watcher.told("waiting for another run, which measures what is left here")
        waiting, self._desk.postponed = self._desk.postponed, []
        for index, identity in waiting:
            if self._desk.is_awaited(index):
                self._desk.postponed.append((index, identity))
            else:
                self._admit(index, identity)

    def _expect(self) -> None:
        for index, item in enumerate(self._order.inputs):
            if find_problem(self._order, item) is not None:
                continue
            if item.kind is MediaKind.STILL:
                self._estimate.expect_still(index)
                continue
            with contextlib.suppress(OSError):
                self._estimate.expect_clip(index, sign(item.files)[0])

    def _show(self) -> None:
        now_s = time.monotonic()
        if now_s - self._shown_s < SHOW_S:
            return
        self._shown_s = now_s
        for index, job in self._clips.in_hand.items():
            if job.header is not None and job.header.duration_s is not None:
                self._estimate.open_clip(index, float(job.header.duration_s * job.header.rate))
            self._estimate.advance(index, job.frames)
        clips = tuple(
            ClipState(file=job.item.file, share=self._estimate.share_of(index))
            for index, job in sorted(self._clips.in_hand.items())
        )
        state = RunState(
            done=len(self._desk.entries),
            total=len(self._order.inputs),
            share=self._estimate.share(),
            left_s=self._estimate.left_s(now_s),
            clips=clips,
        )
        self._watcher.moved(state)
