"""Stills from the measuring workers to the desk, and annotated copies."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from framecheck.pipeline.desk import Desk, Job
from framecheck.pipeline.executor import Executor
from framecheck.pipeline.order import Order
from framecheck.pipeline.pool import Lost
from framecheck.pipeline.signature import Signature
from framecheck.pipeline.still import StillOutcome, StillTask
from framecheck.pipeline.trouble import Trouble

_STAGE = "worker"


class StillJobs:
    """Carries out the jobs that are stills."""

    def __init__(
        self,
        desk: Desk,
        workshop: Executor,
        close: Callable[[Job, Trouble | None], None],
        tell_end: Callable[[int], None],
    ) -> None:
        self._desk, self._workshop = desk, workshop
        self._close, self._tell_end = close, tell_end

    def start(self, job: Job) -> None:
        """Measure the still, and draw its annotated copy when one is wanted."""
        if job.done:  # entered, but the run was killed before it could say that this is all
            self._close(job, None)
            return
        task = self._task(job.index, job.signature)
        self._workshop.measure_still(task, partial(self._end, job))

    def draw(self, index: int) -> None:
        """Draw the annotated copy of a still that is measured already."""
        self._workshop.measure_still(self._task(index, None), partial(self._end_drawing, index))

    def _task(self, index: int, signature: Signature | None) -> StillTask:
        order: Order = self._desk.order
        item, overlay = order.inputs[index], self._desk.overlay_of(index)
        return StillTask(
            file=item.file,
            path=item.path,
            overlay=order.out / overlay if overlay else None,
            signature=signature,
        )

    def _end(self, job: Job, outcome: StillOutcome | Lost) -> None:
        if isinstance(outcome, Lost):
            self._close(job, Trouble(why=outcome.why, where=_STAGE))
        elif outcome.result is None:
            self._close(job, outcome.trouble)
        else:
            self._desk.attempt(job, partial(self._desk.enter_still, job, outcome.result))
            job.drawn, job.drawing_trouble = True, outcome.trouble
            self._close(job, None)

    def _end_drawing(self, index: int, outcome: StillOutcome | Lost) -> None:
        if isinstance(outcome, Lost):
            trouble: Trouble | None = Trouble(why=outcome.why, where=_STAGE)
        else:
            trouble = outcome.trouble
        self._desk.note_drawing(index, trouble)
        self._tell_end(index)
