"""Measured rows of the catalog as the shots of a sequence."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from enum import Enum
from typing import TypeVar

from framecheck.catalog.sequences import ShotParts
from framecheck.export.look_text import parse_look
from framecheck.export.rows import Cell, Row
from framecheck.records.framing import Facing, Role
from framecheck.records.judged import ShotType
from framecheck.records.sequence import Moment, PersonShown, SequenceShot

WANTED: Mapping[str, Sequence[str]] = {
    "shots": (
        "shot", "start_frame", "end_frame", "start_timecode", "start_s", "duration_s", "size",
        "size_abbr", "vocabulary", "shot_type", "crop_level", "frame",
    ),
    "frames": (
        "frame", "time_s", "timecode", "picture_x_px", "picture_y_px", "picture_w_px",
        "picture_h_px", "size", "size_abbr", "vocabulary", "shot_type", "crop_level",
    ),
    "people": (
        "frame", "person", "role", "nose_x_px", "nose_y_px", "head_height_px", "chin_y_px",
        "figure_frac", "headroom_frac", "eye_line_frac", "look_room_frac", "head_yaw_deg",
        "head_pitch_deg", "body_yaw_deg", "facing", "confidence", "look",
    ),
}  # fmt: skip
"""The columns that a study reads."""

Word = TypeVar("Word", bound=Enum)


def still_shot(parts: ShotParts, name: str) -> SequenceShot:
    """The shot that a still is; its number in the sequence is set later."""
    return _make_shot(parts.frames[0], _moments(parts), name)


def clip_shot(parts: ShotParts, name: str) -> SequenceShot:
    """A measured shot of a clip as a whole."""
    row = parts.shot or {}
    moments = _moments(parts)
    wanted = row.get("frame")
    best = next((moment for moment in moments if moment.frame == wanted), moments[0])
    shot = _make_shot(row, moments, name)
    return replace(
        shot,
        best=best,
        shot=int(row["shot"]) if isinstance(row.get("shot"), int) else None,  # type: ignore[arg-type]
        duration_s=_number(row, "duration_s"),
        start_timecode=str(row.get("start_timecode") or ""),
    )


def part_of_clip(
    shots: Mapping[int, ShotParts], name: str, is_inside: Callable[[Row], bool]
) -> SequenceShot | None:
    """A part of a clip: the measured frames in it, as one shot; None when there is none."""
    for number in sorted(shots):
        parts = shots[number]
        inside = [row for row in parts.frames if is_inside(row)]
        if not inside:
            continue
        frames = {row.get("frame") for row in inside}
        chosen = ShotParts(
            frames=inside, people=[row for row in parts.people if row.get("frame") in frames]
        )
        moments = _moments(chosen)
        middle = inside[len(inside) // 2]
        shot = _make_shot(middle, moments, name)
        return replace(
            shot,
            shot=number,
            best=moments[len(inside) // 2],
            start_timecode=moments[0].timecode,
        )
    return None


def _make_shot(row: Row, moments: Sequence[Moment], name: str) -> SequenceShot:
    return SequenceShot(
        number=0,
        name=name,
        shot=None,
        duration_s=None,
        start_timecode="",
        size=str(row.get("size") or ""),
        size_abbr=str(row.get("size_abbr") or ""),
        vocabulary=str(row.get("vocabulary") or ""),
        shot_type=_word(row, "shot_type", ShotType),
        crop_level=_number(row, "crop_level"),
        first=moments[0],
        best=moments[len(moments) // 2],
        last=moments[-1],
    )


def _moments(parts: ShotParts) -> list[Moment]:
    by_frame: dict[Cell, list[Row]] = {}
    for person in parts.people:
        by_frame.setdefault(person.get("frame"), []).append(person)
    return [_moment(row, by_frame.get(row.get("frame"), [])) for row in parts.frames]


def _moment(frame: Row, people: Sequence[Row]) -> Moment:
    number = frame.get("frame")
    return Moment(
        frame=number if isinstance(number, int) else None,
        time_s=_number(frame, "time_s"),
        timecode=str(frame.get("timecode") or ""),
        people=tuple(_person(row, frame) for row in people),
    )


def _person(row: Row, frame: Row) -> PersonShown:
    width, height = _side(frame, "picture_w_px"), _side(frame, "picture_h_px")
    head_px, headroom = _number(row, "head_height_px"), _number(row, "headroom_frac")
    chin_px, eyes = _number(row, "chin_y_px"), _number(row, "eye_line_frac")
    face = None
    if chin_px is not None and eyes is not None and height:
        face = max(0.0, (chin_px - _side(frame, "picture_y_px")) / height - eyes) or None
    return PersonShown(
        person=int(_number(row, "person") or 0),
        role=_word(row, "role", Role) or Role.BACKGROUND,
        x_wfrac=(_side(row, "nose_x_px") - _side(frame, "picture_x_px")) / (width or 1.0),
        y_frac=(_side(row, "nose_y_px") - _side(frame, "picture_y_px")) / (height or 1.0),
        head_frac=None if head_px is None or not height else head_px / height,
        face_frac=face,
        figure_frac=_number(row, "figure_frac"),
        headroom_frac=headroom,
        eye_line_frac=eyes,
        look_room=_number(row, "look_room_frac"),
        head_yaw_deg=_number(row, "head_yaw_deg"),
        head_pitch_deg=_number(row, "head_pitch_deg"),
        body_yaw_deg=_number(row, "body_yaw_deg"),
        facing=_word(row, "facing", Facing),
        confidence=_number(row, "confidence") or 0.0,
        look=parse_look(str(row.get("look") or "")),
        crown_cut=headroom is not None and headroom < 0,
    )


def _number(row: Row, name: str) -> float | None:
    value = row.get(name)
    return float(value) if isinstance(value, int | float) else None


def _side(row: Row, name: str) -> float:
    return _number(row, name) or 0.0


def _word(row: Row, name: str, kind: type[Word]) -> Word | None:
    try:
        return kind(row.get(name))
    except ValueError:
        return None
