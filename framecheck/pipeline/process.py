"""One worker process as its parent sees it: the pipe to it, and when it must speak again."""

from __future__ import annotations

import contextlib
import multiprocessing
import signal
import threading
import time
from collections.abc import Callable, Iterator
from multiprocessing.process import BaseProcess
from typing import Any, Literal

import psutil

from framecheck.pipeline.wire import receive, send
from framecheck.pipeline.worker import MORE, STOP, TASK, WorkerLimits, serve

START_METHOD: Literal["spawn"] = "spawn"
"""A fresh interpreter: forked ones inherit the open catalog, and the libraries' threads only half.
The tests fork nevertheless, where starting hundreds of processes would take most of their time."""

_FAREWELL_S = 2.0


class Process:
    """A worker that was started.

    Attributes:
        connection: the pipe.
        ready: True when it has loaded what it needs.
        started: when its present task, or it itself, began; on the monotonic clock.
        deadline: when it must have said something.
        parts_out: parts of results that were not yet dealt with.
    """

    def __init__(
        self, open_work: Callable[[], object], limits: WorkerLimits, start_s: float
    ) -> None:
        context = multiprocessing.get_context(START_METHOD)
        self.connection, theirs = context.Pipe()
        self._process: BaseProcess = context.Process(
            target=serve, args=(theirs, open_work, limits), daemon=True
        )
        with _interrupts_ignored():
            self._process.start()
        theirs.close()
        self.ready = False
        self.parts_out = 0
        self.started = time.monotonic()
        self.deadline = self.started + start_s

    @property
    def handles(self) -> tuple[Any, int]:
        """What becomes readable when it speaks or dies."""
        return self.connection, self._process.sentinel

    @property
    def exit_code(self) -> int | None:
        """As `multiprocessing` tells it."""
        return self._process.exitcode

    def is_dead(self) -> bool:
        """True when it has ended."""
        return not self._process.is_alive()

    def set_deadline(self, limit_s: float | None) -> None:
        """It must speak within that time; None for whenever it likes."""
        self.deadline = float("inf") if limit_s is None else time.monotonic() + limit_s

    def hand(self, task: object, limit_s: float) -> None:
        """Give it a task."""
        self.started = time.monotonic()
        self.set_deadline(limit_s)
        self._tell(TASK, task)

    def grant_more(self) -> None:
        """Let it send one part more."""
        self._tell(MORE, None)

    def receive(self) -> tuple[str, Any] | None:
        """The message that has come in; None when there is none and none will come in time."""
        try:
            return receive(self.connection) if self.connection.poll() else None
        except (EOFError, OSError):
            return None

    def memory_bytes(self) -> int:
        """What it holds in memory, 0 when that cannot be told."""
        try:
            return int(psutil.Process(self._process.pid).memory_info().rss)
        except psutil.Error:
            return 0

    def dismiss(self) -> None:
        """Let it go when it is idle, without waiting long for it."""
        self._tell(STOP, None)
        self._process.join(_FAREWELL_S)
        self.kill()

    def kill(self) -> None:
        """End it, whatever it does. Safe to call twice."""
        self._process.kill()
        self._process.join(_FAREWELL_S)
        self.connection.close()

    def _tell(self, kind: str, content: object) -> None:
        with contextlib.suppress(OSError):  # one that has just died is found by its sentinel
            send(self.connection, (kind, content))


def end_in_words(exit_code: int | None) -> str:
    """How a process ended, to follow "the worker"."""
    if exit_code is None:
        return "stopped answering"
    if exit_code >= 0:
        return f"ended with exit code {exit_code}"
    name = signal.Signals(-exit_code).name if -exit_code in set(signal.Signals) else ""
    memory = ", perhaps for want of memory" if name == "SIGKILL" else ""
    return f"was ended by signal {-exit_code} {name}".rstrip() + memory


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
