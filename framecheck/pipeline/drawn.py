"""Which annotated copies were drawn of what, so that they need not be drawn again.

One JSON line a copy, beside the copies. A line that was cut short by a crash is left out: the copy
is then drawn again.
"""

from __future__ import annotations

import contextlib
import json
import os
from pathlib import Path

from framecheck.errors import ExportError

DRAWN_NAME = "drawn.jsonl"


class Drawn:
    """The annotated copies in an output folder."""

    def __init__(self, out: Path, folder: str) -> None:
        self._out = out
        self._path = out / folder / DRAWN_NAME
        self._marks = _read(self._path)

    def has(self, overlay: str, mark: str) -> bool:
        """True when the copy is there and shows what the mark says.

        Args:
            overlay: seen from the output folder.
            mark: a text for the content and the settings.
        """
        return self._marks.get(overlay) == mark and (self._out / overlay).is_file()

    def note(self, overlay: str, mark: str) -> None:
        """It has been drawn.

        Raises:
            ExportError: that cannot be written down.
        """
        self._marks[overlay] = mark
        # any file name survives: bytes that are no text stand as single characters
        line = json.dumps({"overlay": os.fsencode(overlay).decode("latin-1"), "of": mark})
        try:
            with self._path.open("ab") as file:
                file.write(line.encode() + b"\n")
        except OSError as error:
            reason = error.strerror or str(error)
            raise ExportError(
                f"cannot write {self._path}: {reason}", where=str(self._path)
            ) from error


def _read(path: Path) -> dict[str, str]:
    marks: dict[str, str] = {}
    with contextlib.suppress(OSError), path.open("rb") as file:
        for line in file:
            with contextlib.suppress(ValueError, KeyError, TypeError, AttributeError):
                content = json.loads(line)
                overlay = os.fsdecode(content["overlay"].encode("latin-1"))
                marks[overlay] = str(content["of"])
    return marks
