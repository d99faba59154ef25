"""`framecheck report`: the results as one page to look at."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Annotated

import typer

from framecheck.cli.guard import complain, guarded


@guarded
def report(
    catalog: Annotated[
        Path,
        typer.Argument(
            metavar="DIR_OR_CATALOG", help="A catalog, or the results folder that it is in."
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", "-o", metavar="FILE", help="The page; by default report.html beside it."
        ),
    ] = None,
    folder: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="What lies in this folder and below.")
    ] = None,
    title: Annotated[
        str, typer.Option(metavar="WORDS", help="Of the page; by default the folder's name.")
    ] = "",
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="No progress, no summary.")] = False,
) -> int:
    """Write one HTML page with every frame, what was measured drawn on it, filters and charts.

    The page needs no network and no other file: it opens from disk, prints, and works on a phone.
    It holds small pictures of the footage; pass it on only as you would the footage. The pictures
    are taken from the files where they lie now; what has gone is shown without one.

    Example: framecheck report measured

    Example: framecheck report rushes.sqlite --folder /rushes/day_3 --out day_3.html

    Exit codes: 0 fine, 2 wrong usage, 3 the catalog cannot be read or FILE cannot be written.
    """
    from framecheck.pipeline.pages import REPORT_NAME, find_catalog_file, write_report

    found = find_catalog_file(catalog)
    target = check_page_name(out) if out else found.with_name(REPORT_NAME)
    hushed = quiet or not sys.stderr.isatty()
    written = write_report(
        found,
        target,
        folder=folder,
        title=title,
        told=lambda done, count: None if hushed else _progress(done, count),
    )
    if written.without:
        complain(f"{written.without} of {written.entries} have no picture: {written.why}")
    if not quiet:
        size = f"{written.size_bytes / 1e6:.1f} MB"
        frames = "frame" if written.entries == 1 else "frames"
        typer.echo(f"{written.path}: {written.entries} {frames}, {size}")
    return 0


def check_page_name(out: Path) -> Path:
    """The page's file, unless its name is that of something else.

    Raises:
        ConfigError: it does not end in .html or .htm.
    """
    from framecheck.errors import ConfigError

    if out.suffix.lower() not in {".html", ".htm"}:
        raise ConfigError(f"--out takes a name that ends in .html, got {out}", where=str(out))
    return out


def check_writable(catalog_file: Path) -> None:
    """Make sure that what is said can be kept.

    Raises:
        CatalogError: the catalog can only be read.
    """
    from framecheck.catalog.catalog import Catalog

    with Catalog.open(catalog_file) as catalog:
        catalog.corrections.check_writable()


def show_progress(count: int, *, quiet: bool) -> Callable[[int], None]:
    """What shows on the terminal how many pictures are made."""

    def told(done: int) -> None:
        if not quiet:
            _progress(done, count)

    return told


def _progress(done: int, count: int) -> None:
    typer.echo(f"\rpictures: {done} of {count}", nl=done == count, err=True)
