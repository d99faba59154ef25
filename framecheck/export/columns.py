"""The columns of every table: their order, units and meaning. Stable from the first release on.

A number that may be missing has a second column `<name>_why` that says why; those follow after
all the others, so that the first columns of a table stay where they are.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum


class Kind(str, Enum):
    """What a cell holds."""

    PATH = "path"
    TEXT = "text"
    WHOLE = "whole number"
    NUMBER = "number"


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a table.

    Attributes:
        name: as written in the header.
        kind: what its cells hold.
        unit: in words; "" for text.
        meaning: one sentence for people.
        decimals: digits after the point of a number.
        measured: True when the value may be missing, with the reason in `<name>_why`.
    """

    name: str
    kind: Kind
    unit: str
    meaning: str
    decimals: int = 0
    measured: bool = False


def _text(name: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.TEXT, unit="", meaning=meaning)


def _whole(name: str, unit: str, meaning: str) -> Column:
    return Column(name=name, kind=Kind.WHOLE, unit=unit, meaning=meaning)


def _number(name: str, unit: str, decimals: int, meaning: str) -> Column:
    return Column(name=name, kind=Kind.NUMBER, unit=unit, meaning=meaning, decimals=decimals)


def _measured(name: str, unit: str, decimals: int, meaning: str) -> Column:
    return Column(
        name=name,
        kind=Kind.NUMBER,
        unit=unit,
        meaning=meaning,
        decimals=decimals,
        measured=True,
    )


_STATURE = "fraction of stature, 0 = sole, 1 = crown"
_HEIGHT = "fraction of the picture height"
_WIDTH = "fraction of the picture width"
_PX = "pixels of the whole file"

_FILE = Column(name="file", kind=Kind.PATH, unit="", meaning="The input, as it was named or found.")
_PLACE = (
    _FILE,
    _whole("shot", "count from 0", "Shot of a video; empty for a still."),
    _whole("frame", "count from 0", "Frame of a video; empty for a still."),
)
_FLAGS = "Cuts that do not forgive: part(edge,distance,severity), worst first, `;` between them. "
_CONFIRMED = (
    "What a person has confirmed or corrected, `;` between them, with what was measured where that "
    "differs: `size (measured medium)`; empty where nobody has looked."
)
_SIGN = "Distance is edge minus mark on the ruler: + when the part itself is lost."

FRAME_COLUMNS: tuple[Column, ...] = (
    *_PLACE,
    _number("time_s", "seconds", 3, "Time from the start of a video; empty for a still."),
    _text("timecode", "Timecode of a video frame; empty for a still."),
    _whole("width_px", "pixels", "Width of the whole file, upright."),
    _whole("height_px", "pixels", "Height of the whole file, upright."),
    _number("picture_x_px", _PX, 0, "Left edge of the active picture, without black bars."),
    _number("picture_y_px", _PX, 0, "Top edge of the active picture."),
    _number("picture_w_px", "pixels", 0, "Width of the active picture."),
    _number("picture_h_px", "pixels", 0, "Height of the active picture."),
    _whole("people", "count", "People found in the picture."),
    _text(
        "shot_type",
        "single, two, three, group, over-the-shoulder, insert or no people.",
    ),
    _text("size", "Size of the main subject in the words of `vocabulary`."),
    _text("size_abbr", "The same, abbreviated."),
    _number("size_confidence", "0 to 1", 2, "Share of the reading's error inside that size."),
    _text("size_second", "The next size, when the reading lies within its error of the border."),
    _measured(
        "crop_level", _STATURE, 3, "Where the bottom edge cuts the main subject; < 0 clear below."
    ),
    _measured(
        "top_level", _STATURE, 3, "Where the top edge cuts the main subject; > 1 clear above."
    ),
    _measured("headroom_frac", _HEIGHT, 4, "Top edge to the crown; < 0 when the crown is cut."),
    _measured(
        "look_room_frac", "ratio", 3, "Room ahead of the face over room behind it; 1 = even."
    ),
    _measured("eye_line_frac", _HEIGHT, 4, "Eyes under the top edge."),
    _text("flags", f"{_FLAGS}{_SIGN} `p1:` before it names a person other than the main subject."),
    _text("advice", "The smallest reframe that clears the flags."),
    _text("notes", "What to know about how it was measured, `;` between them."),
    _text("vocabulary", "Vocabulary that the size names come from."),
    _measured("look_ahead_wfrac", _WIDTH, 4, "Room ahead of the face."),
    _number("crop_error", "fraction of stature", 3, "About one standard deviation of crop_level."),
    _text("choice", "Why this person is the main subject."),
    _text("confirmed", _CONFIRMED),
    _measured("camera_pitch_deg", "degrees", 1, "+ the camera looks up, - it looks down."),
)

PEOPLE_COLUMNS: tuple[Column, ...] = (
    *_PLACE,
    _whole("person", "count from 0", "0 is the main subject; the others follow by prominence."),
    _text("role", "subject, foreground or background."),
    _number("box_x_px", _PX, 1, "Left edge of the person's visible pixels."),
    _number("box_y_px", _PX, 1, "Top edge of the person's visible pixels."),
    _number("box_w_px", "pixels", 1, "Width of the person's visible pixels."),
    _number("box_h_px", "pixels", 1, "Height of the person's visible pixels."),
    _number("nose_x_px", _PX, 1, "Nose, or the middle of a head seen from behind."),
    _number("nose_y_px", _PX, 1, "Nose, or the middle of a head seen from behind."),
    _measured("crown_y_px", _PX, 1, "Top of the head with its hair; < picture_y_px when cut."),
    _measured("chin_y_px", _PX, 1, "Chin line."),
    _measured("head_height_px", "pixels", 1, "Crown to chin."),
    _measured("crop_level", _STATURE, 3, "Where the bottom edge cuts the body; < 0 clear below."),
    _measured("top_level", _STATURE, 3, "Where the top edge cuts the body; > 1 clear above."),
    _measured("left_cut", _STATURE, 3, "Highest point of the body that the left edge cuts."),
    _measured("right_cut", _STATURE, 3, "Highest point of the body that the right edge cuts."),
    _measured("headroom_frac", _HEIGHT, 4, "Top edge to the crown; < 0 when the crown is cut."),
    _measured(
        "look_room_frac", "ratio", 3, "Room ahead of the face over room behind it; 1 = even."
    ),
    _measured("head_yaw_deg", "degrees", 1, "0 into the lens, + to the viewer's right."),
    _measured("head_pitch_deg", "degrees", 1, "+ looks up."),
    _measured("head_roll_deg", "degrees", 1, "+ leans clockwise in the picture."),
    _text("facing", "to lens, three-quarter, profile or away."),
    _text("posture", "standing, seated or other."),
    _measured("figure_frac", _HEIGHT, 4, "Length of the body ruler."),
    _text("flags", f"{_FLAGS}{_SIGN}"),
    _number("confidence", "0 to 1", 2, "How far the measurement can be trusted."),
    _measured("look_ahead_wfrac", _WIDTH, 4, "Room ahead of the face."),
    _measured("eye_line_frac", _HEIGHT, 4, "Eyes under the top edge."),
    _number("crop_error", "fraction of stature", 3, "About one standard deviation of crop_level."),
    _text("choice", "Why this person is, or is not, the main subject."),
    _text("notes", "What to know about how it was measured, `;` between them."),
    _measured("body_yaw_deg", "degrees", 1, "Turn of the shoulders: 0 chest to the lens."),
    _text(
        "look",
        "Colours of hair, face and clothes (version: part light/green-red/blue-yellow/per cent), "
        "for telling people apart within one sequence; they identify nobody.",
    ),
    _text(
        "ruler_px",
        "The body ruler: mark, level, x and y in pixels of the whole file, seen or guessed.",
    ),
    _text("joints_px", "Joints: part, side, x, y, seen or guessed; then the edges that cut."),
)

FILE_COLUMNS: tuple[Column, ...] = (
    _FILE,
    _text("status", "measured, skipped or failed."),
    _text("why", "What happened; empty when measured."),
    _text("where", "Stage or place where it happened."),
    _whole("frames", "count", "Pictures measured in it."),
    Column(
        name="overlay",
        kind=Kind.PATH,
        unit="",
        meaning="The annotated copy, seen from the output folder; empty when none was asked for.",
    ),
    _whole("shots", "count", "Shots of a video; empty for a still."),
    _number("duration_s", "seconds", 3, "Length of a video as decoded; empty for a still."),
    _number("rate_fps", "frames a second", 3, "Frame rate of a video, the mean where it varies."),
    _text("start_timecode", "Timecode of the first frame; empty when the file carries none."),
    _whole("width_px", "pixels", "Width of a video, upright and with square pixels."),
    _whole("height_px", "pixels", "Height of a video, upright and with square pixels."),
    _text("codec", "How a video is coded."),
    _text("notes", "What to know about how it was read, `;` between them."),
)

_OF_SHOT = "most of the measured time"
SHOT_COLUMNS: tuple[Column, ...] = (
    _FILE,
    _whole("shot", "count from 0", "Number of the shot in its video."),
    _whole("start_frame", "count from 0", "First frame."),
    _whole("end_frame", "count from 0", "The frame after the last one, as in edit lists."),
    _text("start_timecode", "Timecode of start_frame; counted from 0 when the file carries none."),
    _text("end_timecode", "Timecode of end_frame."),
    _number("duration_s", "seconds", 3, "How long it lasts."),
    _text("transition", "How it begins: start (of the video), cut, dissolve or fade."),
    _text("size", f"Size of the main subject in {_OF_SHOT}, in the words of `vocabulary`."),
    _text("size_abbr", "The same, abbreviated."),
    _number("size_confidence", "0 to 1", 2, "Mean confidence of the frames of that size."),
    _text("size_second", "The next size in the shot, or the next one within the error."),
    _text("size_start", "Size at the start."),
    _text("size_middle", "Size in the middle."),
    _text("size_end", "Size at the end."),
    _text("size_change", "steady, tightening or widening."),
    _number("stability", "0 to 1", 2, "Share of the measured time that has that size."),
    _text("subject_moves", "yes when the main subject crosses the picture or turns, else no."),
    _measured("crop_level", _STATURE, 3, "Where the bottom edge cuts the subject, in `frame`."),
    _whole("people", "count", f"People in {_OF_SHOT}."),
    _text("shot_type", f"The one of {_OF_SHOT}; names as in frames."),
    _text("flags", "Parts flagged in at least half of the measured time, worst first."),
    _whole("frame", "count from 0", "The frame that shows the shot best; it has a row in frames."),
    _text("frame_timecode", "Timecode of that frame."),
    _number("start_s", "seconds", 3, "Time of start_frame from the start of the video."),
    _whole("samples", "count", "Frames measured in it."),
    _text("notes", "What to know about how it was measured, `;` between them."),
    _text("vocabulary", "Vocabulary that the size names come from."),
    _text("confirmed", _CONFIRMED),
)


def further_size_columns(further: int) -> tuple[Column, ...]:
    """The columns for `further` vocabularies beyond the first, numbered from 2."""
    columns: list[Column] = []
    for number in range(2, further + 2):
        columns += [
            _text(f"size_{number}", f"Size in the words of `vocabulary_{number}`."),
            _text(f"size_abbr_{number}", "The same, abbreviated."),
            _number(f"size_confidence_{number}", "0 to 1", 2, f"As for size_{number}."),
            _text(f"vocabulary_{number}", f"Vocabulary of size_{number}."),
        ]
    return tuple(columns)


def with_reasons(columns: tuple[Column, ...]) -> tuple[Column, ...]:
    """The columns, followed by a `<name>_why` for each one that may be missing."""
    reasons = tuple(
        _text(f"{column.name}_why", f"Why {column.name} is empty.")
        for column in columns
        if column.measured
    )
    return (*columns, *reasons)


def frame_columns(further: int = 0) -> tuple[Column, ...]:
    """All columns of frames, in order, for one vocabulary and `further` more."""
    return with_reasons((*FRAME_COLUMNS, *further_size_columns(further)))


def people_columns() -> tuple[Column, ...]:
    """All columns of people, in order."""
    return with_reasons(PEOPLE_COLUMNS)


def shot_columns() -> tuple[Column, ...]:
    """All columns of shots, in order."""
    return with_reasons(SHOT_COLUMNS)


def file_columns() -> tuple[Column, ...]:
    """All columns of files, in order."""
    return FILE_COLUMNS


def describe_columns() -> dict[str, tuple[Column, ...]]:
    """Every table with its columns, for the documentation."""
    return {
        "frames": (*FRAME_COLUMNS, *further_size_columns(1)),
        "people": PEOPLE_COLUMNS,
        "shots": SHOT_COLUMNS,
        "files": FILE_COLUMNS,
    }
