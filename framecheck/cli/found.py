"""Found rows as a table for terminals, and as the bytes of files."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import takewhile
from typing import TYPE_CHECKING

from framecheck.classify.flag_cells import flagged_parts
from framecheck.cli.text import columns_of, printable
from framecheck.export.columns import Column, Kind, describe_columns
from framecheck.export.rows import writable_text
from framecheck.export.writers import encode_csv, encode_jsonl

if TYPE_CHECKING:
    from rich.console import JustifyMethod
    from rich.table import Table

    from framecheck.export.rows import Cell, Row

ROOMY = 100
"""From so many columns on, a terminal has room for where the edge cuts."""

MEDIUM = 120
"""From so many on, for how the subject stands."""

WIDE = 170
"""From so many on, for sizes in full and for how they change."""

_GAP = "  "


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shown:
    """One column of the table for terminals.

    Attributes:
        heading: over it.
        text: of its cells.
        least, most: columns of the terminal between which it is shown.
        right: numbers stand at the right. folds: may be broken into lines.
    """

    heading: str
    text: Callable[[Row], str]
    least: int = 0
    most: int = 10_000
    right: bool = False
    folds: bool = False


def found_table(rows: Sequence[Row], in_all: int, width: int) -> list[str | Table]:
    """What a terminal of that width shows: the shared folder, the table, how many there are."""
    folder = shared_folder([str(row["place"]) for row in rows])
    lines: list[str | Table] = [f"In {printable(folder)}"] if folder else []
    lines.append(_table(rows, folder, width))
    shown = f"{len(rows)} found."
    if in_all > len(rows):
        shown = f"The first {len(rows)} of {in_all}; narrow the search, or raise --limit."
    return [*lines, shown]


def found_csv(names: Sequence[str], rows: Sequence[Row]) -> bytes:
    """The rows as the other tables are written."""
    return encode_csv(describe_found(names, rows), _writable(rows))


def found_json(names: Sequence[str], rows: Sequence[Row]) -> bytes:
    """The rows as one array of objects, each on a line of its own."""
    lines = encode_jsonl(describe_found(names, rows), _writable(rows)).splitlines()
    return b"[\n" + b",\n".join(lines) + b"\n]\n" if lines else b"[]\n"


def describe_found(names: Sequence[str], rows: Sequence[Row]) -> tuple[Column, ...]:
    """The columns of those names, the reasons for empty cells behind all the others."""
    known = {"place": _PLACE, "kind": _KIND}
    for table in ("frames", "shots"):
        known |= {column.name: column for column in describe_columns().get(table, ())}
    ordered = sorted(names, key=lambda name: name.endswith("_why"))
    return tuple(known.get(name) or _unknown_column(name, rows) for name in ordered)


def shared_folder(places: Sequence[str]) -> str:
    """The folder that all places lie in, with its separator; "" when there is none."""
    folders = {os.path.dirname(place) for place in places}  # noqa: PTH120  # may be no valid text
    if any("://" in folder for folder in folders):
        return _shared_address(folders)
    try:
        folder = os.path.commonpath(folders) if folders else ""
    except ValueError:  # on several drives
        return ""
    return os.path.join(folder, "") if folder else ""  # noqa: PTH118


def _shared_address(folders: set[str]) -> str:
    """As for folders; between the slashes of `s3://` there is nothing to be left out."""
    first, last = min(f"{folder}/" for folder in folders), max(f"{folder}/" for folder in folders)
    same = sum(1 for _ in takewhile(lambda two: two[0] == two[1], zip(first, last, strict=False)))
    folder = first[: first.rfind("/", 0, same) + 1]
    return folder if folder.count("/") > 2 else ""


def _table(rows: Sequence[Row], folder: str, width: int) -> Table:
    from rich.table import Table
    from rich.text import Text

    name = _Shown(heading="file", text=lambda row: str(row["place"])[len(folder) :], folds=True)
    shown = [name, *(column for column in _SHOWN if column.least <= width < column.most)]
    # A column in which no cell holds anything is left out.
    cells = [(column, [printable(column.text(row)) for row in rows]) for column in shown]
    cells = [(column, texts) for column, texts in cells if any(texts)]
    widths = _share_out([(column, max(map(columns_of, texts))) for column, texts in cells], width)
    table = Table(box=None, padding=(0, len(_GAP), 0, 0), header_style="bold", pad_edge=False)
    for (column, _), columns in zip(cells, widths, strict=True):
        justify: JustifyMethod = "right" if column.right else "left"
        table.add_column(column.heading, justify=justify, width=columns, overflow="fold")
    for texts in zip(*(texts for _, texts in cells), strict=True):
        # As text and not as a string, in which [bold] in a name would be a command.
        table.add_row(*map(Text, texts))
    return table


def _share_out(columns: Sequence[tuple[_Shown, int]], width: int) -> list[int]:
    """How wide each column is: as its cells need, those that fold share what is left of that."""
    needed = [max(columns_of(column.heading), longest) for column, longest in columns]
    folding = [index for index, (column, _) in enumerate(columns) if column.folds]
    firm = sum(size for index, size in enumerate(needed) if index not in folding)
    left = width - firm - len(_GAP) * (len(columns) - 1)
    if sum(needed[index] for index in folding) <= left:
        return needed
    first, *others = folding
    # Names take three fifths; more when the flags need less than the rest.
    needed[first] = min(
        needed[first], max(left * 3 // 5, left - sum(needed[index] for index in others))
    )
    for index in others:
        needed[index] = max(1, left - needed[first])
    return needed


def _whole(name: str) -> Callable[[Row], str]:
    return lambda row: "" if row.get(name) is None else str(row[name])


def _word(name: str) -> Callable[[Row], str]:
    return lambda row: str(row.get(name) or "")


def _length(row: Row) -> str:
    value = row.get("duration_s")
    return f"{value:.1f} s" if isinstance(value, int | float) else ""


def _cut(row: Row) -> str:
    value = row.get("crop_level")
    return f"{value:.2f}" if isinstance(value, int | float) else ""


def _who(row: Row) -> str:
    people, kind = _whole("people")(row), _word("shot_type")(row)
    return kind if people == "0" else f"{people} {kind}".strip()


def _size(row: Row) -> str:
    return str(row.get("size") or row.get("size_abbr") or "")


def _size_abbr(row: Row) -> str:
    return str(row.get("size_abbr") or row.get("size") or "")


def _flags(row: Row) -> str:
    return ", ".join(flagged_parts(str(row.get("flags") or "")))


_SHOWN = (
    _Shown(heading="shot", text=_whole("shot"), right=True),
    _Shown(heading="from", text=_word("start_timecode"), least=70),
    _Shown(heading="to", text=_word("end_timecode"), least=WIDE),
    _Shown(heading="length", text=_length, right=True),
    _Shown(heading="size", text=_size_abbr, most=WIDE),
    _Shown(heading="size", text=_size, least=WIDE),
    _Shown(heading="change", text=_word("size_change"), least=WIDE),
    _Shown(heading="cut", text=_cut, least=ROOMY, right=True),
    _Shown(heading="people", text=_whole("people"), most=MEDIUM, right=True),
    _Shown(heading="people", text=_who, least=MEDIUM),
    _Shown(heading="facing", text=_word("facing"), least=MEDIUM),
    _Shown(heading="flags", text=_flags, folds=True),
)
_PLACE = Column(name="place", kind=Kind.PATH, unit="", meaning="Where the file was seen last.")
_KIND = Column(name="kind", kind=Kind.TEXT, unit="", meaning="still, clip or frames.")


def _unknown_column(name: str, rows: Sequence[Row]) -> Column:
    """A column of a catalog that was made with further vocabularies, or by a later program."""
    values = [row[name] for row in rows if row[name] is not None]
    kind = Kind.TEXT
    if values and not any(isinstance(value, str) for value in values):
        whole = all(isinstance(value, int) for value in values)
        kind = Kind.WHOLE if whole else Kind.NUMBER
    return Column(name=name, kind=kind, unit="", meaning="", decimals=4)


def _writable(rows: Sequence[Row]) -> list[Row]:
    return [{name: _writable_cell(value) for name, value in row.items()} for row in rows]


def _writable_cell(value: Cell) -> Cell:
    return writable_text(value) if isinstance(value, str) else value
