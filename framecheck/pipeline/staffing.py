"""How many workers a machine can feed."""

from __future__ import annotations

import os
from pathlib import Path

import psutil

from framecheck.pipeline.order import RunLimits

# A worker with its networks loaded holds about 450 MB; a 4K picture, its masks and its annotated
# copy take the rest.
WORKER_BUDGET_BYTES = 900 * 1024**2
MOST_THREADS = 4
"""Of one decoder; more gain little, as frames depend on each other."""


def choose_workers(wanted: int | None) -> int:
    """The wanted number, else one a core, fewer when memory is short; one at least."""
    number = wanted if wanted is not None else min(_cores(), _fed_by_memory())
    return max(1, number)


def choose_limits(
    workers: int | None, *, task_s: float = 60.0, log: Path | None = None
) -> RunLimits:
    """The processes of a run, and their threads.

    Decoding and measuring take about as long as each other, so half as many readers as measuring
    workers, each with two threads, keep all cores busy without holding many pictures ready.
    """
    workers = choose_workers(workers)
    readers = max(1, workers // 2)
    threads = max(1, min(MOST_THREADS, _cores() // readers))
    return RunLimits(workers=workers, readers=readers, threads=threads, task_s=task_s, log=log)


def choose_threads(limits: RunLimits, clips: int) -> int:
    """Threads of each decoder: where there are fewer clips than readers, those share them all."""
    busy = max(1, min(limits.readers, clips))
    return max(limits.threads, min(MOST_THREADS, limits.threads * limits.readers // busy))


def _cores() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _fed_by_memory() -> int:
    return int(psutil.virtual_memory().available // WORKER_BUDGET_BYTES)
