"""Worker processes that can be killed one by one: for files that hang, crash or eat memory.

The standard pools cannot end one worker without breaking the whole pool; this one keeps a pipe to
each worker, gives every task a wall-clock limit, and goes on with a fresh worker after a loss.
"""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Generator, Iterator, Sequence
from dataclasses import dataclass
from multiprocessing.connection import wait
from multiprocessing.process import BaseProcess
from pathlib import Path
from typing import Generic, TypeAlias, TypeVar

import psutil

from framecheck.errors import WorkerError
from framecheck.pipeline.worker import BROKEN, READY, serve

Task = TypeVar("Task")
Result = TypeVar("Result")

OpenWork: TypeAlias = Callable[[], Callable[[Task], Result]]
"""Called once in every worker: loads what is costly and returns the function for one task. It must
be picklable, and so must the tasks and the results."""

_MOST_LOST_STARTS = 3
_FAREWELL_S = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PoolLimits:
    """How far a pool may go.

    Attributes:
        workers: processes at once.
        task_s: wall clock for one task.
        start_s: wall clock for a worker's start, the models included.
        memory_bytes: a worker that holds more than this after a task is replaced.
        log: file for what the libraries in the workers say; None throws it away.
    """

    workers: int
    task_s: float = 60.0
    start_s: float = 180.0
    memory_bytes: int = 2 * 1024**3
    log: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lost:
    """Stands for the result of a task whose worker was lost over it."""

    why: str
    seconds: float


class WorkerPool(Generic[Task, Result]):
    """Runs tasks in worker processes, and survives the loss of any of them."""

    def __init__(self, open_work: OpenWork[Task, Result], limits: PoolLimits) -> None:
        self._open_work = open_work
        self._limits = limits
        self._workers: list[_Worker] = []
        self._lost_starts = 0

    def run(self, tasks: Sequence[Task]) -> Generator[tuple[int, Result | Lost], None, None]:
        """Yield (index of the task, result) as each one ends, in the order of ending.

        Raises:
            WorkerError: the workers cannot be started.
            FramecheckError: what `open_work` raised.
        """
        waiting = deque(range(len(tasks)))
        try:
            while waiting or any(worker.task is not None for worker in self._workers):
                self._keep_staffed(len(waiting))
                self._hand_out(tasks, waiting)
                for worker in self._woken():
                    yield from self._attend(worker)
        finally:
            self._dismiss()

    def _keep_staffed(self, waiting: int) -> None:
        busy = sum(worker.task is not None for worker in self._workers)
        while len(self._workers) < min(self._limits.workers, busy + waiting):
            self._workers.append(_Worker(self._open_work, self._limits))

    def _hand_out(self, tasks: Sequence[Task], waiting: deque[int]) -> None:
        for worker in self._workers:
            if waiting and worker.ready and worker.task is None:
                worker.hand(waiting.popleft(), tasks, self._limits.task_s)

    def _woken(self) -> list[_Worker]:
        """The workers that said something, died, or ran out of time."""
        deadline = min(worker.deadline for worker in self._workers)
        handles = [
            handle
            for worker in self._workers
            for handle in (worker.connection, worker.process.sentinel)
        ]
        spoke = wait(handles, timeout=_seconds_until(deadline))
        now = time.monotonic()
        return [
            worker
            for worker in self._workers
            if worker.connection in spoke or not worker.process.is_alive() or now >= worker.deadline
        ]

    def _attend(self, worker: _Worker) -> Iterator[tuple[int, Result | Lost]]:
        message = worker.receive()
        if message is None:
            yield from self._bury(worker)
            return
        kind, content = message
        if kind == BROKEN:
            raise content  # type: ignore[misc]  # the worker sends an exception under this name
        if kind == READY:
            worker.ready, worker.deadline = True, float("inf")
            self._lost_starts = 0
            return
        yield worker.finish(), content  # type: ignore[misc]  # what open_work's function returned
        if worker.memory_bytes() > self._limits.memory_bytes:
            self._workers.remove(worker)
            worker.dismiss()

    def _bury(self, worker: _Worker) -> Iterator[tuple[int, Lost]]:
        """Remove a worker that died or must be killed, and report the task that it had."""
        late = worker.process.is_alive() and time.monotonic() >= worker.deadline
        worker.kill()
        self._workers.remove(worker)
        if worker.task is not None:
            why = (
                f"took longer than {self._limits.task_s:g} s"
                if late
                else f"the worker {_end_in_words(worker.process.exitcode)}"
            )
            seconds = time.monotonic() - worker.started
            yield worker.finish(), Lost(why=why, seconds=seconds)
            return
        if worker.ready:
            return
        self._lost_starts += 1
        if self._lost_starts >= _MOST_LOST_STARTS:
            how = "hung" if late else _end_in_words(worker.process.exitcode)
            raise WorkerError(
                f"workers cannot be started: the last one {how}; "
                "run again with --log FILE to see why"
            )

    def _dismiss(self) -> None:
        for worker in self._workers:
            worker.kill()
        self._workers.clear()


class _Worker:
    """One process, its pipe, and the task that it has in hand."""

    def __init__(self, open_work: Callable[[], object], limits: PoolLimits) -> None:
        context = multiprocessing.get_context("spawn")
        self.connection, theirs = context.Pipe()
        self.process: BaseProcess = context.Process(
            target=serve, args=(theirs, open_work, limits.log), daemon=True
        )
        with _interrupts_ignored():
            self.process.start()
        theirs.close()
        self.ready = False
        self.task: int | None = None
        self.started = time.monotonic()
        self.deadline = self.started + limits.start_s

    def hand(self, index: int, tasks: Sequence[object], limit_s: float) -> None:
        self.task = index
        self.started = time.monotonic()
        self.deadline = self.started + limit_s
        with contextlib.suppress(OSError):  # a worker that has just died is found by its sentinel
            self.connection.send(tasks[index])

    def receive(self) -> tuple[str, object] | None:
        """The message that has come in; None when there is none and none will come in time."""
        try:
            if not self.connection.poll():
                return None
            kind, content = self.connection.recv()
        except (EOFError, OSError):
            return None
        return kind, content

    def finish(self) -> int:
        if self.task is None:
            raise ValueError("a worker without a task finished one")
        index, self.task, self.deadline = self.task, None, float("inf")
        return index

    def memory_bytes(self) -> int:
        try:
            return int(psutil.Process(self.process.pid).memory_info().rss)
        except psutil.Error:
            return 0

    def dismiss(self) -> None:
        """Let an idle worker go, without waiting long for it."""
        with contextlib.suppress(OSError):
            self.connection.send(None)
        self.process.join(_FAREWELL_S)
        self.kill()

    def kill(self) -> None:
        self.process.kill()
        self.process.join(_FAREWELL_S)
        self.connection.close()


@contextlib.contextmanager
def _interrupts_ignored() -> Iterator[None]:
    """Start children deaf to Ctrl-C, which the terminal sends to all: only the parent answers."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _seconds_until(deadline: float) -> float | None:
    return None if deadline == float("inf") else max(0.0, deadline - time.monotonic())


def _end_in_words(exit_code: int | None) -> str:
    if exit_code is None:
        return "stopped answering"
    if exit_code >= 0:
        return f"ended with exit code {exit_code}"
    name = signal.Signals(-exit_code).name if -exit_code in set(signal.Signals) else ""
    memory = ", perhaps for want of memory" if name == "SIGKILL" else ""
    return f"was ended by signal {-exit_code} {name}".rstrip() + memory
