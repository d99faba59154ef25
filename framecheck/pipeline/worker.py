"""The inside of a worker process: load once, then one task after the other until told to stop."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from framecheck.errors import FramecheckError, WorkerError
from framecheck.pipeline.noise import divert_noise

READY = "ready"
DONE = "done"
BROKEN = "broken"


def serve(connection: Connection, open_work: Callable[[], Any], log: Path | None) -> None:
    """Answer tasks until None comes or the parent is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _end_with_parent()
    divert_noise(log)
    try:
        work = open_work()
    except FramecheckError as error:
        connection.send((BROKEN, error))
        return
    except Exception as error:  # whatever a library raises while it loads
        trouble = WorkerError(f"a worker cannot start: {type(error).__name__}: {error}")
        connection.send((BROKEN, trouble))
        return
    with contextlib.suppress(EOFError, OSError):  # the parent has gone
        connection.send((READY, None))
        while (task := connection.recv()) is not None:
            connection.send((DONE, work(task)))


def _end_with_parent() -> None:
    """Leave no orphan behind when the parent is killed while a task hangs."""
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def watch() -> None:
        parent.join()
        os._exit(1)

    threading.Thread(target=watch, daemon=True).start()
