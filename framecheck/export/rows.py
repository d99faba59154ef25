"""Records to table rows: plain text and numbers in full; the writers round them."""

from __future__ import annotations

import math
import os
from collections.abc import Iterable, Mapping, Sequence
from typing import TypeAlias

from framecheck.export.body_text import joints_text, ruler_text
from framecheck.export.columns import (
    Column,
    Kind,
    file_columns,
    frame_columns,
    people_columns,
    shot_columns,
)
from framecheck.export.look_text import look_text
from framecheck.records.clips import ClipHeader, ShotResult
from framecheck.records.framing import FrameMeasurement, PersonFraming
from framecheck.records.judged import FileReport, Flag, FrameJudgement, FrameResult
from framecheck.records.values import Box, NotMeasured

Cell: TypeAlias = str | int | float | None
Row: TypeAlias = dict[str, Cell]

NO_PEOPLE = "no people in the picture"


def rows_of_frame(result: FrameResult, further: int = 0) -> tuple[Row, list[Row]]:
    """The row for frames and the rows for people of one picture.

    Args:
        result: the picture.
        further: vocabularies beyond the first; a picture without people has no sizes to count.
    """
    frame = fill_row(frame_columns(further), _frame_values(result))
    people = [
        fill_row(people_columns(), _person_values(result, person))
        for person in result.measurement.people
    ]
    return frame, people


def row_of_shot(result: ShotResult) -> Row:
    """The row for shots; its crop level is that of the frame that shows the shot best."""
    span, summary = result.span, result.summary
    best = next((frame for frame in result.frames if frame.frame == summary.frame), None)
    people = best.measurement.people if best else ()
    values: dict[str, object] = {
        "file": result.file,
        "start_timecode": result.start_timecode,
        "end_timecode": result.end_timecode,
        "duration_s": float(span.duration_s),
        "transition": span.transition.value,
        **_shot_size_values(result),
        "size_change": summary.size_change.value,
        "subject_moves": _YES_NO[summary.subject_moves],
        "crop_level": people[0].crop_level if people else NotMeasured(reason=NO_PEOPLE),
        "shot_type": summary.shot_type.value,
        "flags": "; ".join(summary.flags),
        "frame_timecode": best.timecode if best else "",
        "start_s": float(span.start_s),
        "notes": "; ".join(summary.notes),
    }
    for name in ("shot", "start_frame", "end_frame"):
        values[name] = getattr(span, name)
    for name in ("stability", "people", "frame", "samples"):
        values[name] = getattr(summary, name)
    return fill_row(shot_columns(), values)


def row_of_file(
    report: FileReport,
    overlay: str = "",
    *,
    header: ClipHeader | None = None,
    shots: int | None = None,
    duration_s: float | None = None,
) -> Row:
    """The row for files.

    Args:
        report: how the input fared.
        overlay: the annotated copy, seen from the output folder.
        header: of a clip; None for a still, or for a clip that could not be opened.
        shots: how many a clip has.
        duration_s: of a clip, as decoded.

    Note:
        The seconds that an input took are left out: they differ from run to run, and the same
        input must give the same table.
    """
    values: dict[str, object] = {
        "file": report.file,
        "status": report.status.value,
        "why": report.why,
        "where": report.where,
        "frames": report.frames,
        "overlay": overlay,
        "shots": shots,
        "duration_s": duration_s,
    }
    if header is not None:
        values |= {
            "rate_fps": float(header.rate),
            "start_timecode": header.start_timecode,
            "width_px": header.width_px,
            "height_px": header.height_px,
            "codec": header.codec,
            "notes": "; ".join(header.notes),
        }
    return fill_row(file_columns(), values)


def rounded_cell(column: Column, value: Cell) -> Cell:
    """The cell as every table shows it."""
    if column.kind is not Kind.NUMBER or not isinstance(value, int | float):
        return value
    return _rounded(float(value), column.decimals) if math.isfinite(value) else value


def writable_text(text: str) -> str:
    r"""The text with what UTF-8 cannot hold written as an escape.

    File names that are not valid text in the file system's encoding arrive with lone surrogates;
    the byte 0xE9 of such a name is written as the four characters `\xe9`.
    """
    return text.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")


def flag_text(flag: Flag) -> str:
    """One flag as table text, `knee(bottom,+0.012,high)`."""
    distance = _rounded(flag.distance_level, 3)
    return f"{flag.part}({flag.edge.value},{distance:+.3f},{flag.severity.value})"


def flags_text(flags: Iterable[Flag]) -> str:
    """All flags of a picture; those of a person other than the main subject carry its index."""
    return "; ".join(
        flag_text(flag) if flag.person == 0 else f"p{flag.person}:{flag_text(flag)}"
        for flag in flags
    )


def _frame_values(result: FrameResult) -> dict[str, object]:
    measurement, judgement = result.measurement, result.judgement
    values: dict[str, object] = {
        **_place_values(result),
        "time_s": result.time_s,
        "timecode": result.timecode,
        **_picture_values(measurement),
        "people": len(measurement.people),
        "shot_type": judgement.shot_type.value,
        **_size_values(judgement),
        "flags": flags_text(judgement.flags),
        "advice": " ".join(advice.text for advice in judgement.advice),
        "notes": "; ".join((*measurement.notes, *judgement.notes)),
        "camera_pitch_deg": measurement.camera_pitch_deg,
    }
    if measurement.people:
        values |= _framing_values(measurement.people[0])
    else:
        names = (*_FRAMING_NAMES, "camera_pitch_deg")
        values |= dict.fromkeys(names, NotMeasured(reason=NO_PEOPLE))
    return values


def _picture_values(measurement: FrameMeasurement) -> dict[str, object]:
    return {
        "width_px": measurement.width_px,
        "height_px": measurement.height_px,
        **_box_values("picture", measurement.picture),
    }


def _size_values(judgement: FrameJudgement) -> dict[str, object]:
    values: dict[str, object] = {}
    for number, size in enumerate(judgement.sizes, start=1):
        tail = "" if number == 1 else f"_{number}"
        values |= {
            f"size{tail}": size.name,
            f"size_abbr{tail}": size.abbr,
            f"size_confidence{tail}": size.confidence,
            f"size_second{tail}": size.second,
            f"vocabulary{tail}": size.vocabulary,
        }
    return values


_YES_NO = {True: "yes", False: "no", None: ""}


def _shot_size_values(result: ShotResult) -> dict[str, object]:
    summary = result.summary
    values: dict[str, object] = {
        f"size_{part}": size.name if size else ""
        for part, size in (
            ("start", summary.start_size),
            ("middle", summary.middle_size),
            ("end", summary.end_size),
        )
    }
    if summary.size is not None:
        values |= {
            "size": summary.size.name,
            "size_abbr": summary.size.abbr,
            "size_confidence": summary.size.confidence,
            "size_second": summary.size.second,
            "vocabulary": summary.size.vocabulary,
        }
    return values


_FRAMING_NAMES = (
    "crop_level",
    "top_level",
    "headroom_frac",
    "look_room_frac",
    "look_ahead_wfrac",
    "eye_line_frac",
)


def _framing_values(person: PersonFraming) -> dict[str, object]:
    values: dict[str, object] = {name: getattr(person, name) for name in _FRAMING_NAMES}
    readable = not isinstance(person.crop_level, NotMeasured)
    error = person.ruler.error_level if person.ruler is not None and readable else None
    return {**values, "crop_error": error, "choice": person.choice}


def _person_values(result: FrameResult, person: PersonFraming) -> dict[str, object]:
    own_flags = [flag for flag in result.judgement.flags if flag.person == person.person]
    # The columns with a reason carry the names of the record's own fields.
    measured = [column.name for column in people_columns() if column.measured]
    return {
        **{name: getattr(person, name) for name in measured},
        **_framing_values(person),
        **_place_values(result),
        "person": person.person,
        "role": person.role.value,
        **_box_values("box", person.box),
        "nose_x_px": person.nose_px[0],
        "nose_y_px": person.nose_px[1],
        "facing": person.facing.value if person.facing else "",
        "posture": person.posture.value if person.posture else "",
        "flags": "; ".join(map(flag_text, own_flags)),
        "confidence": person.confidence,
        "notes": "; ".join(person.notes),
        "look": look_text(person.look),
        "ruler_px": ruler_text(person.ruler),
        "joints_px": joints_text(person.joints, person.cut_edges),
    }


def _place_values(result: FrameResult) -> dict[str, object]:
    return {"file": result.file, "shot": result.shot, "frame": result.frame}


def _box_values(name: str, box: Box) -> dict[str, object]:
    return {
        f"{name}_x_px": box.x_px,
        f"{name}_y_px": box.y_px,
        f"{name}_w_px": box.w_px,
        f"{name}_h_px": box.h_px,
    }


def fill_row(columns: Sequence[Column], values: Mapping[str, object]) -> Row:
    """The row of a table: its columns in order, reasons for what could not be measured."""
    row: Row = {}
    for column in columns:
        value = values.get(column.name)
        if column.measured:
            row[f"{column.name}_why"] = value.reason if isinstance(value, NotMeasured) else ""
        if not column.name.endswith("_why"):
            row[column.name] = _cell(column, value)
    return {column.name: row[column.name] for column in columns}


def _cell(column: Column, value: object) -> Cell:
    if column.kind in {Kind.PATH, Kind.TEXT}:
        return writable_text(os.fspath(value)) if isinstance(value, str | os.PathLike) else ""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return int(value) if column.kind is Kind.WHOLE else float(value)


def _rounded(value: float, decimals: int) -> float:
    return round(value, decimals) + 0.0  # + 0.0 turns -0.0 into 0.0
