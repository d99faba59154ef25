"""Files that are either whole or not there."""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from pathlib import Path

from framecheck.errors import ExportError

_FULL = (errno.ENOSPC, errno.EDQUOT)
_TEMPORARY_PREFIX = ".framecheck-"


def write_atomically(path: Path, content: bytes) -> Path:
    """Write to a temporary file beside the target, flush it to the disk, and rename it.

    Raises:
        ExportError: the folder cannot be written to, or the disk is full; what stood at `path`
            before is then still there, untouched.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        _write_and_rename(path, content)
    except OSError as error:
        reason = error.strerror or str(error)
        remedy = "free some space or " if error.errno in _FULL else ""
        raise ExportError(
            f"cannot write {path}: {reason}; {remedy}name another --out", where=str(path)
        ) from error
    return path


def _write_and_rename(path: Path, content: bytes) -> None:
    descriptor, temporary = tempfile.mkstemp(prefix=_TEMPORARY_PREFIX, dir=path.parent)
    try:
        with os.fdopen(descriptor, "wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).chmod(_usual_mode())
        Path(temporary).replace(path)
    except BaseException:
        with contextlib.suppress(OSError):
            Path(temporary).unlink()
        raise
    _flush_folder(path.parent)


def _usual_mode() -> int:
    # mkstemp makes files that only their owner can read; give them what open() would have given.
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask


def _flush_folder(folder: Path) -> None:
    # The rename itself lives in the folder; only POSIX systems can flush one.
    if os.name != "posix":
        return
    with contextlib.suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
