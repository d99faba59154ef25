"""Columns and rows of pictures and shots in their delivery frames."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from framecheck.export.columns import Column, Kind, with_reasons
from framecheck.export.rows import Row, flags_text
from framecheck.records.clips import ShotSummary
from framecheck.records.delivery import Delivery, DeliveryReading, Placed
from framecheck.records.values import Box, Measured, NotMeasured

NO_PEOPLE = NotMeasured(reason="no people in the frame")
_HEIGHT = "fraction of the frame height"
_WIDE, _HIGH = "fraction of the picture width", "fraction of the picture height"


def _column(kind: Kind, name: str, unit: str, meaning: str, decimals: int = 0) -> Column:
    return Column(name=name, kind=kind, unit=unit, meaning=meaning, decimals=decimals)


def _text(name: str, meaning: str) -> Column:
    return _column(Kind.TEXT, name, "", meaning)


def _whole(name: str, meaning: str) -> Column:
    return _column(Kind.WHOLE, name, "count", meaning)


def _measured(name: str, unit: str, decimals: int, meaning: str) -> Column:
    return Column(
        name=name, kind=Kind.NUMBER, unit=unit, meaning=meaning, decimals=decimals, measured=True
    )


_PLACE = (
    _column(Kind.PATH, "file", "", "The input, as in the other tables."),
    _column(Kind.WHOLE, "shot", "count from 0", "Shot of a clip; empty for a still."),
)
_BEST = (
    _column(
        Kind.NUMBER,
        "best_x_frac",
        _WIDE,
        "Where the frame does best, of a shot for all its pictures: from the middle.",
        4,
    ),
    _column(Kind.NUMBER, "best_y_frac", _HIGH, "The same, + down.", 4),
    _whole("best_faces_out", "Faces that are not wholly inside there."),
    _whole("best_joint_cost", "Flags of joints there: high 4, medium 2, low 1."),
    _whole("asked_joint_cost", "The same where the frame was asked for."),
    _text("vocabulary", "Vocabulary that the size names come from."),
    _text("notes", "What to know, `;` between them."),
)

DELIVERY_COLUMNS = with_reasons(
    (
        *_PLACE,
        _column(Kind.WHOLE, "frame", "count from 0", "Frame of a clip; empty for a still."),
        _text("timecode", "Timecode of the frame; empty for a still."),
        _text("delivery", "The delivery frame."),
        _column(Kind.NUMBER, "x_px", "pixels of the whole file", "Its left edge.", 1),
        _column(Kind.NUMBER, "y_px", "pixels of the whole file", "Its top edge.", 1),
        _column(Kind.NUMBER, "w_px", "pixels", "Its width.", 1),
        _column(Kind.NUMBER, "h_px", "pixels", "Its height.", 1),
        _whole("people", "People in it."),
        _text("shot_type", "As in frames."),
        _text("size", "Size of the main subject in it."),
        _text("size_abbr", "The same, abbreviated."),
        _column(Kind.NUMBER, "size_confidence", "0 to 1", "As in frames.", 2),
        _measured("crop_level", "fraction of stature", 3, "Where its bottom edge cuts."),
        _measured("top_level", "fraction of stature", 3, "Where its top edge cuts."),
        _measured("headroom_frac", _HEIGHT, 4, "Its top edge to the crown."),
        _measured("look_room_frac", "ratio", 3, "Room ahead of the face over room behind it."),
        _measured("eye_line_frac", _HEIGHT, 4, "Eyes under its top edge."),
        _text("flags", "As in frames."),
        _whole("faces", "Subjects whose face the whole picture shows."),
        _whole("faces_inside", "Those whose face is wholly in the frame."),
        _whole("faces_safe", "Those whose face is wholly in its action-safe area (EBU R 95)."),
        *_BEST,
    )
)
"""One row for each measured picture and delivery frame."""

DELIVERY_SHOT_COLUMNS: tuple[Column, ...] = (
    *_PLACE,
    _text("start_timecode", "As in shots."),
    _text("end_timecode", "As in shots."),
    _text("delivery", "The delivery frame."),
    _text("size", "Size of the main subject in most of the measured time."),
    _text("size_abbr", "The same, abbreviated."),
    _column(Kind.NUMBER, "stability", "0 to 1", "Share of that time.", 2),
    _text("size_change", "steady, tightening or widening."),
    _whole("people", "People in most of the measured time."),
    _text("shot_type", "As in shots."),
    _text("flags", "Parts flagged in at least half of the measured time."),
    _whole("samples", "Pictures measured."),
    _whole("faces", "Faces of subjects in all of them."),
    _whole("faces_inside", "Those wholly in the frame."),
    _whole("faces_safe", "Those wholly in its action-safe area."),
    *_BEST,
)
"""One row for each shot and delivery frame; the best place is one for the whole shot."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotInDelivery:
    """A shot in one delivery frame.

    Attributes:
        delivery: the frame.
        summary: one label from all its measured frames.
        readings: these, in order of time.
        asked, best: the frame as asked, and where it does best for the whole shot.
    """

    delivery: Delivery
    summary: ShotSummary
    readings: tuple[DeliveryReading, ...]
    asked: Placed
    best: Placed


def row_of_delivery(frame: Row, reading: DeliveryReading) -> Row:
    """The row of one picture in one delivery frame."""
    box, judgement = reading.extraction.frame, reading.judgement
    size = judgement.sizes[0] if judgement.sizes else None
    people = reading.measurement.people
    row: Row = {
        **{name: frame.get(name) for name in ("file", "shot", "frame", "timecode")},
        "delivery": reading.delivery.name,
        **_box_cells(box),
        "people": len(people),
        "shot_type": judgement.shot_type.value,
        "size": size.name if size else "",
        "size_abbr": size.abbr if size else "",
        "size_confidence": size.confidence if size else None,
        "flags": flags_text(judgement.flags),
        "faces": reading.faces,
        "faces_inside": reading.faces_inside,
        "faces_safe": reading.faces_safe,
        **_place_cells(reading.asked, reading.best),
        "vocabulary": size.vocabulary if size else "",
        "notes": "; ".join(judgement.notes),
    }
    for name in ("crop_level", "top_level", "headroom_frac", "look_room_frac", "eye_line_frac"):
        value: Measured = getattr(people[0], name) if people else NO_PEOPLE
        row[name] = None if isinstance(value, NotMeasured) else value
        row[f"{name}_why"] = value.reason if isinstance(value, NotMeasured) else ""
    return row


def row_of_shot_in_delivery(shot: Row, told: ShotInDelivery) -> Row:
    """The row of one shot in one delivery frame."""
    summary, size = told.summary, told.summary.size
    return {
        **{name: shot.get(name) for name in ("file", "shot", "start_timecode", "end_timecode")},
        "delivery": told.delivery.name,
        "size": size.name if size else "",
        "size_abbr": size.abbr if size else "",
        "stability": summary.stability,
        "size_change": summary.size_change.value,
        "people": summary.people,
        "shot_type": summary.shot_type.value,
        "flags": "; ".join(summary.flags),
        "samples": summary.samples,
        "faces": sum(reading.faces for reading in told.readings),
        "faces_inside": sum(reading.faces_inside for reading in told.readings),
        "faces_safe": sum(reading.faces_safe for reading in told.readings),
        **_place_cells(told.asked, told.best),
        "vocabulary": size.vocabulary if size else "",
        "notes": "; ".join(summary.notes),
    }


def _box_cells(box: Box) -> Mapping[str, float]:
    return {"x_px": box.x_px, "y_px": box.y_px, "w_px": box.w_px, "h_px": box.h_px}


def _place_cells(asked: Placed, best: Placed) -> Row:
    return {
        "best_x_frac": best.offset_x_frac,
        "best_y_frac": best.offset_y_frac,
        "best_faces_out": best.faces_out,
        "best_joint_cost": best.joint_cost,
        "asked_joint_cost": asked.joint_cost,
    }
