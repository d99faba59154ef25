"""Delivery frames of earlier results: from options to judged pictures, shots and lists."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from framecheck.classify.delivery import (
    DeliveryRules,
    at_place,
    best_place,
    rate_place,
    read_delivery,
)
from framecheck.classify.shot_summary import summarise_shot
from framecheck.errors import ConfigError
from framecheck.export.delivery_rows import (
    DELIVERY_COLUMNS,
    DELIVERY_SHOT_COLUMNS,
    ShotInDelivery,
    row_of_delivery,
    row_of_shot_in_delivery,
)
from framecheck.export.fdl import FdlContext, encode_fdl
from framecheck.export.fdl_frames import FdlFrames, frames_in, is_meant_for
from framecheck.export.from_rows import measurement_of_rows, span_of_row
from framecheck.export.rows import Row
from framecheck.export.writers import open_tables, table_path
from framecheck.geometry.extraction import extract
from framecheck.pipeline.results import FileResult, Results
from framecheck.pipeline.settings import Judging
from framecheck.records.delivery import Delivery, DeliveryReading, Placed
from framecheck.records.framing import FrameMeasurement
from framecheck.records.judged import FrameResult

PICTURES, SHOTS = "deliveries", "delivery_shots"


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryOrder:
    """What is to be judged.

    Attributes:
        deliveries: frames for every picture.
        lists: frames of a Framing Decision List, for the pictures that they are meant for.
        judging: vocabularies, thresholds and ranges.
        move: put each frame where faces and joints fare best, one place for each shot, and not
            where it was asked for.
    """

    deliveries: tuple[Delivery, ...]
    lists: tuple[FdlFrames, ...]
    judging: Judging
    move: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """Everything that was said of one file.

    Attributes:
        pictures: frame rows with their readings. shots: shot rows with theirs.
        contexts: for a Framing Decision List.
    """

    file: FileResult
    pictures: tuple[tuple[Row, DeliveryReading], ...]
    shots: tuple[tuple[Row, ShotInDelivery], ...]
    contexts: tuple[FdlContext, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryTally:
    """How each delivery frame did, over all pictures.

    Attributes:
        pictures: judged in it. all_faces: with all faces inside. clear: without a flag of a joint.
        best_clear: the same, of those with all faces inside, with the frame at its best place.
    """

    name: str
    pictures: int = 0
    all_faces: int = 0
    clear: int = 0
    best_clear: int = 0


def judge_deliveries(results: Results, order: DeliveryOrder) -> Iterator[Told]:
    """Every file in every delivery frame, one after the other.

    Raises:
        ExportError: rows cannot be read.
    """
    rules = DeliveryRules(
        judge=order.judging.name,
        thresholds=order.judging.thresholds,
        ranges=order.judging.ranges,
    )
    for file in results.files:
        yield _judge_file(file, order, rules)


def write_deliveries(
    results: Results, order: DeliveryOrder, target: tuple[Path, str], fdl: tuple[Path, int] | None
) -> tuple[DeliveryTally, ...]:
    """Judge all, write the tables and, when asked for, a Framing Decision List.

    Args:
        results: to judge.
        order: what is to be judged.
        target: folder and format of the tables.
        fdl: file of the list and the version, 2 or 1.

    Raises:
        ConfigError: nothing can be judged, or an unknown format.
        ExportError: they cannot be written.
    """
    from framecheck.export.atomic import write_atomically

    folder, format_name = target
    tables = {PICTURES: DELIVERY_COLUMNS, SHOTS: DELIVERY_SHOT_COLUMNS}
    tally: dict[str, DeliveryTally] = {}
    contexts: list[FdlContext] = []
    with open_tables(folder, tables, format_name) as sinks:
        for told in judge_deliveries(results, order):
            sinks[PICTURES].add(row_of_delivery(*pair) for pair in told.pictures)
            sinks[SHOTS].add(row_of_shot_in_delivery(*pair) for pair in told.shots)
            contexts += told.contexts
            for _, reading in told.pictures:
                tally[reading.delivery.name] = _counted(tally, reading)
        if not tally:
            raise ConfigError(
                f"nothing in {results.source} can be judged in these frames: it holds no "
                "measured picture that they fit"
            )
    if fdl is not None:
        version = (2, 0) if fdl[1] == 2 else (1, 1)
        write_atomically(fdl[0], encode_fdl(contexts, _intents(contexts), version))
    return tuple(tally.values())


def delivery_paths(folder: Path, format_name: str) -> tuple[Path, ...]:
    """Where the tables lie."""
    return tuple(table_path(folder, name, format_name) for name in (PICTURES, SHOTS))


def _counted(tally: dict[str, DeliveryTally], reading: DeliveryReading) -> DeliveryTally:
    name = reading.delivery.name
    so_far = tally.get(name, DeliveryTally(name=name))
    return replace(
        so_far,
        pictures=so_far.pictures + 1,
        all_faces=so_far.all_faces + (reading.asked.faces_out == 0),
        clear=so_far.clear + (reading.asked.joint_cost == 0),
        best_clear=so_far.best_clear
        + (reading.best.joint_cost == 0 and reading.best.faces_out == 0),
    )


def _intents(contexts: Sequence[FdlContext]) -> list[Delivery]:
    found: dict[str, Delivery] = {}
    for context in contexts:
        for delivery, _ in context.frames:
            found.setdefault(delivery.name, delivery)
    return list(found.values())


def _judge_file(file: FileResult, order: DeliveryOrder, rules: DeliveryRules) -> Told:
    measured = [(frame, measurement_of_rows(frame, people)) for frame, people in file.pictures()]
    groups = _groups(file, measured)
    pictures: list[tuple[Row, DeliveryReading]] = []
    shots: list[tuple[Row, ShotInDelivery]] = []
    contexts: list[FdlContext] = []
    for shot, frames in groups:
        wanted = _wanted((file.file, shot), frames[0][1], order)
        told = [_judge_group(frames, delivery, (order, rules)) for delivery in wanted]
        for readings, asked, best in told:
            pairs = list(zip([row for row, _ in frames], readings, strict=True))
            pictures += pairs
            if shot is not None:
                shots.append((shot, _sum_up(shot, pairs, asked, best)))
        if told:
            contexts.append(_context(file, shot, [readings for readings, _, _ in told]))
    return Told(file=file, pictures=tuple(pictures), shots=tuple(shots), contexts=tuple(contexts))


_Frames = list[tuple[Row, FrameMeasurement]]


def _groups(file: FileResult, measured: _Frames) -> list[tuple[Row | None, _Frames]]:
    """The pictures of each shot; a still is a group of its own."""
    if file.is_still:
        return [(None, [pair]) for pair in measured]
    groups = [
        (shot, [pair for pair in measured if pair[0]["shot"] == shot["shot"]])
        for shot in file.shots
    ]
    return [(shot, frames) for shot, frames in groups if frames]


def _wanted(
    whose: tuple[str, Row | None], measurement: FrameMeasurement, order: DeliveryOrder
) -> list[Delivery]:
    file, shot = whose
    number = None if shot is None else _whole(shot["shot"])
    size = (measurement.width_px, measurement.height_px)
    listed = [
        delivery
        for frames in order.lists
        if is_meant_for(frames, file, number)
        for delivery in frames_in(frames, size, measurement.picture)
    ]
    named = {delivery.name: delivery for delivery in (*order.deliveries, *listed)}
    return list(named.values())


def _judge_group(
    frames: _Frames, delivery: Delivery, how: tuple[DeliveryOrder, DeliveryRules]
) -> tuple[list[DeliveryReading], Placed, Placed]:
    order, rules = how
    measurements = [measurement for _, measurement in frames]
    best = best_place(measurements, delivery, rules)
    asked = rate_place(measurements, delivery, rules)
    used = at_place(delivery, best) if order.move else delivery
    readings = [read_delivery(picture, used, rules, best=best) for picture in measurements]
    return readings, asked, best


def _sum_up(
    shot: Row, pairs: Sequence[tuple[Row, DeliveryReading]], asked: Placed, best: Placed
) -> ShotInDelivery:
    results = [
        FrameResult(
            file=str(row["file"]),
            measurement=reading.measurement,
            judgement=reading.judgement,
            shot=_whole(row["shot"]),
            frame=_whole(row["frame"]),
            time_s=float(row["time_s"] or 0.0),
        )
        for row, reading in pairs
    ]
    return ShotInDelivery(
        delivery=pairs[0][1].delivery,
        summary=summarise_shot(span_of_row(shot), results),
        readings=tuple(reading for _, reading in pairs),
        asked=asked,
        best=best,
    )


def _whole(value: object) -> int | None:
    return value if isinstance(value, int) else None


def _context(
    file: FileResult, shot: Row | None, told: Sequence[list[DeliveryReading]]
) -> FdlContext:
    frame = file.frames[0]
    whole = (int(frame["width_px"] or 0), int(frame["height_px"] or 0))
    active = measurement_of_rows(frame, []).picture
    return FdlContext(
        file=file.file,
        shot=None if shot is None else _whole(shot["shot"]),
        size_wh_px=whole,
        picture=active,
        frames=tuple(
            (readings[0].delivery, extract(active, readings[0].delivery)) for readings in told
        ),
    )
