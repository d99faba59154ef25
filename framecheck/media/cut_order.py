"""Reads the order of a cut: a plain text, a CSV, or an OpenTimelineIO timeline."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path

from framecheck.errors import ConfigError
from framecheck.media.cut_order_csv import parse_csv
from framecheck.media.cut_order_edl import parse_edl
from framecheck.media.cut_order_timeline import parse_timeline
from framecheck.media.names import shown_name
from framecheck.records.cut_order import CutEntry, CutOrder

MOST_BYTES = 64 * 1024**2
MOST_ENTRIES = 100_000
_NAMED = 3  # missing files that a message names

CUT_ORDER_SUFFIXES = frozenset({".txt", ".csv", ".otio", ".edl"})
"""What the name of a list ends in."""


def is_cut_order(path: Path) -> bool:
    """True when the name says that it is a list of shots."""
    return path.suffix.lower() in CUT_ORDER_SUFFIXES


def read_cut_order(path: Path, *, check_files: bool = True) -> CutOrder:
    """The cut order that a file holds.

    Args:
        path: `.txt`: a file a line, `#` begins a comment. `.csv`: a column `file`, and if you like
            `shot`, `start_frame` and `end_frame`, `start_s` and `end_s`, `start_timecode` and
            `end_timecode`, `duration_s`; the tables of shots and frames are such lists. `.otio`:
            the clips of its video tracks. `.edl`: the video events of a CMX 3600 list. Names count
            from the folder of the list.
        check_files: refuse a list that names files which are not there.

    Raises:
        ConfigError: it cannot be read, names nothing, or names files that are not there.
    """
    where = shown_name(path)
    parse = _PARSERS.get(path.suffix.lower())
    if parse is None:
        raise ConfigError(f"{where} is no cut order; it must end in .txt, .csv, .otio or .edl",
                          where=where)  # fmt: skip
    order = parse(_read(path, where), path)
    if not order.entries:
        raise ConfigError(f"{where} names no shots; it needs one a line", where=where)
    if len(order.entries) > MOST_ENTRIES:
        raise ConfigError(f"{where} names more than {MOST_ENTRIES} shots; split it", where=where)
    if check_files:
        _check_files(order.entries, where)
    return order


def find_file(name: str, folder: Path) -> str:
    """Where a named file lies: beside the list, or else as seen from the current folder."""
    beside = str(folder / name)
    try:
        return beside if os.path.lexists(beside) or not os.path.lexists(name) else name
    except ValueError:  # a name with a zero byte
        return beside


def _parse_text(text: str, path: Path) -> CutOrder:
    lines = [(number, line.strip()) for number, line in enumerate(text.splitlines(), start=1)]
    entries = tuple(
        CutEntry(file=line, path=find_file(line, path.parent), where=f"line {number}")
        for number, line in lines
        if line and not line.startswith("#")
    )
    return CutOrder(name=path.stem, entries=entries)


def _parse_csv(text: str, path: Path) -> CutOrder:
    return parse_csv(text, path, find_file)


def _parse_timeline(text: str, path: Path) -> CutOrder:
    return parse_timeline(text, path, find_file)


def _parse_edl(text: str, path: Path) -> CutOrder:
    return parse_edl(text, path, find_file)


_PARSERS: Mapping[str, Callable[[str, Path], CutOrder]] = {
    ".txt": _parse_text,
    ".csv": _parse_csv,
    ".otio": _parse_timeline,
    ".edl": _parse_edl,
}


def _read(path: Path, where: str) -> str:
    try:
        if path.stat().st_size > MOST_BYTES:
            raise ConfigError(
                f"{where} is larger than {MOST_BYTES // 1024**2} MiB; is it a cut order?",
                where=where,
            )
        return path.read_text("utf-8-sig")
    except UnicodeDecodeError as error:
        raise ConfigError(f"{where} is not a UTF-8 text; save it as one", where=where) from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise ConfigError(f"cannot read {where}: {reason}", where=where) from error


def _check_files(entries: Sequence[CutEntry], where: str) -> None:
    there: dict[str, bool] = {}
    missing = []
    for entry in entries:
        if entry.path not in there:
            there[entry.path] = _is_file(entry.path)
        if not there[entry.path]:
            missing.append(f"{shown_name(entry.file)} ({entry.where})")
    if missing:
        more = f" and {len(missing) - _NAMED} more" if len(missing) > _NAMED else ""
        names = ", ".join(missing[:_NAMED])
        raise ConfigError(
            f"{where} names files that are not there: {names}{more}; names count from the folder "
            "of the list",
            where=where,
        )


def _is_file(path: str) -> bool:
    try:
        return Path(path).is_file()
    except (OSError, ValueError):
        return False
