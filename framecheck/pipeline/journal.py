"""What is done so far, kept beside the tables, so that a run that was broken off goes on.

One JSON line a measured input, written as soon as it is measured. A line that was cut short by a
crash is left out when reading. An entry counts as long as the file, its date and size, and
everything that the results depend on are the same.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
from collections.abc import Container, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from framecheck.errors import ExportError
from framecheck.export.atomic import write_atomically
from framecheck.export.rows import Row

JOURNAL_NAME = "progress.jsonl"
_SCHEMA = "framecheck progress 1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One measured input, as table rows.

    Attributes:
        key: see `entry_key`.
        file_row: its row of the files table.
        frames, people: its rows of the other tables.
        overlay: the annotated copy, seen from the output folder; "" for none.
    """

    key: str
    file_row: Row
    frames: tuple[Row, ...] = ()
    people: tuple[Row, ...] = ()
    overlay: str = ""


class Journal:
    """The entries of an output folder; a context manager that keeps the file open for adding."""

    def __init__(self, folder: Path, *, afresh: bool = False) -> None:
        self._path = folder / JOURNAL_NAME
        self._folder = folder
        self._entries = {} if afresh else _read_entries(self._path)
        self._file: IO[bytes] | None = None

    def find(self, key: str) -> Entry | None:
        """The entry of that key, when its annotated copy is still there."""
        entry = self._entries.get(key)
        if entry is None or (entry.overlay and not (self._folder / entry.overlay).is_file()):
            return None
        return entry

    def entries_besides(self, files: Container[str]) -> list[Entry]:
        """The entries of inputs that this run does not name: a later one may name them again."""
        return [entry for entry in self._entries.values() if entry.file_row["file"] not in files]

    @contextlib.contextmanager
    def open(self, kept: list[Entry]) -> Iterator[Journal]:
        """Start the file anew with the entries that still count, and leave it open for more.

        Raises:
            ExportError: it cannot be written.
        """
        write_atomically(self._path, b"".join(map(_line, kept)))
        with self._path.open("ab") as self._file:
            yield self
        self._file = None

    def add(self, entry: Entry) -> None:
        """Append an entry and hand it to the operating system at once.

        Raises:
            ExportError: it cannot be written.
        """
        if self._file is None:
            raise ValueError("the journal is not open")
        try:
            self._file.write(_line(entry))
            self._file.flush()
        except OSError as error:
            reason = error.strerror or str(error)
            raise ExportError(
                f"cannot write {self._path}: {reason}", where=str(self._path)
            ) from error


def entry_key(fingerprint: str, file: str, path: Path, overlay: str) -> str:
    """A text that changes when the file, its place, its date or the settings change."""
    status = path.stat()
    parts = (fingerprint, file, str(path.absolute()), status.st_size, status.st_mtime_ns, overlay)
    return hashlib.sha256(repr(parts).encode("utf-8", "surrogateescape")).hexdigest()


def _line(entry: Entry) -> bytes:
    content = {
        "schema": _SCHEMA,
        "key": entry.key,
        "overlay": os.fsencode(entry.overlay).decode("latin-1"),  # any file name survives
        "file": entry.file_row,
        "frames": entry.frames,
        "people": entry.people,
    }
    return json.dumps(content, separators=(",", ":")).encode() + b"\n"


def _read_entries(path: Path) -> dict[str, Entry]:
    entries: dict[str, Entry] = {}
    with contextlib.suppress(OSError), path.open("rb") as file:
        for line in file:
            entry = _parse(line)
            if entry is not None:
                entries[entry.key] = entry
    return entries


def _parse(line: bytes) -> Entry | None:
    try:
        content = json.loads(line)
        if content["schema"] != _SCHEMA:
            return None
        return Entry(
            key=content["key"],
            file_row=content["file"],
            frames=tuple(content["frames"]),
            people=tuple(content["people"]),
            overlay=os.fsdecode(content["overlay"].encode("latin-1")),
        )
    except (ValueError, KeyError, TypeError, AttributeError):
        return None
