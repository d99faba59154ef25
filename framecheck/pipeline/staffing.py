"""How many workers a machine can feed."""

from __future__ import annotations

import os

import psutil

# A worker with its networks loaded holds about 450 MB; a 4K picture, its masks and its annotated
# copy take the rest.
WORKER_BUDGET_BYTES = 900 * 1024**2


def choose_workers(wanted: int | None) -> int:
    """The wanted number, else one a core, fewer when memory is short; one at least."""
    number = wanted if wanted is not None else min(_cores(), _fed_by_memory())
    return max(1, number)


def _cores() -> int:
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _fed_by_memory() -> int:
    return int(psutil.virtual_memory().available // WORKER_BUDGET_BYTES)
