"""The inside of a worker process: load once, then one task after the other until told to stop.

A task may have one result, or many: then the work is a generator, each thing that it yields is
sent as a part, and what it returns is the result. A worker keeps no more than `window` parts ahead
of what the parent has dealt with; signs of life do not count.
"""

from __future__ import annotations

import contextlib
import gc
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Generator
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from framecheck.errors import FramecheckError, WorkerError
from framecheck.pipeline.noise import divert_noise
from framecheck.pipeline.wire import receive, send

READY = "ready"
DONE = "done"
PART = "part"
BEAT = "beat"
BROKEN = "broken"

TASK = "task"
MORE = "more"
STOP = "stop"


@dataclass(frozen=True, slots=True, kw_only=True)
class Beat:
    """A sign of life of a work in parts.

    Attributes:
        about: what the parent may want to know.
    """

    about: Any = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WorkerLimits:
    """What holds inside the process.

    Attributes:
        window: parts ahead of the parent.
        log: file for what the libraries say; None throws it away.
        data_bytes: memory for data; None for no limit. Asking for more fails inside the process.
    """

    window: int = 1
    log: Path | None = None
    data_bytes: int | None = None


def serve(connection: Connection, open_work: Callable[[], Any], limits: WorkerLimits) -> None:
    """Answer tasks until told to stop or the parent is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _end_with_parent()
    divert_noise(limits.log)
    _limit_memory(limits.data_bytes)
    try:
        work = open_work()
    except FramecheckError as error:
        send(connection, (BROKEN, error))
        return
    except Exception as error:  # whatever a library raises while it loads
        trouble = WorkerError(f"a worker cannot start: {type(error).__name__}: {error}")
        send(connection, (BROKEN, trouble))
        return
    gc.freeze()  # what was loaded is never garbage, and looking for some in it takes 1 % of a run
    with contextlib.suppress(EOFError, OSError):  # the parent has gone
        send(connection, (READY, None))
        _Service(connection, limits.window).run(work)


class _Service:
    """The talk with the parent."""

    def __init__(self, connection: Connection, window: int) -> None:
        self._connection = connection
        self._left = window

    def run(self, work: Callable[[Any], Any]) -> None:
        while (task := self._next_task()) is not None:
            result = work(*task)
            if isinstance(result, Generator):
                result = self._send_parts(result)
            send(self._connection, (DONE, result))

    def _next_task(self) -> tuple[Any] | None:
        while True:
            kind, content = receive(self._connection)
            if kind != MORE:
                return (content,) if kind == TASK else None
            self._left += 1

    def _send_parts(self, parts: Generator[Any, None, Any]) -> Any:  # noqa: ANN401
        while True:
            try:
                part = next(parts)
            except StopIteration as end:
                return end.value
            if isinstance(part, Beat):
                send(self._connection, (BEAT, part.about))
                continue
            while self._left == 0:  # nothing but this can come while a task is in hand
                receive(self._connection)
                self._left += 1
            send(self._connection, (PART, part))
            self._left -= 1


def _end_with_parent() -> None:
    """Leave no orphan behind when the parent is killed while a task hangs."""
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()


def _limit_memory(data_bytes: int | None) -> None:
    """A file that asks for one huge piece of memory shall not take the machine down."""
    if data_bytes is None or os.name != "posix":
        return
    import resource

    with contextlib.suppress(ValueError, OSError):  # a lower limit is set already
        resource.setrlimit(resource.RLIMIT_DATA, (data_bytes, data_bytes))
