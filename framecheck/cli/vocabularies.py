"""`framecheck vocabularies`: the size names, and where their borders lie on the body."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated

import typer

from framecheck.cli.completions import offer_vocabularies
from framecheck.cli.guard import guarded
from framecheck.cli.text import printable, table_lines, terminal_width, wrapped

if TYPE_CHECKING:
    from framecheck.classify.vocabulary import Band, Span, Vocabulary

_CELLS = 41  # of the drawn ruler, sole to crown
_DRAWN_MARKS = ("sole", "knee", "hip", "chin", "crown")


@guarded
def vocabularies(
    name: Annotated[
        str,
        typer.Argument(
            metavar="NAME_OR_FILE",
            help="Show its sizes on the body ruler.",
            autocompletion=offer_vocabularies,
        ),
    ] = "",
) -> int:
    """List the vocabularies of shot sizes, or show one on the body ruler.

    Example: framecheck vocabularies trade

    Example: framecheck vocabularies mine.toml
    """
    from framecheck.pipeline.settings import load_vocabulary, packaged_vocabulary_names

    width = terminal_width()
    if name:
        typer.echo("\n".join(vocabulary_lines(load_vocabulary(name), width)))
        return 0
    rows = [(item, load_vocabulary(item).title) for item in packaged_vocabulary_names()]
    typer.echo("\n".join(table_lines(rows, width, indent="")))
    typer.echo("\nThe first is the default. Show one with: framecheck vocabularies NAME")
    return 0


def vocabulary_lines(vocabulary: Vocabulary, width: int) -> list[str]:
    """One vocabulary: its source, a ruler with a bar for each size, and what each size shows."""
    lines = [f"{vocabulary.name}: {vocabulary.title}", ""]
    left = max(len(_band_head(band)) for band in vocabulary.bands) + 2
    lines.append(" " * (left + 1) + _ruler_heading())
    for band in vocabulary.bands:
        head = printable(_band_head(band)).ljust(left)
        lines.append(f"{head}|{_bar(band)}|{_figure_words(band)}".rstrip())
    lines.append("")
    rows = [(band.abbr, band.note) for band in vocabulary.bands if band.note]
    lines += table_lines(rows, width)
    return [*lines, "", *wrapped(f"Source: {vocabulary.source}", width, "")]


def _band_head(band: Band) -> str:
    return f"{band.abbr:<6}{band.name}"


def _ruler_heading() -> str:
    from framecheck.geometry.ruler import MARK_LEVELS

    heading = [" "] * (_CELLS + 8)
    for mark in _DRAWN_MARKS:
        start = round(MARK_LEVELS[mark] * (_CELLS - 1))
        heading[start : start + len(mark)] = mark
    return "".join(heading).rstrip()


def _bar(band: Band) -> str:
    """A cell for every 1/40 of stature that the bottom edge may cut in this size."""
    levels = [cell / (_CELLS - 1) for cell in range(_CELLS)]
    return "".join(
        "=" if any(_holds(region.crop, level) for region in band.regions) else "."
        for level in levels
    )


def _holds(span: Span, level: float) -> bool:
    return span.start <= level < span.stop


def _figure_words(band: Band) -> str:
    """The other borders, where crop levels do not tell sizes apart."""
    words = []
    for region in band.regions[:1]:
        for name, span in (("figure", region.figure), ("visible", region.extent)):
            low = span.start if math.isfinite(span.start) and span.start > 0 else None
            high = span.stop if math.isfinite(span.stop) else None
            if low is not None and high is not None:
                words.append(f"{name} {low:g} to {high:g}")
            elif low is not None:
                words.append(f"{name} from {low:g}")
            elif high is not None:
                words.append(f"{name} under {high:g}")
    return "  " + ", ".join(words) if words else ""
