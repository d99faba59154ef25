"""Where the annotated copies go: the inputs' own folders and names, mirrored, each name once."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Sequence
from pathlib import Path, PurePath

OVERLAY_FOLDER = "overlays"

_SUFFIX = ".jpg"
_LONGEST_NAME_BYTES = 200  # file systems allow 255; room for a number and a temporary name


def name_overlays(files: Sequence[Path]) -> tuple[str, ...]:
    """A path for each file, seen from the output folder.

    The folders above all the files are left out. `a/x.jpg` becomes `overlays/a/x.jpg` and
    `a/x.png` becomes `overlays/a/x.png.jpg`. Line breaks and whatever else cannot be printed
    become `_`, and a name that is taken gets a number.
    """
    absolute = [Path(os.path.abspath(file)) for file in files]  # noqa: PTH100  # keeps links
    top = _common_folder(absolute)
    taken: set[str] = set()
    return tuple(_free_name(_mirrored(file, top), taken) for file in absolute)


def _common_folder(files: Sequence[Path]) -> Path | None:
    try:
        return Path(os.path.commonpath([file.parent for file in files]))
    except ValueError:  # none at all, or on different drives
        return None


def _mirrored(file: Path, top: Path | None) -> PurePath:
    inner = file.relative_to(top) if top else PurePath(*file.parts[1:])
    folders = map(_printable, inner.parent.parts)
    return PurePath(OVERLAY_FOLDER, *folders, _picture_name(_printable(inner.name)))


def _printable(name: str) -> str:
    return "".join(char if char.isprintable() else "_" for char in name)


def _picture_name(name: str) -> str:
    if len(os.fsencode(name)) > _LONGEST_NAME_BYTES:
        mark = hashlib.sha256(os.fsencode(name)).hexdigest()[:8]
        name = os.fsdecode(os.fsencode(name)[: _LONGEST_NAME_BYTES - 20]) + f"-{mark}"
    return name if name.lower().endswith((".jpg", ".jpeg")) else name + _SUFFIX


def _free_name(wanted: PurePath, taken: set[str]) -> str:
    """The wanted path, or the first numbered one that differs in more than case from all others."""
    name, number = wanted, 1
    while str(name).casefold() in taken:
        number += 1
        name = wanted.with_name(f"{wanted.stem}-{number}{wanted.suffix}")
    taken.add(str(name).casefold())
    return name.as_posix()
