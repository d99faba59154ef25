"""The inside of a worker process: load once, then one task after the other until told to stop."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

from framecheck.errors import FramecheckError, WorkerError

READY = "ready"
DONE = "done"
BROKEN = "broken"

_QUIET_VARIABLES = {"GLOG_minloglevel": "3", "TF_CPP_MIN_LOG_LEVEL": "3"}


def serve(connection: Connection, open_work: Callable[[], Any], log: Path | None) -> None:
    """Answer tasks until None comes or the parent is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _end_with_parent()
    _divert_noise(log)
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


def _divert_noise(log: Path | None) -> None:
    """Send what native libraries write to stderr to the log, or nowhere.

    Their own settings leave several lines through, written before the settings are read; the
    descriptor itself is the only place that catches all.
    """
    for name, value in _QUIET_VARIABLES.items():
        if log is None:
            os.environ.setdefault(name, value)
    target = os.open(
        os.devnull if log is None else log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o666
    )
    sys.stderr.flush()
    os.dup2(target, 2)
    os.dup2(target, 1)  # a stray print must not end up in the summary
    os.close(target)
