"""Table rows back to records, so that a result can be read again without its pictures."""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum
from fractions import Fraction
from typing import TypeVar

from framecheck.errors import ExportError
from framecheck.export.body_text import parse_joints, parse_ruler
from framecheck.export.look_text import parse_look
from framecheck.export.rows import Row
from framecheck.geometry.boxes import holds
from framecheck.geometry.ruler import ruler_length_px
from framecheck.records.clips import ShotSpan, Transition
from framecheck.records.framing import (
    BodyRuler,
    Facing,
    FrameMeasurement,
    JointSeen,
    PersonFraming,
    Posture,
    Role,
)
from framecheck.records.values import Box, Measured, NotMeasured, PointPx

_UNKNOWN_ERROR = 0.03
"""Error of a ruler whose row states none, fractions of stature."""

Word = TypeVar("Word", bound=Enum)


def measurement_of_rows(frame: Row, people: Sequence[Row]) -> FrameMeasurement:
    """The measurement that the rows of one picture tell.

    Args:
        frame: from frames.
        people: those of the same picture, in any order.

    Raises:
        ExportError: the rows do not tell a measurement.
    """
    try:
        picture = _picture(frame)
        persons = sorted(people, key=lambda row: _whole(row, "person"))
        return FrameMeasurement(
            width_px=_whole(frame, "width_px"),
            height_px=_whole(frame, "height_px"),
            picture=picture,
            people=tuple(_person(row, picture) for row in persons),
            notes=_notes(frame),
            camera_pitch_deg=_measured(frame, "camera_pitch_deg"),
        )
    except (ValueError, TypeError, KeyError, ArithmeticError) as error:
        raise ExportError(
            f"the rows of {frame.get('file')} tell no measurement ({error}); measure it again",
            where=str(frame.get("file", "")),
        ) from error


def picture_of_row(frame: Row) -> Box:
    """The active picture that the row of a frame tells.

    Raises:
        ExportError: it tells none.
    """
    try:
        return _picture(frame)
    except (ValueError, TypeError, KeyError) as error:
        raise ExportError(
            f"the row of {frame.get('file')} tells no picture ({error}); measure it again",
            where=str(frame.get("file", "")),
        ) from error


def head_of_row(person: Row, picture: Box) -> tuple[PointPx, BodyRuler | None]:
    """The nose and the ruler that the row of a person tells.

    Raises:
        ExportError: it tells no nose, or a broken ruler.
    """
    try:
        return _nose_px(person), _ruler(person, picture)
    except (ValueError, TypeError, KeyError) as error:
        raise ExportError(
            f"a row of {person.get('file')} tells no person ({error}); measure it again",
            where=str(person.get("file", "")),
        ) from error


def span_of_row(shot: Row) -> ShotSpan:
    """Where a shot lies in its clip, from its row in shots.

    Raises:
        ExportError: the row does not tell.
    """
    try:
        start_s = Fraction(_number(shot, "start_s")).limit_denominator(100_000)
        return ShotSpan(
            shot=_whole(shot, "shot"),
            start_frame=_whole(shot, "start_frame"),
            end_frame=_whole(shot, "end_frame"),
            start_s=start_s,
            end_s=start_s + Fraction(_number(shot, "duration_s")).limit_denominator(100_000),
            transition=Transition(shot["transition"]),
            clean_from_frame=_whole(shot, "start_frame"),
            clean_to_frame=_whole(shot, "end_frame"),
        )
    except (ValueError, TypeError, KeyError) as error:
        raise ExportError(
            f"the row of a shot of {shot.get('file')} tells no span ({error}); measure it again",
            where=str(shot.get("file", "")),
        ) from error


def _picture(frame: Row) -> Box:
    picture = _box(frame, "picture")
    if min(picture.w_px, picture.h_px) <= 0:
        raise ValueError("its picture has no size")
    return picture


def _person(row: Row, picture: Box) -> PersonFraming:
    joints, edges = parse_joints(str(row.get("joints_px") or ""))
    measured = {name: _measured(row, name) for name in _MEASURED}
    return PersonFraming(
        person=_whole(row, "person"),
        role=Role(row["role"]),
        choice=str(row.get("choice") or ""),
        box=_box(row, "box"),
        nose_px=_nose_px(row),
        ruler=_ruler(row, picture),
        facing=_word(Facing, row.get("facing")),
        posture=_word(Posture, row.get("posture")),
        joints=tuple(
            JointSeen(
                part=part, side=side, x_px=x, y_px=y, inside=holds(picture, (x, y)), seen=seen
            )
            for part, side, x, y, seen in joints
        ),
        skeleton_px=(),
        confidence=_number(row, "confidence"),
        cut_edges=tuple(edges),
        notes=_notes(row),
        look=parse_look(str(row.get("look") or "")),
        **measured,
    )


_MEASURED = (
    "crown_y_px", "chin_y_px", "head_height_px", "crop_level", "top_level", "left_cut",
    "right_cut", "headroom_frac", "look_room_frac", "look_ahead_wfrac", "eye_line_frac",
    "head_yaw_deg", "head_pitch_deg", "head_roll_deg", "figure_frac", "body_yaw_deg",
)  # fmt: skip


def _ruler(row: Row, picture: Box) -> BodyRuler | None:
    text, error = str(row.get("ruler_px") or ""), row.get("crop_error")
    level = float(error) if isinstance(error, int | float) else _UNKNOWN_ERROR
    ruler = parse_ruler(text, picture.h_px, level)
    if ruler is None:
        return None
    length_px = ruler_length_px([(mark.x_px, mark.y_px) for mark in ruler.marks])
    return BodyRuler(marks=ruler.marks, figure_px=max(length_px, 1e-6), error_level=level)


def _measured(row: Row, name: str) -> Measured:
    value = row.get(name)
    if isinstance(value, int | float):
        return float(value)
    return NotMeasured(reason=str(row.get(f"{name}_why") or "not in the table"))


def _nose_px(row: Row) -> PointPx:
    return _number(row, "nose_x_px"), _number(row, "nose_y_px")


def _box(row: Row, name: str) -> Box:
    x, y, w, h = (_number(row, f"{name}_{part}_px") for part in "xywh")
    return Box(x_px=x, y_px=y, w_px=w, h_px=h)


def _number(row: Row, name: str) -> float:
    value = row[name]
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(f"{name} holds {value!r}, which is no number")
    return float(value)


def _whole(row: Row, name: str) -> int:
    return int(_number(row, name))


def _word(kind: type[Word], value: object) -> Word | None:
    return kind(value) if value else None


def _notes(row: Row) -> tuple[str, ...]:
    return tuple(note for note in str(row.get("notes") or "").split("; ") if note)
