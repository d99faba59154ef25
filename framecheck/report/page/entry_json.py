"""An entry as the numbers and words that the page draws from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

from framecheck.catalog.layout import Cell, Row
from framecheck.classify.reread import eyes_inside_px
from framecheck.errors import FramecheckError
from framecheck.export.body_text import parse_joints
from framecheck.export.from_rows import head_of_row, picture_of_row
from framecheck.records.values import Box, PointPx
from framecheck.report.page.entries import Entry
from framecheck.report.page.flag_text import parse_flags
from framecheck.report.page.reframes import read_reframes
from framecheck.report.page.text import shown_text
from framecheck.report.words import level_place

Json: TypeAlias = dict[str, Any]

_READINGS = ("crop_level", "top_level", "headroom_frac", "look_room_frac", "eye_line_frac")
_OF_PERSON = (
    "crop_level", "top_level", "left_cut", "right_cut", "headroom_frac", "look_room_frac",
    "look_ahead_wfrac", "head_yaw_deg", "head_pitch_deg", "crown_y_px", "chin_y_px", "crop_error",
    "confidence", "figure_frac",
)  # fmt: skip
_NUMBERS = (int, float)  # a tuple asks faster than int | float, a hundred thousand times a page
_MOST_PEOPLE = 8
_MOST_SAMPLES = 400


def entry_json(entry: Entry, file_number: int) -> Json:
    """What the page knows of an entry.

    Args:
        entry: which one.
        file_number: of its file in the page's list.
    """
    row, best = entry.row, entry.best or {}
    flags = str(best.get("flags") or "") if entry.shot is None else str(row.get("flags") or "")
    return {
        "key": entry.key,
        "file": file_number,
        "still": entry.shot is None,
        "shot": row.get("shot"),
        **_words(row, ("size", "size_abbr", "size_second", "shot_type", "vocabulary", "notes")),
        **_words(row, ("size_change", "transition", "start_timecode", "end_timecode", "confirmed")),
        **_words(best, ("timecode", "choice")),
        "sure": _number(row.get("size_confidence"), 2),
        "people": row.get("people"),
        "start": _number(row.get("start_s"), 3),
        "length": _number(row.get("duration_s"), 3),
        "wh": [best.get("width_px"), best.get("height_px")],
        "picture": [_number(best.get(f"picture_{part}_px"), 1) for part in "xywh"],
        "readings": {name: _reading(best, name) for name in _READINGS},
        "place": _place_words(best),
        "crop_error": _number(best.get("crop_error"), 3),
        "flags": _flags(flags),
        "drawn": _flags(str(best.get("flags") or "")),
        "advice": _advice(entry),
        "persons": [_person(person) for person in entry.people[:_MOST_PEOPLE]],
        "samples": _samples(entry.frames) if entry.shot is not None else [],
    }


def _flags(text: str) -> list[Json]:
    return [
        {
            "part": flag.part,
            "person": flag.person,
            "edge": flag.edge,
            "distance_level": flag.distance_level,
            "severity": flag.severity,
        }
        for flag in parse_flags(text)
    ]


def _advice(entry: Entry) -> list[Json]:
    best = entry.best or {}
    text = str(best.get("advice") or "")
    if not text:
        return []
    try:
        picture = picture_of_row(best)
        said = read_reframes(text, picture, lambda: _eyes_px(entry, picture))
    except (FramecheckError, ValueError):  # the tables are those of an early version
        return [{"text": text, "box": None}]
    return [
        {
            "text": piece.text,
            "box": None
            if piece.picture is None
            else [
                round(value, 1)
                for value in (
                    piece.picture.x_px,
                    piece.picture.y_px,
                    piece.picture.w_px,
                    piece.picture.h_px,
                )
            ],
        }
        for piece in said
    ]


def _eyes_px(entry: Entry, picture: Box) -> PointPx | None:
    """The eyes of the main subject, who is the first."""
    if not entry.people:
        return None
    return eyes_inside_px(*head_of_row(entry.people[0], picture), picture)


def _person(row: Row) -> Json:
    return {
        "n": row.get("person"),
        **_words(row, ("role", "facing", "posture")),
        **{name: _number(row.get(name), 3) for name in _OF_PERSON},
        "box": [_number(row.get(f"box_{part}_px"), 0) for part in "xywh"],
        "nose": [_number(row.get(f"nose_{part}_px"), 1) for part in "xy"],
        "ruler": _ruler(str(row.get("ruler_px") or "")),
        "joints": _joints(str(row.get("joints_px") or "")),
    }


def _ruler(text: str) -> list[list[Any]]:
    marks = []
    for piece in text.split(";"):
        words = piece.split()
        try:
            name, level, x, y, seen = words
            marks.append([name, float(level), float(x), float(y), int(seen == "seen")])
        except ValueError:
            return []
    return marks


def _joints(text: str) -> list[list[Any]]:
    try:
        joints, _edges = parse_joints(text)
    except (ValueError, IndexError):
        return []
    return [[part, side, x, y, int(seen)] for part, side, x, y, seen in joints]


def _samples(frames: Sequence[Row]) -> list[list[Any]]:
    """Time, crop level and size of the measured frames, for size against time."""
    return [
        [_number(row.get("time_s"), 2), _number(row.get("crop_level"), 3), row.get("size_abbr")]
        for row in frames[:_MOST_SAMPLES]
    ]


def _reading(row: Row, name: str) -> float | str | None:
    value = _number(row.get(name), 4)
    return value if value is not None else shown_text(str(row.get(f"{name}_why") or "")) or None


def _place_words(row: Row) -> str:
    level = row.get("crop_level")
    return level_place(float(level)) if isinstance(level, int | float) else ""


def _words(row: Mapping[str, Cell], names: Sequence[str]) -> dict[str, str]:
    return {name: shown_text(str(row.get(name) or "")) for name in names}


def _number(value: Cell, decimals: int) -> float | None:
    return round(float(value), decimals) if isinstance(value, _NUMBERS) else None
