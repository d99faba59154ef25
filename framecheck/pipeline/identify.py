"""Which content an input holds, told in a process of its own: a drive may hang while it is read."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from framecheck.catalog.content import content_id, frames_content_id
from framecheck.pipeline.signature import GONE, Signature, sign, what_happened
from framecheck.pipeline.trouble import Trouble, trouble_of

_STAGE = "reading"


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
        content = content_id(files[0]) if len(files) == 1 else frames_content_id(files)
    except OSError:
        return Identity(content="", signature=(0, 0), trouble=Trouble(why=GONE, where=_STAGE))
    except Exception as error:  # it cannot be read, or changes while it is
        return Identity(content="", signature=(0, 0), trouble=trouble_of(error, _STAGE))
    changed = what_happened(files, signature)
    if changed:
        trouble = Trouble(why=changed, where=_STAGE)
        return Identity(content="", signature=signature, trouble=trouble)
    return Identity(content=content, signature=signature)
