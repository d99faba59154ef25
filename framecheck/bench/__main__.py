"""`python -m framecheck.bench`: the command of the bench."""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import datetime, timezone
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from framecheck.cli.guard import guarded
from framecheck.errors import ConfigError, ExportError

if TYPE_CHECKING:
    from framecheck.bench.document import Run
    from framecheck.bench.figures import Findings
    from framecheck.bench.setup import Bench

PARTS = ("accuracy", "stills", "clips", "starts", "catalog", "memory", "growth")


@guarded
def bench(  # noqa: PLR0913, PLR0917  # one parameter an option is how typer reads them
    scenes: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER",
            help="Rendered scenes with truth.json; by default those of the project's source.",
        ),
    ] = None,
    quick: Annotated[
        bool, typer.Option("--quick", help="A fifth of the scenes, short clips: a first look.")
    ] = False,
    only: Annotated[
        list[str] | None,
        typer.Option(metavar="PART", help=f"One part, or several: {', '.join(PARTS)}."),
    ] = None,
    out: Annotated[
        Path | None, typer.Option("--out", "-o", metavar="FILE", help="Store the run, as JSON.")
    ] = None,
    against: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="A stored run: say what has changed since."),
    ] = None,
    work: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER",
            help="Where generated clips and catalogs are kept for the next run, about 2 GB; "
            "by default in the system's folder for temporary files.",
        ),
    ] = None,
    models: Annotated[
        Path | None,
        typer.Option(metavar="PATH", help="Folder, wheel or .task file to take the models from."),
    ] = None,
) -> int:
    """Measure how right and how fast this framecheck is on this machine.

    Accuracy against rendered scenes with exact truth, beside a naive baseline; speed as ratios of
    things that are timed in turns; cold starts; a catalog of 100,000 shots; memory; growth. Let
    nothing else run meanwhile: the ratios bear it, the seconds do not.

    Example: python -m framecheck.bench --quick

    Example: python -m framecheck.bench --out today.json --against last.json

    Example: python -m framecheck.bench --only stills --only clips --scenes my-scenes

    Exit codes: 0 fine, whatever the figures are, 2 wrong usage, 3 something could not be run.
    """
    from framecheck.bench.document import compare_runs, read_run, run_json
    from framecheck.bench.words import comparison_lines

    wanted = _check_parts(only or ())
    stored = None if against is None else read_run(against)
    if out is not None and not out.parent.is_dir():
        raise ConfigError(f"there is no folder {out.parent} for --out; make it", where=str(out))
    with _set_up(scenes, work, (quick, models)) as setup:
        run = _run(setup, wanted)
    if out is not None:
        _write(out, run_json(run))
    if stored is not None:
        _say(comparison_lines(stored, compare_runs(stored, run)))
    return 0


def _check_parts(only: list[str] | tuple[str, ...]) -> tuple[str, ...]:
    unknown = [part for part in only if part not in PARTS]
    if unknown:
        raise ConfigError(
            f"the bench has no part {unknown[0]!r}; choose from {', '.join(PARTS)}",
            where=unknown[0],
        )
    return tuple(part for part in PARTS if not only or part in only)


@contextmanager
def _set_up(
    scenes: Path | None, work: Path | None, handling: tuple[bool, Path | None]
) -> Iterator[Bench]:
    """The bench, its progress shown on what stderr was before the libraries are hushed."""
    from framecheck.bench.setup import REPOSITORY_SCENES, Bench
    from framecheck.pipeline.noise import hush_the_end, hushed
    from framecheck.pose.models import provide_models

    quick, models = handling
    if scenes is None and not REPOSITORY_SCENES.is_dir():
        raise ConfigError(
            "an installed framecheck has no scenes; name a folder of them with --scenes, as "
            "tests/bench/scenes in a copy of the project's source",
            where="--scenes",
        )
    folder = work or Path(tempfile.gettempdir()) / "framecheck-bench"
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = error.strerror or str(error)
        raise ConfigError(f"cannot use {folder} for --work: {reason}", where=str(folder)) from error
    with os.fdopen(os.dup(sys.stderr.fileno()), "w", encoding="utf-8") as screen:
        told = _progress(screen.write, screen.flush, lively=screen.isatty())
        setup = Bench(
            scenes=scenes or REPOSITORY_SCENES, folder=folder, quick=quick, models=models, told=told
        )
        setup.frames  # noqa: B018  # what is wrong with the scenes is said before anything is run
        told("the models")
        provide_models(models)
        with hushed():
            yield setup
        hush_the_end()  # called before what was registered earlier, the networks' closing
        told("")


def _progress(
    write: Callable[[str], object], flush: Callable[[], object], *, lively: bool
) -> Callable[[str], None]:
    """What shows the present step: one line that changes, or one a part where that is no screen."""
    started_s = time.monotonic()
    said = [""]

    def told(what: str) -> None:
        elapsed_s = time.monotonic() - started_s
        if lively:
            line = f"{elapsed_s:5.0f} s  {what}"[:78] if what else ""
            write(f"\r{line:78}\r")
        elif what.split(":", maxsplit=1)[0] != said[0]:
            said[0] = what.split(":", maxsplit=1)[0]
            write(f"{elapsed_s:5.0f} s  {said[0]}\n" if what else "")
        flush()

    return told


def _run(setup: Bench, wanted: tuple[str, ...]) -> Run:
    """Run the parts, and print each when it is done."""
    from dataclasses import replace

    from framecheck.bench.document import Run
    from framecheck.bench.machine import describe_machine, describe_versions
    from framecheck.bench.words import heading_lines, part_lines

    run = Run(
        written=datetime.now(timezone.utc).isoformat(timespec="seconds"),
        quick=setup.quick,
        machine=describe_machine(),
        versions=describe_versions(),
        findings={},
    )
    _say(heading_lines(run))
    found: dict[str, Findings] = {}
    for number, name in enumerate(wanted, start=1):
        head = f"{name}, part {number} of {len(wanted)}"
        found[name] = _part(name)(replace(setup, told=_headed(setup.told, head)))
        setup.told("")
        _say(part_lines(name, found[name]))
    return replace(run, findings=found)


def _headed(told: Callable[[str], None], head: str) -> Callable[[str], None]:
    return lambda what: told(f"{head}: {what}")


def _part(name: str) -> Callable[[Bench], Findings]:
    from framecheck.bench.accuracy import measure_accuracy
    from framecheck.bench.clips import measure_clips
    from framecheck.bench.growth import measure_growth
    from framecheck.bench.memory import measure_memory
    from framecheck.bench.shelf import measure_shelf
    from framecheck.bench.starts import measure_starts
    from framecheck.bench.stills import measure_stills

    return {
        "accuracy": measure_accuracy,
        "stills": measure_stills,
        "clips": measure_clips,
        "starts": measure_starts,
        "catalog": measure_shelf,
        "memory": measure_memory,
        "growth": measure_growth,
    }[name]


def _say(lines: Iterator[str]) -> None:
    for line in lines:
        typer.echo(line)


def _write(path: Path, text: str) -> None:
    from framecheck.export.atomic import write_atomically

    try:
        write_atomically(path, text.encode("utf-8"))
    except OSError as error:
        reason = error.strerror or str(error)
        raise ExportError(f"cannot write {path}: {reason}", where=str(path)) from error


def main() -> None:
    """Run the bench."""
    app = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)
    app.command(name="python -m framecheck.bench")(bench)
    app()


if __name__ == "__main__":  # spawned workers import this module again
    main()
