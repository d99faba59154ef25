"""A cut order on measured files: each entry becomes a shot of the sequence."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

from framecheck.catalog.sequences import ShotParts
from framecheck.errors import ConfigError
from framecheck.export.rows import Row
from framecheck.pipeline.sequence_rows import clip_shot, part_of_clip, still_shot
from framecheck.records.cut_order import CutEntry, CutOrder
from framecheck.records.sequence import SequenceShot
from framecheck.units import can_drop, parse_timecode, snap_rate

_EDGE_S = 1e-6  # frame times are stored as rounded numbers


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredFile:
    """A measured file.

    Attributes:
        shots: its rows by shot number; {0: ...} for a still.
        still: True for one picture.
        rate_fps, start_timecode, duration_s: of a clip; None and "" where unknown.
    """

    shots: Mapping[int, ShotParts]
    still: bool
    rate_fps: float | None = None
    start_timecode: str = ""
    duration_s: float | None = None


def place_of(path: Path | str) -> str:
    """A path as places are compared: absolute, links not resolved."""
    return os.path.abspath(path)  # noqa: PTH100  # resolves no links


def resolve_entries(order: CutOrder, files: Mapping[str, MeasuredFile]) -> tuple[SequenceShot, ...]:
    """The shots of a cut order, numbered.

    Args:
        order: what is cut.
        files: by `place_of` their path.

    Raises:
        ConfigError: an entry names a file that was not measured, or a part that is not there.
    """
    shots: list[SequenceShot] = []
    for entry in order.entries:
        measured = files.get(place_of(entry.path))
        if measured is None or not measured.shots:
            raise ConfigError(
                f"{entry.where}: {entry.file} could not be measured; files.csv says why",
                where=entry.file,
            )
        shots += _resolve(entry, measured)
    return number_shots(shots)


def number_shots(shots: Sequence[SequenceShot]) -> tuple[SequenceShot, ...]:
    """The shots with their numbers in the sequence."""
    return tuple(replace(shot, number=number) for number, shot in enumerate(shots))


def whole_file(measured: MeasuredFile, name: str) -> list[SequenceShot]:
    """All shots of a file, or the one that a still is."""
    if measured.still:
        return [still_shot(measured.shots[0], name)]
    with_frames = [number for number in sorted(measured.shots) if measured.shots[number].frames]
    return [clip_shot(measured.shots[number], name) for number in with_frames]


def _resolve(entry: CutEntry, measured: MeasuredFile) -> list[SequenceShot]:
    seconds = None if entry.duration_s is None else float(entry.duration_s)
    if measured.still:
        return [replace(still_shot(measured.shots[0], entry.file), duration_s=seconds)]
    if entry.shot is not None:
        parts = measured.shots.get(entry.shot)
        if parts is None or not parts.frames:
            raise _not_there(entry, f"shot {entry.shot}", measured)
        return [clip_shot(parts, entry.file)]
    part = _part(entry, measured)
    if part is None:
        return whole_file(measured, entry.file)
    found = part_of_clip(measured.shots, entry.file, part.holds)
    found = found or part_of_clip(measured.shots, entry.file, _nearest(part, measured))
    if found is None:
        raise _not_there(entry, f"seconds {part.start_s:g} to {part.stop_s:g}", measured)
    length = part.stop_s - part.start_s
    return [replace(found, duration_s=seconds or (length if length < float("inf") else None))]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """A part of a clip in seconds from its start."""

    start_s: float
    stop_s: float

    def holds(self, frame: Row) -> bool:
        time_s = frame.get("time_s")
        if not isinstance(time_s, int | float):
            return False
        return self.start_s - _EDGE_S <= time_s < self.stop_s - _EDGE_S


def _part(entry: CutEntry, measured: MeasuredFile) -> _Part | None:
    """Which part is meant; None for the whole clip."""
    start, stop = (
        _by_frames(entry, measured)
        or _by_timecode(entry, measured)
        or (
            entry.from_s,
            entry.to_s,
        )
    )
    if start is None and stop is None:
        return None
    start_s = float(start or 0)
    stop_s = float("inf") if stop is None else float(stop)
    return _without_clock(_Part(start_s=start_s, stop_s=stop_s), measured)


def _without_clock(part: _Part, measured: MeasuredFile) -> _Part:
    """Seconds that lie beyond the clip count from midnight, as some timelines do."""
    if measured.duration_s is None or part.start_s < measured.duration_s or not measured.rate_fps:
        return part
    start_s = _clock_s(measured.start_timecode, measured.rate_fps)
    if start_s is None or part.start_s < start_s:
        return part
    return _Part(start_s=part.start_s - start_s, stop_s=part.stop_s - start_s)


def _by_frames(
    entry: CutEntry, measured: MeasuredFile
) -> tuple[Fraction | None, Fraction | None] | None:
    if (entry.from_frame is None and entry.to_frame is None) or not measured.rate_fps:
        return None
    rate = snap_rate(measured.rate_fps)
    return tuple(None if frame is None else frame / rate  # type: ignore[return-value]
                 for frame in (entry.from_frame, entry.to_frame))  # fmt: skip


def _by_timecode(
    entry: CutEntry, measured: MeasuredFile
) -> tuple[Fraction | None, Fraction | None] | None:
    if not (entry.from_timecode or entry.to_timecode) or not measured.rate_fps:
        return None
    rate = snap_rate(measured.rate_fps)
    try:
        start_code = measured.start_timecode
        first, drop = parse_timecode(start_code, rate) if start_code else (0, False)
        frames = [
            _frame_named(text, rate, drop=drop) - first if text else None
            for text in (entry.from_timecode, entry.to_timecode)
        ]
    except ValueError as error:
        raise ConfigError(f"{entry.where}: {error}", where=entry.file) from error
    start, stop = (None if frame is None else frame / rate for frame in frames)
    return start, stop


def _frame_named(text: str, rate: Fraction, *, drop: bool) -> int:
    """The frame of a clip that a list names.

    Many lists write drop-frame codes with colons alone, so that the clip says how it counts; and
    some say drop-frame of everything, also of clips that have none.
    """
    plain = text.replace(";", ":")
    marked = ";".join(plain.rsplit(":", 1))
    if can_drop(rate):
        return parse_timecode(marked if drop else text, rate)[0]
    return parse_timecode(plain, rate)[0]


def _clock_s(timecode: str, rate_fps: float) -> float | None:
    try:
        rate = snap_rate(rate_fps)
        return float(parse_timecode(timecode, rate)[0] / rate)
    except ValueError:
        return None


def _nearest(part: _Part, measured: MeasuredFile) -> Callable[[Row], bool]:
    """The measured frame nearest to the middle of the part, inside the shot that holds it."""
    middle = part.start_s if part.stop_s == float("inf") else (part.start_s + part.stop_s) / 2
    for parts in measured.shots.values():
        row = parts.shot or {}
        start, lasts = row.get("start_s"), row.get("duration_s")
        if not isinstance(start, int | float) or not isinstance(lasts, int | float):
            continue
        if start <= middle < start + lasts and parts.frames:
            gaps = [abs(float(frame.get("time_s") or 0.0) - middle) for frame in parts.frames]
            chosen = parts.frames[gaps.index(min(gaps))]
            return lambda frame: frame is chosen
    return lambda _frame: False


def _not_there(entry: CutEntry, what: str, measured: MeasuredFile) -> ConfigError:
    lasts = f"lasts {measured.duration_s:g} s" if measured.duration_s else "has other parts"
    return ConfigError(
        f"{entry.where}: {entry.file} has no {what}: it has {len(measured.shots)} shots and "
        f"{lasts}",
        where=entry.file,
    )
