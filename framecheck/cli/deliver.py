"""`framecheck deliver`: results judged in the frames that are delivered."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from framecheck.cli.completions import offer_table_formats, offer_vocabularies
from framecheck.cli.guard import EXIT_FAILED, complain, guarded
from framecheck.errors import ConfigError

if TYPE_CHECKING:
    from framecheck.pipeline.deliveries import DeliveryTally
    from framecheck.pipeline.settings import Settings
    from framecheck.records.delivery import Delivery


@guarded
def deliver(  # noqa: PLR0913, PLR0917  # one parameter an option is how typer reads them
    results: Annotated[
        Path,
        typer.Argument(
            metavar="RESULTS", help="The folder that framecheck measure wrote to, or a catalog."
        ),
    ],
    frame: Annotated[
        list[str] | None,
        typer.Option(
            metavar="SHAPE",
            help="2.39, 16:9, 9:16, 1:1 ...; off the middle as 9:16,right=0.1 (of the picture "
            "width; down= likewise); protected as 2.39,protect=5%. Repeat it.",
        ),
    ] = None,
    fdl: Annotated[
        list[Path] | None,
        typer.Option(metavar="FILE", help="Frames from an ASC Framing Decision List (.fdl)."),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", metavar="OUT", help="Folder for tables; by default RESULTS."),
    ] = None,
    write_fdl: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write the frames as a Framing Decision List, too."),
    ] = None,
    fdl_version: Annotated[
        int, typer.Option(metavar="N", min=1, max=2, help="Of that list: 2 (2.0) or 1 (1.1).")
    ] = 2,
    move: Annotated[
        bool,
        typer.Option(
            "--move",
            help="Put each frame where faces are inside and joints are clear, one place a shot.",
        ),
    ] = False,
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
        str,
        typer.Option(
            metavar="NAME_OR_FILE",
            help="Names for shot sizes.",
            autocompletion=offer_vocabularies,
        ),
    ] = "trade",
    thresholds: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Your own thresholds for flags (TOML).")
    ] = None,
    room: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Your own room ranges (TOML).")
    ] = None,
) -> int:
    """Judge measured stills and shots in each frame that is delivered.

    Nothing is measured anew: sizes, cuts, flags and headroom are read again in the part of the
    picture that is left. Each row says how many faces are wholly inside, also inside the
    action-safe area (EBU R 95, SMPTE ST 2046-1), and where the frame would do best. Tables:
    deliveries (a row a picture and frame) and delivery_shots (a row a shot and frame).

    Example: framecheck deliver measured --frame 2.39 --frame 9:16 --frame 1:1

    Example: framecheck deliver day_3 --fdl show.fdl --move --write-fdl day_3.fdl

    Exit codes: 0 fine, 2 wrong usage, 3 something cannot be read or written.
    """
    from framecheck.export.fdl import read_fdl
    from framecheck.pipeline.deliveries import (
        DeliveryOrder,
        delivery_paths,
        write_deliveries,
    )
    from framecheck.pipeline.results import load_results
    from framecheck.pipeline.ruler_rows import with_rulers
    from framecheck.pipeline.settings import Settings, load_judging

    if not frame and not fdl:
        raise ConfigError("say which frames are delivered: --frame 2.39, or --fdl FILE")
    folder = out or (results if results.is_dir() else None)
    if folder is None:
        raise ConfigError("say with --out where the tables shall go")
    settings = Settings(vocabularies=(vocabulary,), thresholds=thresholds, room=room)
    order = DeliveryOrder(
        deliveries=parse_deliveries(frame or ()),
        lists=tuple(frames for path in fdl or () for frames in read_fdl(path)),
        judging=load_judging(settings),
        move=move,
    )
    target = None if write_fdl is None else (write_fdl, fdl_version)
    readable, left_out = with_rulers(load_results(results))
    tally = write_deliveries(readable, order, (folder, format_name), target)
    written = [*delivery_paths(folder, format_name), *([write_fdl] if write_fdl else [])]
    _print(tally, written)
    return _told(left_out)


def parse_deliveries(texts: Sequence[str]) -> tuple[Delivery, ...]:
    """The delivery frames that are meant by texts as `9:16,right=0.1`.

    Raises:
        ConfigError: one is none, or two are the same.
    """
    if not texts:
        return ()
    from framecheck.pipeline.delivery_words import check_unlike, parse_delivery

    return check_unlike([parse_delivery(text) for text in texts])


def deliver_results(
    folder: Path, deliveries: Sequence[Delivery], settings: Settings, how: tuple[str, bool]
) -> None:
    """Judge what was just measured into a folder.

    Args:
        folder: with the tables; those of the deliveries go there as well.
        deliveries: the frames.
        settings: of the run.
        how: format of the tables, and whether to be quiet.

    Raises:
        ConfigError: nothing can be judged.
        ExportError: the tables cannot be read or written.
    """
    from framecheck.pipeline.deliveries import DeliveryOrder, delivery_paths, write_deliveries
    from framecheck.pipeline.results import load_results
    from framecheck.pipeline.settings import load_judging

    order = DeliveryOrder(deliveries=tuple(deliveries), lists=(), judging=load_judging(settings))
    results = load_results(folder)
    if not results.files:  # nothing could be measured, which the run has said
        return
    tally = write_deliveries(results, order, (folder, how[0]), None)
    if not how[1]:
        typer.echo()
        _print(tally, delivery_paths(folder, how[0]))


def _print(tally: Sequence[DeliveryTally], written: Sequence[Path]) -> None:
    from framecheck.cli.set_up_text import aligned
    from framecheck.cli.text import printable, terminal_width, wrapped

    rows = [["frame", "pictures", "all faces in", "joints clear", "both, if moved"]]
    rows += [
        [printable(t.name), str(t.pictures), *(_part(n, t.pictures) for n in _counts(t))]
        for t in tally
    ]
    typer.echo("\n".join(aligned(rows)))
    told = "Written: " + ", ".join(str(path) for path in written)
    typer.echo("\n".join(wrapped(told, terminal_width(), "  ", "")))


def _told(left_out: Sequence[str]) -> int:
    """Say which files were left out; the exit code."""
    if not left_out:
        return 0
    complain(
        f"{len(left_out)} left out, {left_out[0]} first: measured by an earlier version, which "
        "kept no body ruler to read again; measure again"
    )
    return EXIT_FAILED


def _counts(tally: DeliveryTally) -> tuple[int, int, int]:
    return (tally.all_faces, tally.clear, tally.best_clear)


def _part(count: int, whole: int) -> str:
    return f"{count} ({100 * count / whole:.0f} %)"
