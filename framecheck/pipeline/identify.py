"""Which content an input holds, told in a process of its own: a drive may hang while it is read."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from framecheck.catalog.content import (
    WHOLE_BYTES,
    content_id,
    content_id_of_parts,
    frames_content_id,
)
from framecheck.media.address import RemotePath
from framecheck.pipeline.signature import GONE, Signature, sign, what_happened
from framecheck.pipeline.trouble import Trouble, trouble_of

if TYPE_CHECKING:
    from framecheck.media.remote import RemoteReader

_STAGE = "reading"
_PIECE_BYTES = 1024**2


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    """What an input holds.

    Attributes:
        content: the content id; "" when there is trouble.
        signature: of its files, when they were read.
    """

    content: str
    signature: Signature
    trouble: Trouble | None = None


def open_identify() -> Callable[[tuple[Path, ...]], Identity]:
    """Gives the worker's function: the files of one input to its identity."""
    return identify


def identify(files: tuple[Path, ...]) -> Identity:
    """The identity of one input; whatever goes wrong becomes its trouble."""
    try:
        signature = sign(files)
        content = _content(files)
    except OSError as error:
        why = str(error) if isinstance(files[0], RemotePath) else GONE
        return Identity(content="", signature=(0, 0), trouble=Trouble(why=why, where=_STAGE))
    except Exception as error:  # it cannot be read, or changes while it is
        return Identity(content="", signature=(0, 0), trouble=trouble_of(error, _STAGE))
    changed = what_happened(files, signature)
    if changed:
        trouble = Trouble(why=changed, where=_STAGE)
        return Identity(content="", signature=signature, trouble=trouble)
    return Identity(content=content, signature=signature)


def _content(files: tuple[Path, ...]) -> str:
    if len(files) > 1:
        return frames_content_id(files)
    return _content_at(files[0]) if isinstance(files[0], RemotePath) else content_id(files[0])


def _content_at(path: RemotePath) -> str:
    """The same as of a copy on a disk."""
    from framecheck.media.remote import open_remote, read_remote
    from framecheck.media.remote_trouble import NoParts

    try:
        with closing(open_remote(path)) as reader:
            return content_id_of_parts(reader.size_bytes, partial(_pieces, reader))
    except NoParts:
        whole = read_remote(path, WHOLE_BYTES)
        return content_id_of_parts(len(whole), lambda start, length: [whole[start:][:length]])


def _pieces(reader: RemoteReader, start: int, length: int) -> Iterator[bytes]:
    reader.seek(start)
    left = length
    while left > 0 and (piece := reader.read(min(left, _PIECE_BYTES))):
        left -= len(piece)
        yield piece
