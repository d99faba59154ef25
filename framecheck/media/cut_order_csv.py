"""A cut order as CSV: a column `file`, and columns that tell a part of it."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Mapping
from fractions import Fraction
from pathlib import Path

from framecheck.errors import ConfigError
from framecheck.media.names import shown_name
from framecheck.records.cut_order import CutEntry, CutOrder

_FILE = "file"


def parse_csv(text: str, path: Path, find_file: Callable[[str, Path], str]) -> CutOrder:
    """The order that a CSV text states.

    Without a header that names a column `file`, the first cell of each row is the file.

    Raises:
        ConfigError: a cell or the whole makes no sense.
    """
    where = shown_name(path)
    try:
        rows = list(csv.reader(io.StringIO(text, newline=""), strict=True))
    except csv.Error as error:
        raise ConfigError(f"{where} is not valid CSV ({error}); mend it", where=where) from error
    lines = [(number, row) for number, row in enumerate(rows, start=1) if any(map(str.strip, row))]
    names = [cell.strip().lower() for cell in lines[0][1]] if lines else []
    if _FILE in names:
        lines = lines[1:]
    else:
        names = [_FILE]
    entries = []
    for number, row in lines:
        cells = {name: cell.strip() for name, cell in zip(names, row, strict=False)}
        entries.append(_entry(cells, _Place(path, where, f"row {number}"), find_file))
    return CutOrder(name=path.stem, entries=tuple(entries))


class _Place:
    """Where a cell stands, for messages."""

    def __init__(self, path: Path, name: str, row: str) -> None:
        self.folder, self.name, self.row = path.parent, name, row

    def error(self, what: str) -> ConfigError:
        return ConfigError(f"{self.name}, {self.row}: {what}", where=self.name)


def _entry(
    cells: Mapping[str, str], place: _Place, find_file: Callable[[str, Path], str]
) -> CutEntry:
    file = cells.get(_FILE, "")
    if not file:
        raise place.error("no file is named; fill the column file")
    entry = CutEntry(
        file=file,
        path=find_file(file, place.folder),
        where=place.row,
        shot=_whole(cells, "shot", place),
        from_frame=_whole(cells, "start_frame", place),
        to_frame=_whole(cells, "end_frame", place),
        from_s=_seconds(cells, "start_s", place),
        to_s=_seconds(cells, "end_s", place),
        from_timecode=cells.get("start_timecode", ""),
        to_timecode=cells.get("end_timecode", ""),
        duration_s=_seconds(cells, "duration_s", place),
    )
    for start, stop in ((entry.from_frame, entry.to_frame), (entry.from_s, entry.to_s)):
        if start is not None and stop is not None and stop <= start:
            raise place.error(f"it ends at {float(stop):g}, which is not after its start")
    return entry


def _whole(cells: Mapping[str, str], name: str, place: _Place) -> int | None:
    text = cells.get(name, "")
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and len(text) < 12):
        raise place.error(f"{name} must be a whole number from 0, got {text[:40]!r}")
    return int(text)


def _seconds(cells: Mapping[str, str], name: str, place: _Place) -> Fraction | None:
    text = cells.get(name, "")
    if not text:
        return None
    try:
        value = Fraction(text) if len(text) < 40 and "e" not in text.lower() else None
    except (ValueError, ZeroDivisionError):
        value = None
    if value is None or value < 0:
        raise place.error(f"{name} must be seconds from 0, got {text[:40]!r}")
    return value
