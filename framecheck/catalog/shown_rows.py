"""The rows that a picture of each shot goes with, read without all the others of a measurement."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from framecheck.catalog.layout import Row
from framecheck.catalog.measurements import MeasurementId
from framecheck.catalog.rows import read_rows
from framecheck.catalog.schema import columns_of
from framecheck.catalog.store import Store

OF_EVERY_FRAME = ("shot", "frame", "time_s", "crop_level", "size_abbr")
"""Columns that are read of every measured frame of a clip."""

_GROUP = 500  # a statement takes 999 parameters at least


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownShot:
    """A shot of a clip.

    Attributes:
        shot: its row.
        best: the row of the frame that shows it best; None when none was measured.
        frames: of all its measured frames the columns `OF_EVERY_FRAME`.
        people: the rows of those in `best`, in the order of the table.
    """

    shot: Row
    best: Row | None
    frames: tuple[Row, ...]
    people: tuple[Row, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShownClip:
    """The shots of a clip, and the row of its file, None while it is not finished."""

    file: Row | None
    shots: tuple[ShownShot, ...]


def read_shown_clip(store: Store, measurement: MeasurementId) -> ShownClip:
    """The shots of a clip in their order.

    Args:
        store: of the catalog.
        measurement: of a clip, or of numbered frames.
    """
    files = read_rows(store, "files", measurement, columns_of(store, "files"))
    shots = read_rows(store, "shots", measurement, columns_of(store, "shots"))
    there = [name for name in OF_EVERY_FRAME if name in columns_of(store, "frames")]
    frames_of = _by_shot(read_rows(store, "frames", measurement, there))
    keys = [(shot.get("shot"), _best_frame(shot, frames_of)) for shot in shots]
    numbers = [number for _shot, number in keys if number is not None]
    whole, people = (
        _by_frame(_read_some(store, table, measurement, numbers)) for table in ("frames", "people")
    )
    return ShownClip(
        file=files[0] if files else None,
        shots=tuple(
            ShownShot(
                shot=shot,
                best=next(iter(whole[key]), None),
                frames=tuple(frames_of[key[0]]),
                people=tuple(people[key]),
            )
            for shot, key in zip(shots, keys, strict=True)
        ),
    )


def _best_frame(shot: Row, frames_of: Mapping[object, Sequence[Row]]) -> int | None:
    """The frame that the shot names; its first one when it names none of them."""
    numbers = [frame.get("frame") for frame in frames_of[shot.get("shot")]]
    named = shot.get("frame") if shot.get("frame") in numbers else next(iter(numbers), None)
    return named if isinstance(named, int) else None


def _read_some(
    store: Store, table: str, measurement: MeasurementId, numbers: Sequence[int]
) -> tuple[Row, ...]:
    """The rows of some frames, all columns."""
    columns = columns_of(store, table)
    if "frame" not in columns:
        return ()
    groups = [numbers[start : start + _GROUP] for start in range(0, len(numbers), _GROUP)]
    return tuple(
        row for group in groups for row in read_rows(store, table, measurement, columns, group)
    )


def _by_shot(rows: Sequence[Row]) -> Mapping[object, list[Row]]:
    groups: dict[object, list[Row]] = defaultdict(list)
    for row in rows:
        groups[row.get("shot")].append(row)
    return groups


def _by_frame(rows: Sequence[Row]) -> Mapping[tuple[object, object], list[Row]]:
    groups: dict[tuple[object, object], list[Row]] = defaultdict(list)
    for row in rows:
        groups[row.get("shot"), row.get("frame")].append(row)
    return groups
