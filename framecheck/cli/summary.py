"""The summary of a run in plain lines: one a picture, its flags and advice under it."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from framecheck.cli.text import printable, wrapped
from framecheck.records.judged import FileStatus

if TYPE_CHECKING:
    from framecheck.export.rows import Cell, Row
    from framecheck.pipeline.run import RunSummary

MOST_PICTURES = 40  # a longer list scrolls away; then only what needs a look is listed

_FILE_WIDTH = 21
_SIZE_WIDTH = 22


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line with the rich style that a terminal gives it."""

    text: str
    style: str = ""


def summary_lines(summary: RunSummary, width: int) -> list[Line]:
    """The table of pictures, then what was not measured, in lines of at most `width`."""
    shown = list(summary.frames)
    lines: list[Line] = []
    if len(shown) > MOST_PICTURES:
        flagged = [row for row in shown if row["flags"]]
        shown = flagged[:MOST_PICTURES]
        lines.append(
            Line(text=f"The first {len(shown)} of the {len(flagged)} with flags:")
            if len(flagged) > len(shown)
            else Line(text="Only those with flags are listed:")
        )
    if shown:
        folder = _shared_folder([str(row["file"]) for row in shown])
        if folder:
            lines += [Line(text=text) for text in _chunks(f"In {printable(folder)}", width)]
        lines.append(Line(text=_heading(), style="bold"))
        for row in shown:
            lines += _picture_lines(row, str(row["file"])[len(folder) :], width)
    return lines + _trouble_lines(summary.files, width)


def closing_lines(summary: RunSummary, out: Path, seconds: float, width: int) -> list[Line]:
    """How many fared how, and where the tables are."""
    counts = [f"{summary.count(FileStatus.MEASURED)} measured"]
    if summary.taken_over:
        counts[0] += f" ({summary.taken_over} of them in an earlier run)"
    counts += [
        f"{summary.count(status)} {status.value}"
        for status in (FileStatus.SKIPPED, FileStatus.FAILED)
        if summary.count(status)
    ]
    if summary.flagged:
        counts.append(f"{summary.flagged} with flags")
    names = ", ".join(path.name for path in summary.tables)
    words = f"{', '.join(counts)} in {_duration(seconds)}. Tables in {out}: {names}"
    return [Line(text=text) for text in wrapped(words, width, "  ", "")]


def _heading() -> str:
    size = f"{'size':<{_SIZE_WIDTH}}"
    return f"{'picture':<{_FILE_WIDTH}}  {size}  {'cut':>5}  {'air':>5}  people"


def _shared_folder(files: Sequence[str]) -> str:
    """The folders that all names begin with, up to the last separator; "" when there are none."""
    shared = os.path.commonprefix(files)  # noqa: RUF071  # cut back to a separator below
    ends = [shared.rfind(separator) for separator in (os.sep, os.altsep) if separator]
    return shared[: max(ends) + 1]


def _picture_lines(row: Row, shown_name: str, width: int) -> list[Line]:
    name = printable(shown_name)
    people = f"{row['people']} {row['shot_type']}" if row["people"] else row["shot_type"]
    numbers = (
        f"{_size(row):<{_SIZE_WIDTH}}  {_level(row['crop_level']):>5}  "
        f"{_share(row['headroom_frac']):>5}  {people}"
    )
    if len(name) <= _FILE_WIDTH:
        lines = [Line(text=f"{name:<{_FILE_WIDTH}}  {numbers}".rstrip())]
    else:
        lines = [Line(text=text) for text in _chunks(name, width)]
        lines.append(Line(text=f"{'':<{_FILE_WIDTH}}  {numbers}".rstrip()))
    if row["size_second"]:
        second = f"or {row['size_second']}: the cut lies within its error of the border"
        lines += [Line(text=text) for text in wrapped(second, width, "      ", "    ? ")]
    for mark, column, style in (("!", "flags", "yellow"), (">", "advice", "cyan")):
        words = wrapped(str(row[column] or ""), width, "      ", f"    {mark} ")
        lines += [Line(text=text, style=style) for text in words]
    return lines


def _trouble_lines(files: Sequence[Row], width: int) -> list[Line]:
    lines: list[Line] = []
    for row in files:
        if row["status"] == FileStatus.MEASURED.value:
            continue
        words = f"{row['status']}: {row['file']}: {row['why']}"
        if row["where"]:
            words += f" ({row['where']})"
        style = "red" if row["status"] == FileStatus.FAILED.value else ""
        lines += [Line(text=text, style=style) for text in wrapped(words, width, "  ", "")]
    return lines


def _size(row: Row) -> str:
    if not row["size"]:
        return ""
    confidence = row["size_confidence"]
    sure = f" {confidence * 100:.0f} %" if isinstance(confidence, float) else ""
    name = printable(str(row["size"]))
    if len(name + sure) > _SIZE_WIDTH:
        name = printable(str(row["size_abbr"]))[: _SIZE_WIDTH - len(sure)]
    return name + sure


def _level(value: Cell) -> str:
    return f"{value:.2f}" if isinstance(value, int | float) else "-"


def _share(value: Cell) -> str:
    return f"{value * 100 + 0.0:.0f} %" if isinstance(value, int | float) else "-"


def _duration(seconds: float) -> str:
    if seconds < 90:
        return f"{seconds:.1f} s"
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min {rest:02d} s"


def _chunks(text: str, width: int) -> list[str]:
    return [text[start : start + width] for start in range(0, len(text), width)]
