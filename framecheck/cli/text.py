"""Plain text for terminals: wrapping, columns, and names that cannot play tricks."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterable, Sequence

WIDEST = 110


def terminal_width() -> int:
    """Columns to write in: the terminal's, 80 when there is none."""
    return max(40, min(WIDEST, shutil.get_terminal_size((80, 24)).columns))


def printable(text: str) -> str:
    r"""The text with control characters as escapes.

    A file name may hold line breaks or the codes that colour or clear a terminal.
    """
    return "".join(
        char if char.isprintable() else char.encode("unicode_escape").decode() for char in text
    )


def wrapped(text: str, width: int, indent: str, first: str | None = None) -> list[str]:
    """The text in lines of at most `width`, indented; `first` stands before the first one."""
    return textwrap.wrap(
        printable(text),
        width,
        initial_indent=indent if first is None else first,
        subsequent_indent=indent,
        break_on_hyphens=False,
    )


def table_lines(
    rows: Iterable[Sequence[str]], width: int, *, indent: str = "  ", gap: str = "  "
) -> list[str]:
    """Rows as aligned lines; the last cell of a row is wrapped in its own column."""
    cells = [[printable(cell) for cell in row] for row in rows]
    if not cells:
        return []
    sizes = [max(len(row[index]) for row in cells) for index in range(len(cells[0]) - 1)]
    lines = []
    for row in cells:
        head = indent + "".join(
            cell.ljust(size) + gap for cell, size in zip(row, sizes, strict=False)
        )
        hang = " " * min(len(head), width // 2)
        if len(head) > width // 2:  # no room left beside the other cells
            lines += [head.rstrip(), *wrapped(row[-1], width, hang)]
        else:
            lines += wrapped(row[-1], width, hang, head) or [head.rstrip()]
    return lines
