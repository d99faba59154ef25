"""Worker processes that can be killed one by one: for files that hang, crash or eat memory.

The standard pools cannot end one worker without breaking the whole pool; this one keeps a pipe to
each worker, gives every task a wall-clock limit, and goes on with a fresh worker after a loss.
Tasks may be added while it runs, and several pools may be waited for at once.
"""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Collection, Generator, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing.connection import wait
from pathlib import Path
from typing import Any, Generic, TypeAlias, TypeVar

from framecheck.errors import WorkerError
from framecheck.pipeline.process import Process, end_in_words
from framecheck.pipeline.worker import BEAT, BROKEN, PART, READY, WorkerLimits

Task = TypeVar("Task")
Result = TypeVar("Result")

OpenWork: TypeAlias = Callable[[], Callable[[Task], Result]]
"""Called once in every worker: loads what is costly and returns the function for one task. It must
be picklable, and so must the tasks and the results."""

_MOST_LOST_STARTS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class PoolLimits:
    """How far a pool may go.

    Attributes:
        workers: processes at once.
        task_s: wall clock for one task; for a work in parts, from one sign of life to the next.
        start_s: wall clock for a worker's start, the models included.
        memory_bytes: a worker that holds more than this after a task is replaced.
        hard_memory_bytes: a task that takes more than this is given up; None for no limit.
        retries: how often a task is given to another worker after its own was killed or crashed.
        window: parts that a work in parts may be ahead of what was dealt with.
        log: file for what the libraries in the workers say; None throws it away.
    """

    workers: int
    task_s: float = 60.0
    start_s: float = 180.0
    memory_bytes: int = 2 * 1024**3
    hard_memory_bytes: int | None = None
    retries: int = 1
    window: int = 1
    log: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """Stands for the result of a task whose worker was lost over it.

    Attributes:
        why: in plain words. seconds: how long the task had taken.
        killed: True when the process died or was killed from outside, False when it was ended for
            what the task did.
    """

    why: str
    seconds: float
    killed: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Ended(Generic[Result]):
    """A task came to its end: with a result, or lost with its worker."""

    key: int
    result: Result | Lost


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of a task's result. `release` must be called when it has been dealt with."""

    key: int
    content: Any
    release: Callable[[], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class SignOfLife:
    """What a work in parts says between its parts."""

    key: int
    about: Any


Event: TypeAlias = Ended[Any] | Part | SignOfLife


@dataclass(slots=True, kw_only=True)
class _Job:
    key: int
    task: Any
    limit_s: float
    losses: int = 0


class WorkerPool(Generic[Task, Result]):
    """Runs tasks in worker processes, and survives the loss of any of them."""

    def __init__(self, open_work: OpenWork[Task, Result], limits: PoolLimits) -> None:
        self._open_work = open_work
        self._limits = limits
        self._workers: list[Process] = []
        self._jobs: dict[Process, _Job] = {}
        self._waiting: deque[_Job] = deque()
        self._lost_starts = 0
        self._prepared = 0

    @property
    def backlog(self) -> int:
        """Tasks that wait for a worker."""
        return len(self._waiting)

    @property
    def idle(self) -> bool:
        """True when nothing waits and nothing is in hand."""
        return not self._waiting and not self._jobs

    def submit(self, key: int, task: Task, *, limit_s: float | None = None) -> None:
        """Add a task; `key` comes back with its result.

        Args:
            key: any number, each used once.
            task: what the worker's function gets.
            limit_s: its own wall-clock limit.
        """
        limit_s = self._limits.task_s if limit_s is None else limit_s
        self._waiting.append(_Job(key=key, task=task, limit_s=limit_s))

    def prepare(self, count: int | None = None) -> None:
        """Start workers, as there will soon be tasks: loading what they need takes a while.

        Args:
            count: how many at least; None for all.
        """
        count = self._limits.workers if count is None else count
        self._prepared = max(self._prepared, min(self._limits.workers, count))

    def run(self, tasks: Sequence[Task]) -> Generator[tuple[int, Result | Lost], None, None]:
        """Yield (index of the task, result) as each one ends, in the order of ending.

        Raises:
            WorkerError: the workers cannot be started.
            FramecheckError: what `open_work` raised.
        """
        for index, task in enumerate(tasks):
            self.submit(index, task)
        try:
            while not self.idle:
                for event in self.attend(wait_for([self])):
                    if isinstance(event, Ended):
                        yield event.key, event.result
        finally:
            self.close()

    def staff(self) -> None:
        """Start workers and hand out tasks, as far as there are any.

        Raises:
            WorkerError: no process can be started.
        """
        needed = min(self._limits.workers, len(self._jobs) + len(self._waiting))
        wanted = max(needed, self._prepared)
        while len(self._workers) < wanted:
            self._workers.append(self._start())
        for worker in self._workers:
            if self._waiting and worker.ready and worker not in self._jobs:
                job = self._jobs[worker] = self._waiting.popleft()
                worker.hand(job.task, job.limit_s)

    def handles(self) -> list[Any]:
        """What to wait for, see `wait_for`."""
        return [handle for worker in self._workers for handle in worker.handles]

    @property
    def deadline(self) -> float:
        """When the next worker must have said something, on the monotonic clock."""
        return min((worker.deadline for worker in self._workers), default=float("inf"))

    def attend(self, spoke: Collection[Any]) -> Iterator[Event]:
        """What the workers have said, those that died or ran out of time included.

        Args:
            spoke: the handles that have something to say.

        Raises:
            WorkerError: the workers cannot be started.
            FramecheckError: what `open_work` raised.
        """
        now = time.monotonic()
        for worker in [*self._workers]:
            if worker.connection in spoke or worker.is_dead() or now >= worker.deadline:
                yield from self._attend(worker)

    def close(self) -> None:
        """End all workers, whatever they have in hand."""
        for worker in self._workers:
            worker.kill()
        self._workers.clear()
        self._jobs.clear()
        self._waiting.clear()

    def _start(self) -> Process:
        limits = WorkerLimits(
            window=self._limits.window,
            log=self._limits.log,
            data_bytes=self._limits.hard_memory_bytes,
        )
        return Process(self._open_work, limits, self._limits.start_s)

    def _attend(self, worker: Process) -> Iterator[Event]:
        message = worker.receive()
        if message is None:
            yield from self._bury(worker)
            return
        kind, content = message
        if kind == BROKEN:
            raise content
        if kind == READY:
            worker.ready, worker.deadline = True, float("inf")
            self._lost_starts = 0
            return
        job = self._jobs[worker]
        if kind in {PART, BEAT}:
            yield from self._pass_on(worker, job, kind, content)
            return
        del self._jobs[worker]
        worker.deadline = float("inf")
        yield Ended(key=job.key, result=content)
        if worker.memory_bytes() > self._limits.memory_bytes:
            self._workers.remove(worker)
            worker.dismiss()

    def _pass_on(self, worker: Process, job: _Job, kind: str, content: object) -> Iterator[Event]:
        hard = self._limits.hard_memory_bytes
        if hard is not None and worker.memory_bytes() > hard:
            why = f"needed more than {hard / 1024**3:g} GB of memory"
            yield from self._lose(worker, why, retry=False)
            return
        worker.parts_out += kind == PART
        # With all its parts out it waits for us, and cannot be late.
        worker.set_deadline(job.limit_s if worker.parts_out < self._limits.window else None)
        if kind == BEAT:
            yield SignOfLife(key=job.key, about=content)
            return
        yield Part(key=job.key, content=content, release=lambda: self._release(worker))

    def _release(self, worker: Process) -> None:
        worker.parts_out -= 1
        worker.grant_more()
        job = self._jobs.get(worker)
        if job is not None:
            worker.set_deadline(job.limit_s)

    def _bury(self, worker: Process) -> Iterator[Event]:
        """Remove a worker that died or must be killed, and see to the task that it had."""
        late = not worker.is_dead() and time.monotonic() >= worker.deadline
        worker.kill()
        job = self._jobs.get(worker)
        if job is not None:
            how = f"the worker {end_in_words(worker.exit_code)}"
            why = f"took longer than {job.limit_s:g} s" if late else how
            yield from self._lose(worker, why, retry=not late)
            return
        self._workers.remove(worker)
        if worker.ready:
            return
        self._lost_starts += 1
        if self._lost_starts >= _MOST_LOST_STARTS:
            how = "hung" if late else end_in_words(worker.exit_code)
            raise WorkerError(
                f"workers cannot be started: the last one {how}; "
                "run again with --log FILE to see why"
            )

    def _lose(self, worker: Process, why: str, *, retry: bool) -> Iterator[Event]:
        worker.kill()
        self._workers.remove(worker)
        job = self._jobs.pop(worker)
        job.losses += 1
        if retry and job.losses <= self._limits.retries:
            self._waiting.appendleft(job)
            return
        if job.losses > 1:
            why += f", {job.losses} times"
        seconds = time.monotonic() - worker.started
        yield Ended(key=job.key, result=Lost(why=why, seconds=seconds, killed=retry))


def wait_for(pools: Sequence[WorkerPool[Any, Any]], most_s: float | None = None) -> set[Any]:
    """Staff the pools, wait until something happens in one of them, and say where.

    Args:
        pools: all that may have something in hand.
        most_s: how long to wait at most; None for as long as it takes.

    Raises:
        WorkerError: no process can be started.
    """
    for pool in pools:
        pool.staff()
    handles = [handle for pool in pools for handle in pool.handles()]
    left_s = min(pool.deadline for pool in pools) - time.monotonic()
    timeout_s = min(left_s, float("inf") if most_s is None else most_s)
    return set(wait(handles, None if timeout_s == float("inf") else max(0.0, timeout_s)))
