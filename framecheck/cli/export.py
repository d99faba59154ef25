"""`framecheck export`: results to timelines, edit lists, metadata, tables and pages."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from framecheck.cli.completions import offer_export_formats
from framecheck.cli.guard import EXIT_FAILED, complain, guarded

_SHOWN = 12  # files that are named on the terminal


@guarded
def export(  # noqa: PLR0913, PLR0917  # one parameter an option is how typer reads them
    results: Annotated[
        Path,
        typer.Argument(
            metavar="RESULTS", help="The folder that framecheck measure wrote to, or a catalog."
        ),
    ],
    out: Annotated[Path, typer.Option("--out", "-o", metavar="OUT", help="Folder to write to.")],
    names: Annotated[
        list[str],
        typer.Option(
            "--as",
            metavar="FORMAT",
            help="otio, edl, xmp, vtt, csv, jsonl, parquet, xlsx or md; repeat it.",
            autocompletion=offer_export_formats,
        ),
    ],
    sequence: Annotated[
        str,
        typer.Option(
            metavar="NAME",
            help="One timeline or list for all, stills held for 2 s; not one a clip.",
        ),
    ] = "",
    beside: Annotated[
        bool, typer.Option("--beside", help="Put XMP sidecars beside the media, not into OUT.")
    ] = False,
    embed: Annotated[
        bool,
        typer.Option(
            "--embed", help="Put XMP into the stills themselves; clips still get sidecars."
        ),
    ] = False,
    media: Annotated[
        Path | None,
        typer.Option(metavar="FOLDER", help="Where the inputs lie, when they have moved since."),
    ] = None,
    folder: Annotated[
        Path | None, typer.Option(metavar="FOLDER", help="Only what lies in this folder and below.")
    ] = None,
    file: Annotated[
        str, typer.Option(metavar="PATTERN", help="Only files so named, as 'A0*.mov', in quotes.")
    ] = "",
) -> int:
    """Export results to open formats, for an edit, an archive or a spreadsheet.

    otio: OpenTimelineIO, one timeline a clip; shots are clips with their measurements as metadata,
    sizes and flags are markers. edl: CMX 3600 lists with locators. vtt: chapters for players.
    xmp: sidecars with shot size, keywords, description, IPTC Scene codes and the numbers; what a
    sidecar already holds is kept. csv, jsonl (with JSON Schema), parquet: the tables. xlsx: all of
    them in one workbook. md: a summary to read.

    Originals are never changed, unless --embed is given: then the stills alone, each whole or not
    at all, and only after every pixel was found to be the same.

    Example: framecheck export day_3 --as otio --as xlsx --out edit

    Example: framecheck export rushes.sqlite --as edl --sequence "Day 3" --folder day_3 --out edit

    Exit codes: 0 fine, 2 wrong usage, 3 something could not be exported.
    """
    from framecheck.pipeline.export_order import ExportOrder
    from framecheck.pipeline.exporting import export as write
    from framecheck.pipeline.exporting import narrow
    from framecheck.pipeline.results import load_results

    chosen = narrow(load_results(results, media), file, folder)
    order = ExportOrder(out=out, sequence=sequence, beside=beside, embed=embed)
    done = write(chosen, names, order)
    _print(done.written)
    for problem in done.problems:
        complain(problem)
    return EXIT_FAILED if done.problems else 0


def _print(written: tuple[Path, ...]) -> None:
    from framecheck.cli.text import printable

    for path in written[:_SHOWN]:
        typer.echo(printable(str(path)))
    if len(written) > _SHOWN:
        typer.echo(f"and {len(written) - _SHOWN} more; {len(written)} files in all")
