"""Keeps what native libraries write to stderr away from the user.

Their own settings leave several lines through, written before the settings are read; the
descriptor itself is the only place that catches all.
"""

from __future__ import annotations

import atexit
import contextlib
import os
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

_QUIET_VARIABLES = {"GLOG_minloglevel": "3", "TF_CPP_MIN_LOG_LEVEL": "3"}
_STDOUT, _STDERR = 1, 2


def divert_noise(log: Path | None) -> None:
    """Send all that this process writes to the log from now on, or nowhere."""
    if log is None:
        ask_for_quiet()
    target = os.open(
        os.devnull if log is None else log, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o666
    )
    sys.stderr.flush()
    os.dup2(target, _STDERR)
    os.dup2(target, _STDOUT)  # a stray print must not end up in the summary
    os.close(target)


def ask_for_quiet() -> None:
    """Set the variables that the libraries read, unless the user has set them."""
    for name, value in _QUIET_VARIABLES.items():
        os.environ.setdefault(name, value)


def hush_the_end() -> None:
    """Nothing of what native libraries say while this process ends is seen.

    The networks are closed while threads can still be started, which is before what `atexit` calls.
    """
    getattr(threading, "_register_atexit", atexit.register)(_divert_stderr)


def _divert_stderr() -> None:
    with contextlib.suppress(OSError):
        sys.stderr.flush()
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, _STDERR)
        os.close(nowhere)


@contextlib.contextmanager
def hushed() -> Iterator[None]:
    """Nothing of what this process writes to stderr is seen for a while, whatever thread it is."""
    ask_for_quiet()
    try:
        kept = os.dup(_STDERR)
    except OSError:  # a program without a console has none
        yield
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, _STDERR)
        yield
    finally:
        os.dup2(kept, _STDERR)
        os.close(kept)
        os.close(nowhere)
