"""`framecheck measure`: options to one pipeline call to an exit code."""

from __future__ import annotations

import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from framecheck.cli.guard import (
    EXIT_FAILED,
    EXIT_FLAGS,
    EXIT_INTERRUPTED,
    complain,
    guarded,
)
from framecheck.cli.progress import ModelProgress, RunProgress
from framecheck.cli.text import terminal_width
from framecheck.records.judged import FileStatus

if TYPE_CHECKING:
    from collections.abc import Sequence

    from framecheck.cli.summary import Line
    from framecheck.pipeline.run import Order, RunSummary
    from framecheck.pipeline.stills import Tools


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wish:
    """The options that do not change the results."""

    out: Path
    quiet: bool
    fail_on_flags: bool


@guarded
def measure(  # noqa: PLR0913, PLR0917  # one parameter an option is how typer reads them
    ctx: typer.Context,
    paths: Annotated[
        list[str],
        typer.Argument(metavar="PATH", help="Stills, folders of them, or quoted patterns."),
    ],
    out: Annotated[Path, typer.Option("--out", "-o", metavar="OUT", help="Folder for the tables.")],
    format_name: Annotated[
        str,
        typer.Option("--format", metavar="NAME", help="Of the tables: csv, parquet or jsonl."),
    ] = "csv",
    vocabulary: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME_OR_FILE",
            help="Names for shot sizes; repeat it for further columns. "
            "'framecheck vocabularies' lists them.",
        ),
    ] = None,
    overlay: Annotated[
        bool, typer.Option("--overlay", help="Draw an annotated copy of every still.")
    ] = False,
    workers: Annotated[
        int | None,
        typer.Option(
            metavar="N",
            min=1,
            help="Processes at once; by default as many as cores and memory feed.",
        ),
    ] = None,
    models: Annotated[
        Path | None,
        typer.Option(
            metavar="PATH",
            help="Where missing model files are: a folder or a wheel. Or a .task file to use.",
        ),
    ] = None,
    thresholds: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Your own thresholds for flags (TOML).")
    ] = None,
    room: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Your own headroom and looking-room ranges (TOML)."),
    ] = None,
    time_limit: Annotated[
        float, typer.Option(metavar="SECONDS", min=0.1, help="Wall clock for one file.")
    ] = 60.0,
    afresh: Annotated[
        bool, typer.Option("--afresh", help="Measure again what an earlier run has left in OUT.")
    ] = False,
    log: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Keep what the libraries say.")
    ] = None,
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="No progress, no summary.")] = False,
    fail_on_flags: Annotated[
        bool, typer.Option("--fail-on-flags", help="Exit with code 1 when a still has a flag.")
    ] = False,
) -> int:
    """Measure the framing of stills and write frames, people and files tables to OUT.

    What an earlier run with the same settings has measured into OUT is taken over, so that a run
    that was broken off goes on. The tables hold what this command names, and nothing else.

    Example: framecheck measure stills --out measured --overlay

    Example: framecheck measure "day_*/*.jpg" --out measured --format parquet

    Exit codes: 0 fine, 1 flags found (with --fail-on-flags), 2 wrong usage, 3 some files failed,
    130 interrupted.
    """
    from framecheck.pipeline.pool import PoolLimits
    from framecheck.pipeline.settings import Settings
    from framecheck.pipeline.staffing import choose_workers
    from framecheck.pipeline.stills import plan_order, real_tools
    from framecheck.report.overlay_file import write_overlay

    settings = Settings(
        vocabularies=tuple(vocabulary or ()),
        thresholds=thresholds,
        room=room,
        models=models,
        overlays=overlay,
    )
    limits = PoolLimits(
        workers=choose_workers(workers),
        task_s=time_limit,
        log=log.absolute() if log else None,
    )
    tools: Tools = ctx.obj or real_tools(write_overlay)
    with ModelProgress(quiet=quiet) as progress:
        order = plan_order(paths, out, settings, tools, progress=progress.show)
    order = order.with_handling(limits=limits, format_name=format_name, afresh=afresh)
    return _carry_out(order, _Wish(out=out, quiet=quiet, fail_on_flags=fail_on_flags))


def _carry_out(order: Order, wish: _Wish) -> int:
    from framecheck.pipeline.run import measure_to_tables

    started = time.monotonic()
    with RunProgress(quiet=wish.quiet) as progress:
        summary = measure_to_tables(order, progress.show)
    if not wish.quiet:
        _print_summary(summary, wish.out, time.monotonic() - started)
    return _exit_code(summary, wish)


def _print_summary(summary: RunSummary, out: Path, seconds: float) -> None:
    from framecheck.cli.summary import closing_lines, summary_lines

    width = terminal_width()
    lines = summary_lines(summary, width)
    if lines:
        _print([*lines])
        typer.echo()
    _print(closing_lines(summary, out, seconds, width))


def _print(lines: Sequence[Line]) -> None:
    from rich.console import Console
    from rich.text import Text

    console = Console(highlight=False)
    for line in lines:
        console.print(Text(line.text, style=line.style), soft_wrap=True)


def _exit_code(summary: RunSummary, wish: _Wish) -> int:
    if summary.interrupted:
        complain(
            f"interrupted: the tables in {wish.out} hold what was measured, {summary.left} inputs "
            "are left; give the same command again to go on"
        )
        return EXIT_INTERRUPTED
    if summary.count(FileStatus.FAILED):
        return EXIT_FAILED
    return EXIT_FLAGS if wish.fail_on_flags and summary.flagged else 0
