"""`framecheck measure`: options to one pipeline call to an exit code."""

from __future__ import annotations

import contextlib
import signal
import time
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from framecheck.cli.completions import offer_table_formats, offer_vocabularies
from framecheck.cli.deliver import deliver_results, parse_deliveries
from framecheck.cli.guard import (
    EXIT_FAILED,
    EXIT_FLAGS,
    EXIT_INTERRUPTED,
    complain,
    guarded,
)
from framecheck.cli.progress import ModelProgress, RunProgress
from framecheck.cli.text import terminal_width
from framecheck.errors import ConfigError
from framecheck.records.judged import FileStatus

if TYPE_CHECKING:
    from collections.abc import Sequence

    from framecheck.cli.text import Line
    from framecheck.pipeline.order import Order, RunSummary
    from framecheck.pipeline.plan import Tools


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
        typer.Argument(
            metavar="PATH",
            help="Stills, clips, folders of them, addresses (s3://, gs://, https://), or quoted "
            "patterns; 'take-####.png' for numbered frames.",
        ),
    ],
    out: Annotated[Path, typer.Option("--out", "-o", metavar="OUT", help="Folder for the tables.")],
    format_name: Annotated[
        str,
        typer.Option(
            "--format",
            metavar="NAME",
            help="Of the tables: csv, parquet or jsonl.",
            autocompletion=offer_table_formats,
        ),
    ] = "csv",
    vocabulary: Annotated[
        list[str] | None,
        typer.Option(
            metavar="NAME_OR_FILE",
            help="Names for shot sizes; repeat it for further columns. "
            "'framecheck vocabularies' lists them.",
            autocompletion=offer_vocabularies,
        ),
    ] = None,
    overlay: Annotated[
        bool, typer.Option("--overlay", help="Draw an annotated copy of every still.")
    ] = False,
    catalog: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE",
            help="Where all that is measured is kept, shared by as many runs as you like; by "
            "default framecheck.sqlite in OUT.",
        ),
    ] = None,
    frames_as_clip: Annotated[
        bool,
        typer.Option("--frames-as-clip", help="Take pictures numbered in a row for one clip."),
    ] = False,
    frame_rate: Annotated[
        str, typer.Option(metavar="RATE", help="Of numbered frames: 24, 25, 29.97 or 30000/1001.")
    ] = "24",
    frame: Annotated[
        list[str] | None,
        typer.Option(
            metavar="SHAPE",
            help="Judge all in a delivery frame, too: 2.39, 9:16 ...; repeat it. As "
            "'framecheck deliver'.",
        ),
    ] = None,
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
        float,
        typer.Option(
            metavar="SECONDS",
            min=0.1,
            help="Wall clock for one picture; a clip that gives no frame for so long fails.",
        ),
    ] = 60.0,
    afresh: Annotated[
        bool, typer.Option("--afresh", help="Measure again what an earlier run has measured.")
    ] = False,
    log: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Keep what the libraries say.")
    ] = None,
    on: Annotated[
        str,
        typer.Option(
            "--on",
            metavar="PLACE",
            help="Where the work is done: local, or dask://HOST:PORT, a Dask cluster.",
        ),
    ] = "local",
    quiet: Annotated[bool, typer.Option("--quiet", "-q", help="No progress, no summary.")] = False,
    fail_on_flags: Annotated[
        bool, typer.Option("--fail-on-flags", help="Exit with code 1 when anything has a flag.")
    ] = False,
) -> int:
    """Measure the framing of stills and clips; write frames, people, shots and files to OUT.

    A clip is cut into shots, and each shot gets one row with its size, what becomes of it, and the
    frame that shows it best. What was measured before with the same settings is taken over from
    the catalog, wherever the file lies now, so that a run that was broken off goes on. The tables
    hold what this command names, and nothing else.

    Example: framecheck measure stills --out measured --overlay

    Example: framecheck measure /rushes/day_3 --out day_3 --catalog rushes.sqlite

    Example: framecheck measure s3://archive/1998 --out 1998 --on dask://head:8786

    Exit codes: 0 fine, 1 flags found (with --fail-on-flags), 2 wrong usage, 3 some files failed,
    130 interrupted.
    """
    from framecheck.pipeline.executor import check_place
    from framecheck.pipeline.plan import plan_order, real_tools
    from framecheck.pipeline.settings import Settings
    from framecheck.pipeline.staffing import choose_limits
    from framecheck.report.overlay_file import write_overlay

    settings = Settings(
        vocabularies=tuple(vocabulary or ()),
        thresholds=thresholds,
        room=room,
        models=models,
        overlays=overlay,
        frames_as_clip=frames_as_clip,
        frame_rate=parse_rate(frame_rate),
    )
    check_place(on, workers)
    deliveries = parse_deliveries(frame or ())
    limits = choose_limits(workers, task_s=time_limit, log=log.absolute() if log else None)
    tools: Tools = ctx.obj or real_tools(write_overlay)
    with ModelProgress(quiet=quiet) as progress:
        order = plan_order(paths, out, settings, tools, progress=progress.show)
    order = order.with_handling(
        limits=limits, format_name=format_name, afresh=afresh, catalog=catalog, place=on
    )
    code = _carry_out(order, _Wish(out=out, quiet=quiet, fail_on_flags=fail_on_flags))
    if deliveries and code != EXIT_INTERRUPTED:
        deliver_results(out, deliveries, settings, (format_name, quiet))
    return code


def parse_rate(text: str) -> Fraction:
    """The frame rate that is meant: 29.97 is 30000/1001.

    Raises:
        ConfigError: it is none.
    """
    from framecheck.units import snap_rate

    try:
        return snap_rate(Fraction(text.strip()))
    except (ValueError, ZeroDivisionError) as error:
        raise ConfigError(
            f"--frame-rate takes a number above 0 as 24, 29.97 or 30000/1001, got {text!r}"
        ) from error


def _carry_out(order: Order, wish: _Wish) -> int:
    from framecheck.pipeline.run import measure_to_tables

    started = time.monotonic()
    with _told_to_end_as_by_ctrl_c(), RunProgress(quiet=wish.quiet) as progress:
        summary = measure_to_tables(order, progress.watcher)
    if not wish.quiet:
        _print_summary(summary, wish.out, time.monotonic() - started)
    return _exit_code(summary, wish)


@contextlib.contextmanager
def _told_to_end_as_by_ctrl_c() -> Iterator[None]:
    """A night's run is ended by a shutdown or a scheduler as cleanly as by Ctrl-C."""

    def interrupt(_number: int, _frame: object) -> None:
        raise KeyboardInterrupt

    try:
        before = signal.signal(signal.SIGTERM, interrupt)
    except ValueError:  # not in the main thread, as in a test
        yield
        return
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


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
