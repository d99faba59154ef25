"""Many stills through the worker pool, one outcome each, whatever happens to the workers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import closing

from framecheck.pipeline.pool import Lost, PoolLimits, WorkerPool
from framecheck.pipeline.still import FileOutcome, OpenStillWork, StillTask
from framecheck.records.judged import FileReport, FileStatus


def measure_stills(
    tasks: Sequence[StillTask], work: OpenStillWork, limits: PoolLimits
) -> Iterator[tuple[int, FileOutcome]]:
    """Yield (index of the task, outcome) as each one ends, in the order of ending.

    Raises:
        ModelError: the networks would not load.
        WorkerError: the workers cannot be started.
    """
    pool: WorkerPool[StillTask, FileOutcome] = WorkerPool(work, limits)
    with closing(pool.run(tasks)) as outcomes:
        for index, outcome in outcomes:
            if isinstance(outcome, Lost):
                yield index, _lost(tasks[index], outcome)
            else:
                yield index, outcome


def _lost(task: StillTask, lost: Lost) -> FileOutcome:
    report = FileReport(
        file=task.file,
        status=FileStatus.FAILED,
        why=lost.why,
        where="worker",
        seconds=round(lost.seconds, 3),
    )
    return FileOutcome(report=report)
