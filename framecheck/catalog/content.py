"""What a file holds, as a short text: the same for a copy, another one after any change."""

from __future__ import annotations

import hashlib
import os
import stat
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from pathlib import Path

from framecheck.errors import CannotOpen

WHOLE_BYTES = 64 * 1024**2
"""Files up to this size are read whole; of larger ones, this much."""

END_BYTES = 8 * 1024**2
"""Of larger ones, so much is read at the start and at the end."""

BLOCKS = 48
BLOCK_BYTES = 1024**2
"""And this many blocks between, evenly spaced."""

_DIGEST_BYTES = 20
_CHUNK_BYTES = 1024**2


def content_id(path: Path) -> str:
    """The content of a file as 40 hexadecimal digits (BLAKE2b).

    Up to 64 MiB all bytes count. Of a larger file count its size, the first and the last 8 MiB,
    and 48 blocks of 1 MiB evenly between: 64 MiB read, however long the clip. A change that
    misses all of them and keeps the size is not seen; cameras and encoders write none such.

    Raises:
        CannotOpen: not there, not readable, no regular file, or it changed while it was read
            (a file still being copied).
    """
    try:
        # Without O_NONBLOCK, opening a pipe that nobody writes to would wait forever.
        descriptor = os.open(path, os.O_RDONLY | _flag("O_NONBLOCK") | _flag("O_BINARY"))
        try:
            return _read_id(descriptor, path)
        finally:
            os.close(descriptor)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise CannotOpen(
            f"{path} cannot be read: {reason}; check that its drive is there", where=str(path)
        ) from error


def frames_content_id(files: Sequence[Path]) -> str:
    """The content of numbered frames as one: of their names, sizes and contents, in order.

    Raises:
        CannotOpen: as for `content_id`, of the first file that cannot be read.
    """
    digest = _new_digest(b"frames")
    for file in files:
        content = content_id(file)
        name = os.fsencode(file.name)
        digest.update(b"%d %b %d %b\n" % (len(name), name, file.stat().st_size, content.encode()))
    return digest.hexdigest()


def content_id_of_parts(size_bytes: int, read: Callable[[int, int], Iterable[bytes]]) -> str:
    """The content of a file of that size, as `content_id` tells it.

    Args:
        size_bytes: of the whole file.
        read: the pieces of the part of it with that start and length.
    """
    digest = _new_digest(b"whole" if size_bytes <= WHOLE_BYTES else b"blocks")
    digest.update(b"%d\n" % size_bytes)
    for start, length in blocks_of(size_bytes):
        for chunk in read(start, length):
            digest.update(chunk)
    return digest.hexdigest()


def blocks_of(size_bytes: int) -> tuple[tuple[int, int], ...]:
    """The parts of a file of that size that are read: (start, length), in order."""
    if size_bytes <= WHOLE_BYTES:
        return ((0, size_bytes),)
    unread = size_bytes - WHOLE_BYTES
    between = tuple(
        (END_BYTES + number * BLOCK_BYTES + (number + 1) * unread // (BLOCKS + 1), BLOCK_BYTES)
        for number in range(BLOCKS)
    )
    return ((0, END_BYTES), *between, (size_bytes - END_BYTES, END_BYTES))


def _read_id(descriptor: int, path: Path) -> str:
    before = os.fstat(descriptor)
    if not stat.S_ISREG(before.st_mode):
        raise CannotOpen(f"{path} is not a file; name a picture or a clip", where=str(path))
    content = content_id_of_parts(before.st_size, partial(_read_block, descriptor))
    after = os.fstat(descriptor)
    if (before.st_size, before.st_mtime_ns) != (after.st_size, after.st_mtime_ns):
        raise CannotOpen(
            f"{path} changed while it was read; wait until it is copied, and try again",
            where=str(path),
        )
    return content


def _read_block(descriptor: int, start: int, length: int) -> Iterator[bytes]:
    os.lseek(descriptor, start, os.SEEK_SET)
    left = length
    while left > 0 and (chunk := os.read(descriptor, min(left, _CHUNK_BYTES))):
        left -= len(chunk)
        yield chunk


def _new_digest(kind: bytes) -> hashlib.blake2b:
    return hashlib.blake2b(digest_size=_DIGEST_BYTES, person=kind)


def _flag(name: str) -> int:
    return int(getattr(os, name, 0))  # which of them there are depends on the system
