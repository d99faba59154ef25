"""Clips from the reader to the desk: shots are measured as they come, and entered as they end."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from functools import partial

from framecheck.pipeline.clip import ClipEnd, ClipProgress, ClipTask
from framecheck.pipeline.desk import Desk, Job
from framecheck.pipeline.executor import Executor
from framecheck.pipeline.pool import Event, Lost, Part, SignOfLife
from framecheck.pipeline.shot import ShotOutcome, ShotTask
from framecheck.pipeline.staffing import choose_threads
from framecheck.pipeline.trouble import Trouble
from framecheck.records.clips import ShotTake

READS = 2
"""How often a clip is read when its reader is killed from outside."""


class ClipJobs:
    """Carries out the jobs that are clips.

    Attributes:
        in_hand: those whose reading has begun and not ended, by input.
    """

    def __init__(
        self, desk: Desk, workshop: Executor, close: Callable[[Job, Trouble | None], None]
    ) -> None:
        self.in_hand: dict[int, Job] = {}
        self._desk, self._workshop, self._close = desk, workshop, close
        self._threads = choose_threads(desk.order.limits, desk.order.clip_count)

    def start(self, job: Job) -> None:
        """Read the clip and measure its shots, but those that are entered already."""
        job.reads += 1
        task = ClipTask(
            file=job.item.file,
            path=job.item.path,
            files=job.item.files,
            signature=job.signature,
            rate=job.item.rate,
            done={**job.done, **job.in_flight},
            threads=self._threads,
        )
        self._workshop.read(task, partial(self._on_reading, job))

    def _on_reading(self, job: Job, event: Event) -> None:
        if isinstance(event, SignOfLife):
            self._note_progress(job, event.about)
        elif isinstance(event, Part):
            self._measure(job, event)
        else:
            self.in_hand.pop(job.index, None)
            self._end_reading(job, event.result)

    def _note_progress(self, job: Job, progress: ClipProgress) -> None:
        job.header = progress.header or job.header
        job.frames = progress.frames
        self.in_hand[job.index] = job

    def _measure(self, job: Job, part: Part) -> None:
        take: ShotTake = part.content
        if job.given_up or job.header is None:
            part.release()
            return
        job.in_flight[take.span.shot] = (take.span.start_frame, take.span.end_frame)
        task = ShotTask(file=job.item.file, header=job.header, take=take)
        self._workshop.measure_shot(
            task, partial(self._end_shot, job, take.span.shot, part.release)
        )

    def _end_shot(
        self, job: Job, shot: int, release: Callable[[], None], result: ShotOutcome | Lost
    ) -> None:
        release()
        job.in_flight.pop(shot, None)
        if isinstance(result, Lost):
            job.troubles[shot] = Trouble(why=result.why, where=f"shot {shot}")
        elif result.trouble is not None:
            job.troubles[shot] = result.trouble
        elif result.result is not None:
            job.troubles.pop(shot, None)  # of the first reading
            self._desk.attempt(job, partial(self._desk.enter_shot, job, result.result))
        self._close_when_done(job)

    def _end_reading(self, job: Job, result: ClipEnd | Lost) -> None:
        if isinstance(result, ClipEnd):
            job.end = result
        elif result.killed and job.reads < READS and not job.given_up:
            self.start(job)
            return
        else:
            job.end = _lost_end(job, result)
        self._close_when_done(job)

    def _close_when_done(self, job: Job) -> None:
        if job.end is not None and not job.in_flight and not job.given_up:
            self._close(job, None)


def _lost_end(job: Job, lost: Lost) -> ClipEnd:
    """The end of a clip whose reader was lost over it."""
    times = f", {job.reads} times" if job.reads > 1 else ""
    why = lost.why if lost.killed else f"no frame came: {lost.why}"
    return ClipEnd(
        header=job.header,
        frames=job.frames,
        shots=len(job.done),
        duration_s=Fraction(0),
        trouble=Trouble(why=why.replace("the worker", "the reader") + times, where=_place(job)),
    )


def _place(job: Job) -> str:
    return f"after frame {job.frames}" if job.frames else "opening"
