"""Reads a file into memory without ever waiting, writing, or taking more than allowed."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from framecheck.errors import CannotOpen, OverLimit
from framecheck.media.address import RemotePath
from framecheck.media.names import shown_name


def read_bytes(path: Path, max_file_bytes: int) -> bytes:
    """The whole file.

    Args:
        path: where it is.
        max_file_bytes: more than this is refused unread.

    Raises:
        CannotOpen: not there, not readable, not a regular file, or empty.
        OverLimit: larger than allowed.
    """
    name = shown_name(path)
    if isinstance(path, RemotePath):
        return _read_remote(path, name, max_file_bytes)
    descriptor = open_regular(path, name, "a picture")
    try:
        size_bytes = os.fstat(descriptor).st_size
        if size_bytes > max_file_bytes:
            raise _too_large(name, size_bytes, max_file_bytes)
        with os.fdopen(descriptor, "rb", closefd=False) as source:
            data = source.read(max_file_bytes + 1)
    except OSError as error:
        raise _cannot_open(name, path, error) from error
    finally:
        os.close(descriptor)
    if not data:
        raise CannotOpen(f"{name} is empty (0 bytes); copy it again", where=name)
    if len(data) > max_file_bytes:  # it grew while it was read
        raise _too_large(name, len(data), max_file_bytes)
    return data


def _read_remote(path: RemotePath, name: str, max_file_bytes: int) -> bytes:
    from framecheck.media.remote import read_remote

    try:
        data = read_remote(path, max_file_bytes)
    except OSError as error:
        raise CannotOpen(f"{name} cannot be read: {error}", where=name) from error
    if not data:
        raise CannotOpen(f"{name} is empty (0 bytes); copy it again", where=name)
    if len(data) > max_file_bytes:
        raise _too_large(name, len(data), max_file_bytes)
    return data


def open_regular(path: Path, name: str, wanted: str) -> int:
    """A descriptor of the file, for reading; the caller closes it.

    Args:
        path: where it is.
        name: for messages.
        wanted: what the user should name instead, "a picture".

    Raises:
        CannotOpen: not there, not readable, or not a regular file.
    """
    try:
        # without O_NONBLOCK, opening a pipe that nobody writes to would wait forever
        descriptor = os.open(path, os.O_RDONLY | _flag("O_NONBLOCK") | _flag("O_BINARY"))
    except (OSError, ValueError) as error:
        raise _cannot_open(name, path, error) from error
    mode = os.fstat(descriptor).st_mode
    if stat.S_ISREG(mode):
        return descriptor
    os.close(descriptor)
    if stat.S_ISDIR(mode):
        raise CannotOpen(f"{name} is a folder; name {wanted}", where=name)
    raise CannotOpen(
        f"{name} is not a file but a pipe, socket or device; name {wanted}", where=name
    )


def _flag(name: str) -> int:
    return int(getattr(os, name, 0))  # which of them there are depends on the system


def _too_large(name: str, size_bytes: int, max_file_bytes: int) -> OverLimit:
    return OverLimit(
        f"{name} has {size_bytes / 1e6:.0f} MB, more than the limit of "
        f"{max_file_bytes / 1e6:.0f} MB; save a smaller copy or raise max_file_bytes",
        where=name,
    )


def _cannot_open(name: str, path: Path, error: Exception) -> CannotOpen:
    if isinstance(error, FileNotFoundError):
        link = path.is_symlink()
        what = "is a link that points to nothing" if link else "is not there"
        return CannotOpen(f"{name} {what}; check the path", where=name)
    if isinstance(error, PermissionError):
        return CannotOpen(f"{name} may not be read; change its permissions", where=name)
    reason = getattr(error, "strerror", None) or str(error)
    return CannotOpen(f"{name} cannot be opened: {reason}; check the path", where=name)
