"""`framecheck find`: questions to the catalog."""

from __future__ import annotations

import io
import re
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from framecheck.cli.completions import (
    offer_facings,
    offer_flagged_parts,
    offer_list_formats,
    offer_shot_types,
    offer_sizes,
)
from framecheck.cli.guard import complain, guarded
from framecheck.cli.text import NARROWEST
from framecheck.errors import ConfigError

if TYPE_CHECKING:
    from collections.abc import Sequence
    from enum import Enum

    from framecheck.catalog.catalog import Catalog
    from framecheck.catalog.search import FindQuery
    from framecheck.export.rows import Row

FORMATS = ("table", "csv", "json")

_PEOPLE = re.compile(r"(?P<fewest>[0-9]{1,6})(?:(?P<more>\+)|-(?P<most>[0-9]{1,6}))?")
_FORMAT_OF = {".csv": "csv", ".json": "json", ".txt": "table"}
_TABLE_LIMIT = 200  # a longer table scrolls away
_FILE_WIDTH = 200  # of a table in a file, which no terminal's edge cuts


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wish:
    """Where the rows go, and how they look."""

    format_name: str
    out: Path | None


@guarded
def find(  # noqa: PLR0913, PLR0917  # one parameter an option is how typer reads them
    catalog: Annotated[
        Path | None,
        typer.Argument(
            metavar="CATALOG",
            help="The catalog, or the results folder that it is in; by default this folder's.",
        ),
    ] = None,
    size: Annotated[
        list[str] | None,
        typer.Option(
            metavar="SIZE",
            help="Name or abbreviation of the shot size.",
            autocompletion=offer_sizes,
        ),
    ] = None,
    people: Annotated[
        str, typer.Option(metavar="COUNT", help="How many: 2, or 2-4, or 3+ (three and more).")
    ] = "",
    flag: Annotated[
        list[str] | None,
        typer.Option(
            metavar="PART",
            help="A flagged part, as knee; or any; or none.",
            autocompletion=offer_flagged_parts,
        ),
    ] = None,
    shot_type: Annotated[
        list[str] | None,
        typer.Option(
            metavar="TYPE",
            help="As single, two or over-the-shoulder.",
            autocompletion=offer_shot_types,
        ),
    ] = None,
    facing: Annotated[
        list[str] | None,
        typer.Option(
            metavar="WAY",
            help="How the main subject faces: to lens, three-quarter, profile, away.",
            autocompletion=offer_facings,
        ),
    ] = None,
    folder: Annotated[
        str | None,
        typer.Option(metavar="FOLDER", help="What lies in this folder, or address, and below."),
    ] = None,
    file: Annotated[
        str, typer.Option(metavar="PATTERN", help="File names, as 'A0*.mov', in quotes.")
    ] = "",
    longer_than: Annotated[
        float | None, typer.Option(metavar="SECONDS", min=0, help="Shots that last longer.")
    ] = None,
    shorter_than: Annotated[
        float | None, typer.Option(metavar="SECONDS", min=0, help="Shots that end sooner.")
    ] = None,
    limit: Annotated[
        int | None,
        typer.Option(
            metavar="N", min=1, help=f"At most so many rows; for a table {_TABLE_LIMIT} by default."
        ),
    ] = None,
    format_name: Annotated[
        str,
        typer.Option(
            "--format",
            metavar="NAME",
            help="table, csv or json; by default what OUT ends in.",
            autocompletion=offer_list_formats,
        ),
    ] = "",
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FILE", help="Write there, not here.")
    ] = None,
    counts: Annotated[
        bool,
        typer.Option(
            "--counts", help="How much there is of each size, flag and so on, in place of a list."
        ),
    ] = False,
) -> int:
    """Find shots and stills in a catalog: by size, people, flags, facing, place and length.

    Different options narrow the search; an option that is given twice widens it. A file that
    lies at several places is listed at each of them.

    Example: framecheck find measured --size MCU --size CU --people 1 --flag none

    Example: framecheck find --flag knee --folder /rushes/day_3 --longer-than 4 --out knees.csv

    Example: framecheck find measured --counts --folder /rushes/day_3

    Exit codes: 0 fine, whether or not anything was found, 2 wrong usage, 3 the catalog cannot be
    read or FILE cannot be written.
    """
    from framecheck.catalog.catalog import Catalog
    from framecheck.catalog.search import FindQuery
    from framecheck.records.framing import Facing
    from framecheck.records.judged import ShotType

    wish = _Wish(format_name=check_format(format_name, out), out=out)
    fewest, most = parse_people(people)
    query = FindQuery(
        sizes=tuple(size or ()),
        fewest_people=fewest,
        most_people=most,
        flags=tuple(word.lower() for word in flag or ()),
        shot_types=_check_words(shot_type, ShotType, "--shot-type"),
        facings=_check_words(facing, Facing, "--facing"),
        folder=_place(folder),
        file_pattern=file,
        longer_than_s=longer_than,
        shorter_than_s=shorter_than,
        limit=limit or (_TABLE_LIMIT if wish.format_name == "table" and out is None else None),
    )
    with Catalog.open_to_read(find_catalog(catalog)) as opened:
        (_answer_counts if counts else _answer)(opened, query, wish)
    return 0


def _place(folder: str | None) -> Path | None:
    from framecheck.media.address import RemotePath, is_address

    if folder is None:
        return None
    return RemotePath(folder) if is_address(folder) else Path(folder)


def find_catalog(named: Path | None) -> Path:
    """The catalog file that is meant: itself, or the one in the named or the current folder.

    Raises:
        ConfigError: there is none.
    """
    from framecheck.catalog.catalog import CATALOG_NAME

    path = named or Path()
    if path.is_dir():
        path = path / CATALOG_NAME
    if not path.exists():
        raise ConfigError(
            f"there is no catalog at {path}; name one, or the folder that framecheck measure wrote "
            "its tables to",
            where=str(path),
        )
    return path


def parse_people(text: str) -> tuple[int | None, int | None]:
    """Fewest and most people from "2", "2-4" or "3+"; None for no limit.

    Raises:
        ConfigError: it is none of these.
    """
    if not text:
        return (None, None)
    match = _PEOPLE.fullmatch(text.strip())
    if match is None:
        raise ConfigError(f"--people takes a count as 2, 2-4 or 3+, got {text!r}")
    fewest = int(match["fewest"])
    if match["more"]:
        return (fewest, None)
    most = int(match["most"]) if match["most"] else fewest
    if most < fewest:
        raise ConfigError(f"--people takes the smaller count first, got {text!r}")
    return (fewest, most)


def check_format(format_name: str, out: Path | None) -> str:
    """The format that is wanted: as it is named, else by how the file's name ends.

    Raises:
        ConfigError: there is no such format, or the name does not tell.
    """
    if format_name and format_name not in FORMATS:
        raise ConfigError(f"unknown format {format_name!r}; choose from {', '.join(FORMATS)}")
    if format_name or out is None:
        return format_name or "table"
    if out.suffix.lower() not in _FORMAT_OF:
        raise ConfigError(
            f"{out} does not say which format is wanted: end it in .csv, .json or .txt, or add "
            "--format",
            where=str(out),
        )
    return _FORMAT_OF[out.suffix.lower()]


def _check_words(words: list[str] | None, known: type[Enum], option: str) -> tuple[str, ...]:
    wanted = tuple(word.lower() for word in words or ())
    choices = [member.value for member in known]
    for word in wanted:
        if word not in choices:
            raise ConfigError(f"{option} takes one of {', '.join(choices)}, got {word!r}")
    return wanted


def _answer(catalog: Catalog, query: FindQuery, wish: _Wish) -> None:
    from framecheck.cli.found import found_csv, found_json

    if wish.out is not None:
        _check_target(catalog, wish.out)
    rows = catalog.find(query)
    if not rows:
        complain(_nothing_found(catalog, query))
    if wish.format_name == "table":
        cut_off = query.limit is not None and len(rows) == query.limit
        _put_out_table(rows, catalog.count(query) if cut_off else len(rows), wish.out)
    else:
        encode = found_csv if wish.format_name == "csv" else found_json
        _put_out(encode(catalog.found_columns(), rows), wish.out)


def _answer_counts(catalog: Catalog, query: FindQuery, wish: _Wish) -> None:
    from framecheck.cli.counted import counted_csv, counted_json, counted_lines

    if wish.out is not None:
        _check_target(catalog, wish.out)
    counts = catalog.tally(query)
    if not counts:
        complain(_nothing_found(catalog, query))
    if wish.format_name == "table":
        _put_out("".join(f"{line}\n" for line in counted_lines(counts)).encode(), wish.out)
    else:
        _put_out((counted_csv if wish.format_name == "csv" else counted_json)(counts), wish.out)


def _put_out(content: bytes, out: Path | None) -> None:
    from framecheck.export.atomic import write_atomically

    if out is None:
        typer.echo(content, nl=False)
    else:
        write_atomically(out, content)


def _put_out_table(rows: Sequence[Row], in_all: int, out: Path | None) -> None:
    from rich.console import Console

    from framecheck.cli.found import found_table
    from framecheck.export.atomic import write_atomically

    terminal = max(NARROWEST, shutil.get_terminal_size((80, 24)).columns)
    width = terminal if out is None else _FILE_WIDTH
    text = io.StringIO()
    console = Console(width=width, highlight=False, file=None if out is None else text)
    for part in found_table(rows, in_all, width) if rows else ():
        console.print(part, markup=False)
    if out is not None:
        lines = [f"{line.rstrip()}\n" for line in text.getvalue().splitlines()]
        write_atomically(out, "".join(lines).encode())


def _check_target(catalog: Catalog, out: Path) -> None:
    """Neither the catalog nor anything that was measured may be written over."""
    if catalog.holds_place(out) or _is_same(out, catalog.path):
        what = "the catalog itself" if _is_same(out, catalog.path) else "a file that was measured"
        raise ConfigError(f"{out} is {what}; name another --out", where=str(out))


def _is_same(one: Path, other: Path) -> bool:
    return one.exists() and one.samefile(other)


def _nothing_found(catalog: Catalog, query: FindQuery) -> str:
    """That nothing was found, and which words there are where an unknown one was asked for."""
    from framecheck.catalog.search import ANY_FLAG, NO_FLAG

    sizes = catalog.sizes()
    known = {word.casefold() for pair in sizes for word in pair}
    if any(word.casefold() not in known for word in query.sizes):
        names = ", ".join(f"{name} ({abbr})" if abbr else name for name, abbr in sizes)
        return f"nothing found; the sizes in this catalog are: {names or 'none'}"
    parts = catalog.flagged_parts()
    if any(word not in {*parts, ANY_FLAG, NO_FLAG} for word in query.flags):
        return f"nothing found; the flags in this catalog are: {', '.join(parts) or 'none'}"
    return "nothing found"
