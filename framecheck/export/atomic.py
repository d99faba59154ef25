"""Files that are either whole or not there."""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import IO

from framecheck.errors import ExportError

_FULL = (errno.ENOSPC, errno.EDQUOT)
_TEMPORARY_PREFIX = ".framecheck-"


def write_atomically(path: Path, content: bytes) -> Path:
    """Write to a temporary file beside the target, flush it to the disk, and rename it.

    Raises:
        ExportError: the folder cannot be written to, or the disk is full; what stood at `path`
            before is then still there, untouched.
    """
    with open_atomically([path]) as files:
        files[path].write(content)
    return path


@contextlib.contextmanager
def open_atomically(paths: Sequence[Path]) -> Iterator[Mapping[Path, IO[bytes]]]:
    """Files for writing that appear under their names together, when the block ends well.

    Raises:
        ExportError: one of them cannot be written; then none is, and what stood there before is
            still there, untouched.
    """
    with contextlib.ExitStack() as stack:
        drafts = [stack.enter_context(_Draft(path)) for path in paths]
        with _translated(paths[0] if len(paths) == 1 else paths[0].parent):
            yield {draft.path: draft.file for draft in drafts}
        for draft in drafts:
            draft.finish()
        for draft in drafts:
            draft.publish()


class _Draft:
    """A temporary file beside its target; gone when it was not published."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def __enter__(self) -> _Draft:
        with _translated(self.path):
            self.path.parent.mkdir(parents=True, exist_ok=True)
            descriptor, name = tempfile.mkstemp(prefix=_TEMPORARY_PREFIX, dir=self.path.parent)
            self._temporary = Path(name)
            try:
                self.file: IO[bytes] = os.fdopen(descriptor, "wb")
            except BaseException:
                os.close(descriptor)
                self._temporary.unlink()
                raise
        return self

    def __exit__(self, *_: object) -> None:
        with contextlib.suppress(OSError):
            self.file.close()
        with contextlib.suppress(OSError):
            self._temporary.unlink()

    def finish(self) -> None:
        """Bring what was written to the disk."""
        with _translated(self.path):
            self.file.flush()
            os.fsync(self.file.fileno())
            self.file.close()
            self._temporary.chmod(_usual_mode())

    def publish(self) -> None:
        """Put it in the place of what stood there."""
        with _translated(self.path):
            self._temporary.replace(self.path)
            _flush_folder(self.path.parent)


@contextlib.contextmanager
def _translated(path: Path) -> Iterator[None]:
    """The system's errors in plain words."""
    try:
        yield
    except OSError as error:
        reason = error.strerror or str(error)
        remedy = "free some space or " if error.errno in _FULL else ""
        raise ExportError(
            f"cannot write {path}: {reason}; {remedy}name another --out", where=str(path)
        ) from error


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
