"""`framecheck review`: the report as a page on which results can be confirmed and corrected."""

from __future__ import annotations

import sys
import webbrowser
from pathlib import Path
from typing import Annotated

import typer

from framecheck.cli.guard import guarded


@guarded
def review(
    catalog: Annotated[
        Path,
        typer.Argument(
            metavar="DIR_OR_CATALOG", help="A catalog, or the results folder that it is in."
        ),
    ],
    folder: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="What lies in this folder and below.")
    ] = None,
    browser: Annotated[
        bool, typer.Option("--browser/--no-browser", help="Open the page in the usual browser.")
    ] = True,
) -> int:
    """Confirm or correct sizes, people, shot types, subjects and flags, with single keys.

    The page of framecheck report is served on this machine alone, at an address with a secret in
    it, until you end the review on the page or press Ctrl-C. What you say is in the catalog at
    once, with what was measured kept beside it; it outlives a new measurement of the same content,
    and all tables and searches show it as confirmed. framecheck agree compares the two.

    Example: framecheck review measured

    Example: framecheck review rushes.sqlite --folder /rushes/day_3 --no-browser

    Exit codes: 0 fine, 2 wrong usage, 3 the catalog cannot be used.
    """
    from framecheck.cli.report import check_writable, show_progress
    from framecheck.pipeline.pages import find_catalog_file, read_parts
    from framecheck.report.page.pictures import make_pictures
    from framecheck.review.server import ReviewServer
    from framecheck.review.session import ReviewSession

    found = find_catalog_file(catalog)
    check_writable(found)
    parts = read_parts(found, folder=folder)
    told = show_progress(len(parts.entries), quiet=not sys.stderr.isatty())
    session = ReviewSession(found, parts, make_pictures(parts.entries, told))
    with ReviewServer(session) as server:
        typer.echo(f"Review {len(parts.entries)} frames at {server.address}")
        typer.echo("End it there, or press Ctrl-C here; everything said is kept at once.")
        if browser:
            webbrowser.open(server.address)
        try:
            server.serve_forever(poll_interval=0.1)
        except KeyboardInterrupt:
            typer.echo("")
    seen = "1 frame was" if len(session.seen) == 1 else f"{len(session.seen)} frames were"
    typer.echo(f"Ended. {seen} looked at; see framecheck agree {catalog}")
    return 0
