"""Finds the pictures and clips that the user means: files, folders and patterns."""

from __future__ import annotations

import fnmatch
import logging
import os
import re
import stat
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, TypeAlias

from framecheck.media.address import is_address
from framecheck.media.clips import is_clip
from framecheck.media.names import shown_name
from framecheck.media.numbering import is_pattern, pattern_files, split_numbered

LOG = logging.getLogger(__name__)
PICTURE_SUFFIXES = frozenset(
    {".jpg", ".jpeg", ".jpe", ".jfif", ".png", ".tif", ".tiff", ".webp", ".bmp", ".dib"}
)
Kind: TypeAlias = Literal["still", "clip", "frames"]
_SortKey: TypeAlias = tuple[tuple[tuple[int, int, str], ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One input, which gets one row in the table of files.

    Attributes:
        path: where it is; for numbered frames a pattern (`take-####.png`), see `numbering`.
        name: the path on one line and in valid Unicode, for tables and messages.
        why: what is wrong with it, in plain words; empty when it can be read.
        kind: a picture, a video file, or numbered pictures that are one clip. Told by the name
            alone; a file of any other suffix is taken for a still.
    """

    path: Path
    name: str
    why: str = ""
    kind: Kind = "still"


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """What a search has found.

    Attributes:
        found: in the order of the arguments, inside each one in natural order.
        ignored: how many files in folders and patterns have no suffix of a picture or clip.
    """

    found: tuple[Found, ...]
    ignored: int


def find_inputs(paths: Sequence[str], *, frames_as_clip: bool = False) -> tuple[Found, ...]:
    """The pictures and clips that the arguments name, each once, and the arguments that name none.

    Args:
        paths: files, folders (searched with all their subfolders), addresses (`s3://`, `gs://`,
            `https://`, see `remote_inputs`) and patterns with `*`, `?`,
            `[...]` and `**`. A file that is named is always found, whatever its suffix; in folders
            and by patterns only files with the suffix of a picture or clip are, hidden ones left
            out. A pattern with number signs (`take-####.png`) is one clip of numbered frames.
        frames_as_clip: takes pictures that are numbered in a row, eight at least, for one clip,
            where they lie in a folder or match a pattern.
    """
    return search_inputs(paths, frames_as_clip=frames_as_clip).found


def search_inputs(paths: Sequence[str], *, frames_as_clip: bool = False) -> Search:
    """The same as `find_inputs`, with the number of files that were left out."""
    hunt = _Hunt(frames_as_clip=frames_as_clip)
    for path in paths:
        hunt.take(path)
    if hunt.ignored:
        LOG.info("%d files that are neither pictures nor clips were left out", hunt.ignored)
    return Search(found=tuple(hunt.found), ignored=hunt.ignored)


class _Hunt:
    """The state of one search: what was found, and what has been seen."""

    def __init__(self, *, frames_as_clip: bool) -> None:
        self.found: list[Found] = []
        self.ignored = 0
        self._frames_as_clip = frames_as_clip
        self._seen: set[str] = set()
        self._seen_at: set[Path] = set()

    def take(self, text: str) -> None:
        """Adds what one argument names."""
        if is_address(text) and not _lexists(text):
            self._take_address(text)
            return
        path, trouble = Path(text), _trouble(text)
        if text and os.path.isdir(text):  # noqa: PTH112  # before Python 3.12 Path raises on NUL
            self._take_folder(path)
        elif trouble and not _lexists(text) and is_pattern(path):
            self._add(path, _pattern_trouble(path), "frames")
        elif trouble and not _lexists(text) and any(mark in text for mark in "*?["):
            self._take_pattern(text)
        else:
            self._add(path, trouble, "clip" if is_clip(path) else "still")

    def _take_address(self, address: str) -> None:
        from framecheck.media.remote_inputs import find_at  # loads what few runs need

        search = find_at(address)
        self.ignored += search.ignored
        for found in search.found:
            if found.path not in self._seen_at:
                self._seen_at.add(found.path)
                self.found.append(found)

    def _take_folder(self, folder: Path) -> None:
        files, troubles = _files_below(folder)
        any_usable = self._usable(files)
        for path, why in troubles:
            self._add(path, why)
        if not any_usable and not troubles:
            self._add(
                folder, f"no pictures or clips in this folder ({_files(len(files))} of other kinds)"
            )

    def _take_pattern(self, pattern: str) -> None:
        matches = sorted(set(_matches(pattern)), key=natural_order)
        if not matches:
            self._add(Path(pattern), "nothing matches this pattern")
            return
        files = [path for path in matches if not _is_folder(path)]
        any_usable = self._usable(files)
        for folder in (path for path in matches if _is_folder(path)):
            if "**" not in pattern:  # with it, the files below have been matched themselves
                any_usable = True
                self._take_folder(folder)
        if not any_usable:
            self._add(
                Path(pattern), f"matches no picture or clip ({_files(len(files))} of other kinds)"
            )

    def _usable(self, files: Sequence[Path]) -> bool:
        """Adds the files with the suffix of a picture or clip, counts the others; True when any."""
        usable = [
            path for path in files if path.suffix.lower() in PICTURE_SUFFIXES or is_clip(path)
        ]
        self.ignored += len(files) - len(usable)
        pictures = [path for path in usable if not is_clip(path)]
        patterns, _rest = split_numbered(pictures if self._frames_as_clip else ())
        pattern_of = {path: pattern for pattern, paths in patterns.items() for path in paths}
        for path in usable:
            if path in pattern_of:
                self._add(pattern_of[path], "", "frames")
            else:
                self._add(path, _trouble(str(path)), "clip" if is_clip(path) else "still")
        return bool(usable)

    def _add(self, path: Path, why: str, kind: Kind = "still") -> None:
        identity = _identity(path)
        if identity not in self._seen:
            self._seen.add(identity)
            self.found.append(Found(path=path, name=shown_name(path), why=why, kind=kind))


def _pattern_trouble(pattern: Path) -> str:
    """Why a pattern with number signs names no frames, or an empty text."""
    try:
        return "" if pattern_files(pattern) else "no numbered frames match this pattern"
    except FileNotFoundError:
        return "no such folder"
    except (OSError, ValueError) as error:
        return f"cannot be looked at: {getattr(error, 'strerror', None) or error}"


def _identity(path: Path) -> str:
    """The same for two ways to one directory entry; two links to one file stay two inputs."""
    folder, name = os.path.split(os.path.normpath(str(path)))
    try:
        folder = os.path.realpath(folder or ".")
    except (OSError, ValueError):
        folder = os.path.abspath(folder)  # noqa: PTH100  # resolving is what has just failed
    return os.path.join(folder, name)  # noqa: PTH118


def _lexists(text: str) -> bool:
    try:
        return os.path.lexists(text)
    except ValueError:
        return False


def _is_folder(path: Path) -> bool:
    return os.path.isdir(path)  # noqa: PTH112  # Path.is_dir raises where access is denied


def _trouble(text: str) -> str:
    """Why the file cannot be an input, or an empty text; does not open it."""
    if not text:
        return "an empty name"
    try:
        mode = os.stat(text).st_mode  # noqa: PTH116  # Path turns an empty name into a dot
    except FileNotFoundError:
        return "a link that points to nothing" if _lexists(text) else "no such file or folder"
    except (OSError, ValueError) as error:
        return f"cannot be looked at: {getattr(error, 'strerror', None) or error}"
    usual = stat.S_ISREG(mode) or stat.S_ISDIR(mode)
    return "" if usual else "not a file but a pipe, socket or device"


def _files_below(folder: Path) -> tuple[list[Path], list[tuple[Path, str]]]:
    """All files below the folder in natural order, and the folders that cannot be read."""
    files: list[Path] = []
    troubles: list[tuple[Path, str]] = []
    for inner in _folders_below(folder, lambda path, why: troubles.append((path, why))):
        files += [entry for entry in _entries(inner) if not _is_folder(entry)]
    return sorted(files, key=natural_order), troubles


def _folders_below(
    folder: Path, on_trouble: Callable[[Path, str], None] = lambda _path, _why: None
) -> Iterator[Path]:
    """The folder and all below it, each real folder once, so that loops of links end."""
    seen: set[str] = set()
    waiting = [folder]
    while waiting:
        inner = waiting.pop()
        real = os.path.realpath(inner)
        if real in seen:
            continue
        seen.add(real)
        try:
            entries = _entries(inner)
        except OSError as error:
            on_trouble(inner, f"folder cannot be read: {error.strerror or error}")
            continue
        yield inner
        # the last one in is the first one out
        waiting += [entry for entry in reversed(entries) if _is_folder(entry)]


def _entries(folder: Path) -> list[Path]:
    """What lies in the folder, without hidden things, in natural order.

    Raises:
        OSError: the folder cannot be read.
    """
    with os.scandir(folder) as entries:
        names = [entry.name for entry in entries if not entry.name.startswith(".")]
    return sorted((folder / name for name in names), key=natural_order)


def _matches(pattern: str) -> Iterator[Path]:
    """What the pattern matches. The standard `glob` would run into loops of links with `**`."""
    path = Path(pattern)
    parts = path.parts[1:] if path.anchor else path.parts
    places = [Path(path.anchor)] if path.anchor else [Path()]
    for number, part in enumerate(parts):
        last = number == len(parts) - 1
        places = [match for place in places for match in _step(place, part, last=last)]
    yield from places


def _step(place: Path, part: str, *, last: bool) -> Iterator[Path]:
    if part == "**":
        for folder in _folders_below(place):
            yield folder
            if last:
                yield from (entry for entry in _entries(folder) if not _is_folder(entry))
    elif not any(mark in part for mark in "*?["):
        if _lexists(str(place / part)):
            yield place / part
    else:
        yield from _named_like(place, part, last=last)


def _named_like(place: Path, part: str, *, last: bool) -> Iterator[Path]:
    try:
        entries = _entries(place)
    except OSError:
        return
    for entry in entries:
        if fnmatch.fnmatch(entry.name, part) and (last or _is_folder(entry)):
            yield entry


def natural_order(path: Path) -> _SortKey:
    """Sorts take 2 before take 10, and gives one order on every machine."""
    folded = tuple(_natural_name(part.casefold()) for part in path.parts)
    return (*folded, _natural_name(str(path)))


def _natural_name(name: str) -> tuple[tuple[int, int, str], ...]:
    pieces = re.split(r"([0-9]+)", name)
    return tuple(
        (0, int(piece[:4000]), piece) if place % 2 else (1, 0, piece)
        for place, piece in enumerate(pieces)
        if piece
    )


def _files(count: int) -> str:
    return "1 file" if count == 1 else f"{count} files"
