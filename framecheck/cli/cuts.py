"""`framecheck cuts`: do the shots of a sequence cut together?"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from framecheck.cli.completions import offer_table_formats, offer_vocabularies
from framecheck.cli.guard import complain, guarded
from framecheck.cli.progress import ModelProgress, RunProgress
from framecheck.cli.text import terminal_width
from framecheck.errors import CatalogError, ConfigError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from framecheck.catalog.catalog import Catalog
    from framecheck.pipeline.cuts import ShotSequence
    from framecheck.pipeline.order import Order
    from framecheck.pipeline.plan import Tools
    from framecheck.records.coverage import SequenceStudy

_PAIR = re.compile(r"([0-9]{1,7})[,=:]([0-9]{1,7})")
EXIT_FOUND = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wish:
    """What is wanted of a study, whatever it is made from."""

    sources: tuple[str, ...]
    out: Path | None
    pattern: str
    vocabularies: tuple[str, ...]
    models: Path | None
    workers: int | None
    format_name: str
    quiet: bool


@guarded
def cuts(  # noqa: PLR0913, PLR0917  # one parameter an option is how typer reads them
    ctx: typer.Context,
    sources: Annotated[
        list[str],
        typer.Argument(
            metavar="SOURCE",
            help="A results folder or catalog of 'framecheck measure'; or stills and clips in "
            "their order, or a folder of them; or a list: .txt, .csv, .otio or .edl.",
        ),
    ],
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            metavar="OUT",
            help="Folder for the tables; by default that of the catalog.",
        ),
    ] = None,
    file: Annotated[
        str, typer.Option(metavar="PATTERN", help="Which file of a catalog, as 'A0*.mov'.")
    ] = "",
    pair: Annotated[
        list[str] | None,
        typer.Option(
            metavar="A,B", help="Two shots that are meant to match, by number; may be repeated."
        ),
    ] = None,
    explain: Annotated[
        bool,
        typer.Option("--explain", help="Say what was measured, the convention, and what to try."),
    ] = False,
    size_ratio: Annotated[
        float | None,
        typer.Option(metavar="X", help="Sizes of one person should differ this many times: 1.2."),
    ] = None,
    angle: Annotated[
        float | None,
        typer.Option(metavar="DEGREES", help="Or the angle should by this much: 30."),
    ] = None,
    large: Annotated[
        float | None,
        typer.Option(metavar="X", help="From so many times on a change is very large: 3.5."),
    ] = None,
    thresholds: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Your own thresholds for cuts (TOML).")
    ] = None,
    vocabulary: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME_OR_FILE",
            help="Names for sizes, where SOURCE is measured now.",
            autocompletion=offer_vocabularies,
        ),
    ] = None,
    format_name: Annotated[
        str,
        typer.Option(
            "--format",
            metavar="NAME",
            help="csv, parquet or jsonl.",
            autocompletion=offer_table_formats,
        ),
    ] = "csv",
    workers: Annotated[
        int | None, typer.Option(metavar="N", min=1, help="Processes that measure.")
    ] = None,
    models: Annotated[
        Path | None, typer.Option(metavar="PATH", help="Where missing model files are.")
    ] = None,
    fail: Annotated[
        bool,
        typer.Option(
            "--fail-on-cuts", help="Exit with code 1 when a cut is too similar or may cross."
        ),
    ] = False,
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="Write the tables only.")] = False,
) -> int:
    """Judge the cuts of a sequence: sizes, angles, matching reverses, the line, the whole scene.

    Writes cuts, pairs and scene (tables) and scene.json to OUT, and keeps the study in the
    catalog there. What is not measured yet is measured first. Shots and cuts count from 0.

    Example: framecheck cuts day_3 --file 'scene_12*' --explain

    Example: framecheck cuts stills --out scene_12 --pair 3,4

    Example: framecheck cuts edit.otio --out edit

    Exit codes: 0 fine, 1 cuts to look at (with --fail-on-cuts), 2 wrong usage, 3 something could
    not be measured or written, 130 interrupted.
    """
    from framecheck.export.writers import check_writer
    from framecheck.pipeline.collection import without_collection
    from framecheck.pipeline.cut_settings import load_cut_thresholds
    from framecheck.pipeline.cuts import study

    pairs = tuple(_parse_pair(text) for text in pair or ())
    limits = load_cut_thresholds(
        thresholds, size_ratio_min=size_ratio, angle_min_deg=angle, size_ratio_large=large
    )
    check_writer(format_name)
    wish = _Wish(
        sources=tuple(sources), out=out, pattern=file, vocabularies=tuple(vocabulary or ()),
        models=models, workers=workers, format_name=format_name, quiet=quiet,
    )  # fmt: skip
    place, read = _find(ctx.obj, wish)
    with _open(place) as catalog, without_collection():
        sequence = read(catalog)
        told = study(sequence, limits, pairs)
        folder = out or place.parent
        _deliver(catalog, sequence, told, (folder, format_name))
    if not quiet:
        _print(sequence, told, folder, explain=explain)
    return EXIT_FOUND if fail and _is_worth_a_look(told) else 0


def _find(tools: Tools | None, wish: _Wish) -> tuple[Path, Callable[[Catalog], ShotSequence]]:
    """The catalog that holds what is wanted, measured by now, and how to read it there."""
    from framecheck.media.cut_order import is_cut_order, read_cut_order
    from framecheck.pipeline import cuts as sequences

    first = Path(wish.sources[0])
    catalog = sequences.catalog_at(first) if len(wish.sources) == 1 else None
    if catalog is not None:
        return catalog, lambda opened: sequences.sequence_of_catalog(opened, wish.pattern)
    if wish.pattern:
        raise ConfigError("--file chooses within a catalog, and there is none at this source")
    if len(wish.sources) == 1 and is_cut_order(first):
        listed = read_cut_order(first)
        files = list(dict.fromkeys(entry.path for entry in listed.entries))
        order = _measure(tools, wish, files)
        return order.catalog, lambda opened: sequences.sequence_of_order(opened, listed, first)
    order = _measure(tools, wish, list(wish.sources))
    named = [(item.path, item.file) for item in order.inputs if not item.problem]
    if not named:
        raise ConfigError(f"{order.inputs[0].file}: {order.inputs[0].problem}")
    return order.catalog, lambda opened: sequences.sequence_of_files(opened, named)


def _measure(tools: Tools | None, wish: _Wish, files: Sequence[str]) -> Order:
    """Measure what is not measured yet, into the output folder."""
    from framecheck.pipeline.plan import plan_order, real_tools
    from framecheck.pipeline.run import measure_to_tables
    from framecheck.pipeline.settings import Settings
    from framecheck.pipeline.staffing import choose_limits
    from framecheck.report.overlay_file import write_overlay

    if wish.out is None:
        raise ConfigError("name a folder for the results: --out FOLDER")
    settings = Settings(vocabularies=wish.vocabularies, models=wish.models)
    with ModelProgress(quiet=wish.quiet) as progress:
        order = plan_order(
            files, wish.out, settings, tools or real_tools(write_overlay), progress=progress.show
        )
    order = order.with_handling(
        limits=choose_limits(wish.workers), format_name=wish.format_name, afresh=False
    )
    with RunProgress(quiet=wish.quiet) as running:
        summary = measure_to_tables(order, running.watcher)
    if summary.interrupted:
        raise KeyboardInterrupt
    return order


def _open(place: Path) -> Catalog:
    from framecheck.catalog.catalog import Catalog
    from framecheck.pipeline.cuts import study_layout

    try:
        return Catalog.open(place, layout=study_layout())
    except CatalogError:  # a folder that may only be read: the tables go elsewhere
        return Catalog.open_to_read(place)


def _deliver(
    catalog: Catalog,
    sequence: ShotSequence,
    told: SequenceStudy,
    target: tuple[Path, str],
) -> None:
    from framecheck.pipeline.cuts import keep_study, rows_of, write_study

    rows = rows_of(sequence, told)
    write_study(target[0], rows, target[1])
    try:
        keep_study(catalog, rows)
    except CatalogError as error:
        complain(f"the study was not kept in the catalog: {error}")


def _parse_pair(text: str) -> tuple[int, int]:
    match = _PAIR.fullmatch(text.replace(" ", ""))
    if match is None or match[1] == match[2]:
        raise ConfigError(f"--pair takes two numbers of shots as 3,4, got {text!r}")
    return int(match[1]), int(match[2])


def _is_worth_a_look(told: SequenceStudy) -> bool:
    from framecheck.records.coverage import Verdict

    return any(cut.verdict is Verdict.TOO_SIMILAR or cut.line_crossed for cut in told.cuts)


def _print(sequence: ShotSequence, told: SequenceStudy, folder: Path, *, explain: bool) -> None:
    from rich.console import Console
    from rich.text import Text

    from framecheck.cli.cut_lines import study_lines
    from framecheck.pipeline.cuts import SCENE_NAME

    console = Console(highlight=False)
    for line in study_lines(told, sequence.shots, terminal_width(), explain=explain):
        console.print(Text(line.text, style=line.style), soft_wrap=True)
    typer.echo(f"\nTables in {folder}: cuts, pairs and scene, and {SCENE_NAME}")
