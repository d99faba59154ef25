"""Fills a catalog with generated shots: rows of true measurements, copied as often as it takes."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Sequence
from fractions import Fraction
from pathlib import Path

import numpy as np

from framecheck.bench.setup import Bench
from framecheck.bench.truth import Frame, truth_measurement
from framecheck.catalog.catalog import Catalog
from framecheck.catalog.measurements import MeasurementId
from framecheck.catalog.rows import ShotRows, enter_shot, insert_rows
from framecheck.catalog.store import Store, open_store
from framecheck.classify.shot_summary import summarise_shot
from framecheck.export.rows import row_of_file, row_of_shot, rows_of_frame
from framecheck.pipeline.settings import describe_settings
from framecheck.pipeline.tables import catalog_layout
from framecheck.records.clips import ShotResult, ShotSpan, Transition
from framecheck.records.judged import FileReport, FileStatus, FrameResult

SHOTS_OF_A_CLIP = 50
MASTERS = 20
"""Clips whose rows are made of measurements; all others are copies of their rows."""
RATE = Fraction(24)
FOLDER = "/rushes"
FINGERPRINT = "bench"


def fill_catalog(path: Path, bench: Bench, shots: int) -> None:
    """A catalog of so many shots, their rows those of the scenes' true measurements."""
    layout = catalog_layout(0)
    with Catalog.open(path, layout=layout) as catalog:
        catalog.describe_settings(FINGERPRINT, describe_settings(bench.judging, models="none"))
    results = [judged_truth(bench, frame) for frame in bench.frames]
    store = open_store(path)
    try:
        with store.writing():
            clips = -(-shots // SHOTS_OF_A_CLIP)
            for clip in range(clips):
                _begin(store, clip)
                if clip < MASTERS:
                    _enter_master(store, clip, results)
                else:
                    _copy(store, clip % MASTERS, clip)
    finally:
        store.close()


def judged_truth(bench: Bench, frame: Frame) -> FrameResult:
    """A scene as a measurement without any error would have it, judged."""
    truth = truth_measurement(frame)
    return FrameResult(
        file=frame.path.name, measurement=truth, judgement=bench.judging.judge(truth)
    )


def _begin(store: Store, clip: int) -> None:
    number, now_s = clip + 1, time.time()
    place = f"{FOLDER}/day_{clip % 40:02}/card_{clip % 7}/A{clip:06}.mov".encode()
    store.run("INSERT INTO contents (id, content) VALUES (?, ?)", (number, f"{number:040x}"))
    store.run(
        "INSERT INTO places (path, content, size_bytes, mtime_ns, noted_s) VALUES (?, ?, 1, 1, ?)",
        (place, number, now_s),
    )
    store.run(
        "INSERT INTO measurements (id, content, fingerprint, kind, header, state, begun_s, "
        "ended_s, asked_s) VALUES (?, ?, ?, 'clip', '', 'measured', ?, ?, ?)",
        (number, number, FINGERPRINT, now_s, now_s, now_s),
    )
    store.run("UPDATE contents SET shown = ? WHERE id = ?", (number, number))


def _enter_master(store: Store, clip: int, results: Sequence[FrameResult]) -> None:
    draw, start = np.random.default_rng(clip), 0
    for shot in range(SHOTS_OF_A_CLIP):
        length = int(draw.integers(24, 24 * 20))
        result = results[int(draw.integers(len(results)))]
        enter_shot(store, MeasurementId(clip + 1), shot_rows((shot, start, length), result))
        start += length
    report = FileReport(file=f"A{clip:06}.mov", status=FileStatus.MEASURED)
    row = row_of_file(report) | {"duration_s": float(start / RATE), "rate_fps": float(RATE)}
    insert_rows(store, "files", [((clip + 1,), row)])


def shot_rows(place: tuple[int, int, int], result: FrameResult) -> ShotRows:
    """The rows of a shot that shows one picture at its start, its middle and its end.

    Args:
        place: its number, its first frame, and how many frames it has.
        result: of the picture.
    """
    shot, start, length = place
    numbers = (start, start + length // 2, start + length - 1)
    frames = tuple(
        dataclasses.replace(
            result, shot=shot, frame=number, time_s=float(number / RATE), timecode="00:00:00:00"
        )
        for number in numbers
    )
    span = ShotSpan(
        shot=shot,
        start_frame=start,
        end_frame=start + length,
        start_s=start / RATE,
        end_s=(start + length) / RATE,
        transition=Transition.CUT if shot else Transition.START,
        clean_from_frame=start,
        clean_to_frame=start + length,
    )
    whole = ShotResult(
        file=result.file,
        span=span,
        start_timecode="00:00:00:00",
        end_timecode="00:00:00:00",
        frames=frames,
        summary=summarise_shot(span, frames),
    )
    pairs = [rows_of_frame(frame) for frame in frames]
    people = [row for _, rows in pairs for row in rows]
    return ShotRows(shot=row_of_shot(whole), frames=[row for row, _ in pairs], people=people)


def _copy(store: Store, master: int, clip: int) -> None:
    """All rows of a clip once more, as those of another one."""
    for table in ("files", "shots", "frames", "people"):
        _copy_rows(store, (table, "_measurement"), master, clip)
    for table in ("entries", "entry_flags"):
        _copy_rows(store, (table, "measurement"), master, clip)


def _copy_rows(store: Store, place: tuple[str, str], master: int, clip: int) -> None:
    table, key = place
    names = [row[1] for row in store.all(f"PRAGMA table_info({table})") if row[1] != key]
    columns = ", ".join(f'"{name}"' for name in names)
    store.run(
        f"INSERT INTO {table} ({key}, {columns}) SELECT ?, {columns} FROM {table} WHERE {key} = ?",
        (clip + 1, master + 1),
    )
