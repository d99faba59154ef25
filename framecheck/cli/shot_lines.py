"""Clips in the summary of a run: their shots one by one, or counted where there are many."""

from __future__ import annotations

from typing import TYPE_CHECKING

from framecheck.cli.text import Line, chunks, duration_text, printable, wrapped

if TYPE_CHECKING:
    from collections.abc import Mapping

    from framecheck.export.rows import Cell, Row
    from framecheck.pipeline.order import RunSummary

MOST_SHOTS = 40  # a longer list scrolls away; then shots are counted by size, clip by clip
MOST_CLIPS = 40

_SIZE_WIDTH = 15
_ROOMY = 74  # columns for all that a shot's line may hold


def shot_lines(summary: RunSummary, width: int) -> list[Line]:
    """The shots of all clips, in lines of at most `width`."""
    clips = [row for row in summary.files if row["shots"]]
    lines: list[Line] = []
    for row in clips[:MOST_CLIPS]:
        lines += [Line(text=text, style="bold") for text in chunks(_clip_words(row), width)]
        if summary.shot_count <= MOST_SHOTS:
            lines.append(Line(text=_columns(("shot", "from", "length", "size"), "change", width)))
            shots = [shot for shot in summary.shots if shot["file"] == row["file"]]
            lines += [line for shot in shots for line in _shot_lines(shot, width)]
        else:
            counted = _sizes_counted(summary.sizes.get(str(row["file"]), {}))
            lines += [Line(text=text) for text in wrapped(counted, width, "  ")]
    if len(clips) > MOST_CLIPS:
        lines.append(Line(text=f"and {len(clips) - MOST_CLIPS} more clips"))
    return lines


def _clip_words(row: Row) -> str:
    seconds = row["duration_s"]
    lasts = f", {duration_text(float(seconds))}" if isinstance(seconds, int | float) else ""
    shots = "1 shot" if row["shots"] == 1 else f"{row['shots']} shots"
    return printable(f"{row['file']}: {shots}{lasts}")


def _columns(cells: tuple[str, str, str, str], change: str, width: int) -> str:
    """One line of the table; a narrow terminal has no room for the timecode."""
    shot, start, length, size = cells
    start = f"  {start:<11}" if width >= _ROOMY else ""
    return f"  {shot:>5}{start}  {length:>8}  {size:<{_SIZE_WIDTH}}  {change}".rstrip()


def _shot_lines(row: Row, width: int) -> list[Line]:
    size = printable(str(row["size"] or row["shot_type"] or ""))[:_SIZE_WIDTH]
    length = duration_text(_seconds(row["duration_s"]))
    cells = (_cell(row["shot"]), _cell(row["start_timecode"]), length, size)
    line, change = _columns(cells, _change(row), width), ""
    if len(line) > width:
        line, change = _columns(cells, "", width), _change(row)
    lines = [Line(text=line)]
    lines += [Line(text=text) for text in wrapped(change, width, " " * 11)]
    texts = wrapped(str(row["flags"] or ""), width, "           ", "         ! ")
    return lines + [Line(text=text, style="yellow") for text in texts if row["flags"]]


def _change(row: Row) -> str:
    words = [str(row["size_change"])]
    if row["subject_moves"] == "yes":
        words.append("moving")
    stability = row["stability"]
    if isinstance(stability, int | float) and stability < 1:
        words.append(f"{stability * 100:.0f} %")
    return ", ".join(words)


def _sizes_counted(sizes: Mapping[str, int]) -> str:
    falling = sorted(sizes.items(), key=lambda item: (-item[1], item[0]))
    return ", ".join(f"{name} {count}" for name, count in falling)


def _seconds(value: Cell) -> float:
    return float(value) if isinstance(value, int | float) else 0.0


def _cell(value: Cell) -> str:
    return "" if value is None else str(value)
