"""The summary of a run in plain lines: pictures with flags and advice, clips with their shots."""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from framecheck.cli.shot_lines import shot_lines
from framecheck.cli.text import (
    Line,
    chunks,
    columns_of,
    duration_text,
    padded,
    printable,
    wrapped,
)
from framecheck.pipeline.order import FINDING
from framecheck.pipeline.overlay_names import OVERLAY_FOLDER
from framecheck.records.judged import FileStatus

if TYPE_CHECKING:
    from framecheck.export.rows import Cell, Row
    from framecheck.pipeline.order import RunSummary

MOST_PICTURES = 40  # a longer list scrolls away; then only what needs a look is listed

_SIZE_WIDTH = 22
_NUMBERS_WIDTH = 56  # size, cut, air and people, with the gaps between them
_LEAST_NAME_WIDTH = 12
_HEADING = "picture"
_ROOMS = {"headroom", "looking room"}
_LEGEND = (
    "cut: bottom edge on the body, 0 the sole, 1 the crown. air: headroom, or that the head is cut."
)
_FLAG = re.compile(
    r"(?:p(?P<person>\d+):)?(?P<part>.+)\((?P<edge>.+),(?P<distance>.+),(?P<severity>.+)\)"
)


def summary_lines(summary: RunSummary, width: int) -> list[Line]:
    """Pictures, then clips, then what was not measured, in lines of at most `width`."""
    lines = _picture_lines(summary, width)
    shots = shot_lines(summary, width)
    if lines and shots:
        lines.append(Line(text=""))
    return lines + shots + _trouble_lines(summary.files, width)


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
    if summary.shot_count:
        counts.append(f"{summary.shot_count} shots")
    if summary.flagged:
        counts.append(f"{summary.flagged} with flags")
    names = ", ".join(path.name for path in summary.tables)
    words = f"{', '.join(counts)} in {duration_text(seconds)}. Tables in {out}: {names}"
    if any(row["overlay"] for row in summary.files):
        words += f"; annotated copies in {out / OVERLAY_FOLDER}"
    return [Line(text=text) for text in wrapped(words, width, "  ", "")]


def _picture_lines(summary: RunSummary, width: int) -> list[Line]:
    """The table of stills."""
    shown = list(summary.stills)
    lines: list[Line] = []
    if len(shown) > MOST_PICTURES:
        flagged = [row for row in shown if row["flags"]]
        shown = flagged[:MOST_PICTURES]
        lines.append(
            Line(text=f"The first {len(shown)} of the {summary.flagged_stills} with flags:")
            if summary.flagged_stills > len(shown)
            else Line(text="Only those with flags are listed:")
        )
    if shown:
        folder = _shared_folder([str(row["file"]) for row in shown])
        if folder:
            lines += [Line(text=text) for text in chunks(f"In {printable(folder)}", width)]
        names = [printable(str(row["file"])[len(folder) :]) for row in shown]
        room = _name_width(names, width)
        lines += [Line(text=text, style="bold") for text in _heading(room)]
        for row, name in zip(shown, names, strict=True):
            lines += [*_number_lines(row, name, room, width), *_remark_lines(row, width)]
        lines += [Line(text=""), *(Line(text=text) for text in wrapped(_LEGEND, width, ""))]
    return lines


def _name_width(names: Sequence[str], width: int) -> int:
    """Columns for the names; 0 on a narrow terminal, where they get lines of their own."""
    room = width - _NUMBERS_WIDTH - 2
    if room < _LEAST_NAME_WIDTH:
        return 0
    return min(room, max(len(_HEADING), *map(columns_of, names)))


def _heading(room: int) -> list[str]:
    numbers = f"{'size':<{_SIZE_WIDTH}}  {'cut':>5}  {'air':>5}  people"
    return [f"{padded(_HEADING, room)}  {numbers}"] if room else [_HEADING, f"  {numbers}"]


def _shared_folder(files: Sequence[str]) -> str:
    """The folders that all names begin with, up to the last separator; "" when there are none."""
    shared = os.path.commonprefix(files)  # noqa: RUF071  # cut back to a separator below
    ends = [shared.rfind(separator) for separator in (os.sep, os.altsep) if separator]
    return shared[: max(ends) + 1]


def _number_lines(row: Row, name: str, room: int, width: int) -> list[Line]:
    people = f"{row['people']} {row['shot_type']}" if row["people"] else row["shot_type"]
    numbers = (
        f"{_size(row):<{_SIZE_WIDTH}}  {_level(row['crop_level']):>5}  "
        f"{_air(row['headroom_frac']):>5}  {people}"
    )
    if columns_of(name) <= room:
        return [Line(text=f"{padded(name, room)}  {numbers}".rstrip())]
    own_lines = [Line(text=text) for text in chunks(name, width)]
    return [*own_lines, Line(text=f"{' ' * room}  {numbers}".rstrip())]


def _remark_lines(row: Row, width: int) -> list[Line]:
    lines: list[Line] = []
    if row["size_second"]:
        second = f"or {row['size_second']}: the cut lies within its error of the border"
        lines += [Line(text=text) for text in wrapped(second, width, "      ", "    ? ")]
    remarks = [("!", "yellow", flag) for flag in flags_in_words(str(row["flags"] or ""))]
    remarks.append((">", "cyan", str(row["advice"] or "")))
    for mark, style, words in remarks:
        texts = wrapped(words, width, "      ", f"    {mark} ")
        lines += [Line(text=text, style=style) for text in texts]
    return lines


def flags_in_words(flags: str) -> list[str]:
    """The flags of a row for reading: "knee of person 1 at the bottom edge (+0.012, high)"."""
    words = []
    for found in filter(None, map(_FLAG.fullmatch, flags.split("; "))):
        whose = f" of person {found['person']}" if found["person"] else ""
        distance = found["distance"]
        if found["part"] in _ROOMS:
            place = ": too little" if distance.startswith("-") else ": too much"
        else:
            place = f" at the {found['edge']} edge"
        words.append(f"{found['part']}{whose}{place} ({distance}, {found['severity']})")
    return words


def _trouble_lines(files: Sequence[Row], width: int) -> list[Line]:
    lines: list[Line] = []
    for row in files:
        if row["status"] == FileStatus.MEASURED.value:
            continue
        words = f"{row['status']}: {row['file']}: {row['why']}"
        if row["where"] and row["where"] != FINDING:
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


def _air(value: Cell) -> str:
    if not isinstance(value, int | float):
        return "-"
    share = round(value * 100)
    return "cut" if share < 0 else f"{share} %"
