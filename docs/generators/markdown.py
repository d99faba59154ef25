"""Markdown from plain values."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

DO_NOT_EDIT = (
    "<!-- Written by `python -m docs.make_reference` from the code. Change the code, not this. -->"
)


def table(heading: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table; bars and line breaks in its cells are made harmless."""
    lines = [_line(heading), _line(["---"] * len(heading))]
    return "\n".join([*lines, *(_line([_cell(cell) for cell in row]) for row in rows)])


def page(*parts: str) -> str:
    """A whole page: its parts with an empty line between them."""
    return "\n\n".join([DO_NOT_EDIT, *parts]) + "\n"


def code(text: str) -> str:
    """Inline code."""
    return f"`{text}`" if text else ""


def block(lines: Iterable[str], language: str) -> str:
    """A block of code."""
    return "\n".join([f"```{language}", *lines, "```"])


def number(value: float) -> str:
    """A number as people write it."""
    return f"{value:g}"


def _line(cells: Sequence[str]) -> str:
    return "| " + " | ".join(cells) + " |"


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")
