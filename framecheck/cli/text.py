"""Plain text for terminals: wrapping, columns, and names that cannot play tricks."""

from __future__ import annotations

import shutil
import textwrap
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

WIDEST = 110
NARROWEST = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line with the rich style that a terminal gives it."""

    text: str
    style: str = ""


def terminal_width() -> int:
    """Columns to write in: the terminal's, 80 when there is none."""
    return max(NARROWEST, min(WIDEST, shutil.get_terminal_size((80, 24)).columns))


def printable(text: str) -> str:
    r"""The text with control characters as escapes.

    A file name may hold line breaks or the codes that colour or clear a terminal.
    """
    return "".join(
        char if char.isprintable() else char.encode("unicode_escape").decode() for char in text
    )


def columns_of(text: str) -> int:
    """How many columns of a terminal the text takes: two a character in much of East Asia."""
    return sum(map(_columns_of_character, text))


def padded(text: str, size: int) -> str:
    """The text with spaces after it, up to that many columns."""
    return text + " " * (size - columns_of(text))


def chunks(text: str, width: int) -> list[str]:
    """The text cut into pieces of at most `width` columns."""
    pieces = [""]
    for char in text:
        if columns_of(pieces[-1] + char) > width:
            pieces.append("")
        pieces[-1] += char
    return pieces


def wrapped(text: str, width: int, indent: str, first: str | None = None) -> list[str]:
    """The text in lines of at most `width`, indented; `first` stands before the first one."""
    lines = textwrap.wrap(
        printable(text),
        width,
        initial_indent=indent if first is None else first,
        subsequent_indent=indent,
        break_on_hyphens=False,
    )
    return [piece for line in lines for piece in chunks(line, width)]


def table_lines(
    rows: Iterable[Sequence[str]], width: int, *, indent: str = "  ", gap: str = "  "
) -> list[str]:
    """Rows as aligned lines; the last cell of a row is wrapped in its own column."""
    cells = [[printable(cell) for cell in row] for row in rows]
    if not cells:
        return []
    sizes = [max(columns_of(row[index]) for row in cells) for index in range(len(cells[0]) - 1)]
    lines = []
    for row in cells:
        head = indent + "".join(
            padded(cell, size) + gap for cell, size in zip(row, sizes, strict=False)
        )
        hang = " " * min(len(head), width // 2)
        if len(head) > width // 2:  # no room left beside the other cells
            lines += [head.rstrip(), *wrapped(row[-1], width, hang)]
        else:
            lines += wrapped(row[-1], width, hang, head) or [head.rstrip()]
    return lines


def duration_text(seconds: float) -> str:
    """Seconds for reading: "3.2 s", "2 min 05 s", "2 h 05 min"."""
    if seconds < 90:
        return f"{seconds:.1f} s"
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min {rest:02d} s"


def _columns_of_character(char: str) -> int:
    if unicodedata.combining(char):
        return 0
    return 2 if unicodedata.east_asian_width(char) in {"W", "F"} else 1
