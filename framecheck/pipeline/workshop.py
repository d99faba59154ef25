"""The three kinds of processes of a run, and who waits for what they say.

One process tells contents, some read clips, some measure. All that they say comes back to the one
loop that asks for it.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import count
from pathlib import Path
from typing import Any, TypeAlias

from framecheck.pipeline.clip import ClipTask
from framecheck.pipeline.identify import Identity, open_identify
from framecheck.pipeline.measuring import MeasuringTask
from framecheck.pipeline.order import Order
from framecheck.pipeline.pool import Ended, Event, Lost, WorkerPool, wait_for
from framecheck.pipeline.shot import ShotOutcome, ShotTask
from framecheck.pipeline.still import StillOutcome, StillTask

WAITING_EACH = 4
"""Tasks that wait for each process; enough that none is ever idle."""

Hear: TypeAlias = Callable[[Event], None]


class Workshop:
    """Hands out tasks, and calls back with what comes of them."""

    def __init__(self, order: Order) -> None:
        self._limits = order.limits
        self._clerks: WorkerPool[tuple[Path, ...], Identity] = WorkerPool(
            open_identify, self._limits.for_identifying()
        )
        self._readers: WorkerPool[ClipTask, Any] = WorkerPool(
            order.reading, self._limits.for_reading()
        )
        self._measurers: WorkerPool[MeasuringTask, Any] = WorkerPool(
            order.measuring, self._limits.for_measuring()
        )
        self._keys = count()
        self._hear: dict[int, Hear] = {}

    @property
    def idle(self) -> bool:
        """True when nothing is in hand."""
        return not self._hear

    def has_room(self) -> bool:
        """True when there may soon be a process without work."""
        return (
            self._clerks.backlog < WAITING_EACH
            and self._readers.backlog < self._limits.readers
            and self._measurers.backlog < WAITING_EACH * self._limits.workers
        )

    def expect_clip(self) -> None:
        """A clip is likely to be read soon."""
        self._readers.prepare(1)

    def identify(self, files: tuple[Path, ...], then: Callable[[Identity | Lost], None]) -> None:
        """Tell the content of an input."""
        self._measurers.prepare(1)  # what nobody has seen before is measured next, as a rule
        limit_s = self._limits.for_identifying().task_s + len(files)
        self._clerks.submit(self._expect(_result_to(then)), files, limit_s=limit_s)

    def read(self, task: ClipTask, hear: Callable[[Event], None]) -> None:
        """Read a clip; `hear` gets its parts, its signs of life, and its end (`ClipEnd`)."""
        self._readers.submit(self._expect(hear), task)
        # One, and more when shots wait: as a rule one is done with a shot before the next is read,
        # and each takes 0.7 s of a core to load.
        self._measurers.prepare(1)

    def measure_still(self, task: StillTask, then: Callable[[StillOutcome | Lost], None]) -> None:
        """Measure a still."""
        self._measurers.submit(self._expect(_result_to(then)), task)

    def measure_shot(self, task: ShotTask, then: Callable[[ShotOutcome | Lost], None]) -> None:
        """Measure a shot."""
        self._measurers.submit(self._expect(_result_to(then)), task)

    def turn(self, most_s: float) -> None:
        """Wait for something to happen, and tell those who wait for it.

        Raises:
            ModelError: the networks would not load.
            WorkerError: the processes cannot be started.
        """
        pools = (self._clerks, self._readers, self._measurers)
        spoke = wait_for(pools, most_s)
        for pool in pools:
            for event in pool.attend(spoke):
                ended = isinstance(event, Ended)
                (self._hear.pop(event.key) if ended else self._hear[event.key])(event)

    def close(self) -> None:
        """End all processes, whatever they have in hand."""
        for pool in (self._clerks, self._readers, self._measurers):
            pool.close()
        self._hear.clear()

    def _expect(self, hear: Hear) -> int:
        key = next(self._keys)
        self._hear[key] = hear
        return key


def _result_to(then: Callable[[Any], None]) -> Hear:
    def hear(event: Event) -> None:
        if isinstance(event, Ended):
            then(event.result)

    return hear
