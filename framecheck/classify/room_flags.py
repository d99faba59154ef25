"""Flags of headroom and looking room, judged on the main subject against ranges by crop level."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from framecheck.classify.gauss import mass_between
from framecheck.classify.people import counts_as_subject, look_behind_px
from framecheck.classify.room import RoomRange, RoomRanges, room_at
from framecheck.classify.thresholds import Thresholds
from framecheck.records.framing import BodyRuler, Edge, Facing, FrameMeasurement, PersonFraming
from framecheck.records.judged import Flag, Severity
from framecheck.records.values import NotMeasured, number_or


def find_room_flags(
    measurement: FrameMeasurement,
    thresholds: Thresholds,
    ranges: RoomRanges,
    found: Sequence[Flag],
) -> Iterator[Flag]:
    """Headroom and looking room flags of the main subject.

    Args:
        measurement: the picture.
        thresholds: from which figure height on room is judged.
        ranges: the room that passes.
        found: flags found so far; a trimmed crown is not told a second time as headroom.
    """
    if not measurement.people:
        return
    main = measurement.people[0]
    passing = _passing_room(main, thresholds, ranges)
    if passing is None or main.ruler is None:
        return
    if not any(flag.part == "crown" and flag.person == main.person for flag in found):
        yield from _headroom_flags(measurement, main.ruler, passing, thresholds)
    yield from _look_flags(measurement, main.ruler, passing, thresholds)


def _passing_room(
    main: PersonFraming, thresholds: Thresholds, ranges: RoomRanges
) -> RoomRange | None:
    if isinstance(main.crop_level, NotMeasured) or isinstance(main.figure_frac, NotMeasured):
        return None
    if main.figure_frac < thresholds.room_figure_min_frac:
        return None
    return room_at(ranges, main.crop_level)


def _headroom_flags(
    measurement: FrameMeasurement, ruler: BodyRuler, passing: RoomRange, thresholds: Thresholds
) -> Iterator[Flag]:
    headroom = measurement.people[0].headroom_frac
    if isinstance(headroom, NotMeasured):
        return
    error = thresholds.headroom_error_frac
    if headroom < passing.headroom_min:
        off = headroom - passing.headroom_min
        certainty = mass_between(headroom, error, -float("inf"), passing.headroom_min)
    elif _least_headroom(measurement, thresholds) > passing.headroom_max:
        off = headroom - passing.headroom_max
        certainty = mass_between(headroom, error, passing.headroom_max, float("inf"))
    else:
        return
    yield Flag(
        part="headroom",
        person=measurement.people[0].person,
        edge=Edge.TOP,
        distance_level=off * measurement.picture.h_px / ruler.figure_px,
        severity=_room_severity(off, thresholds),
        certainty=certainty,
    )


def _least_headroom(measurement: FrameMeasurement, thresholds: Thresholds) -> float:
    # The room over the tallest subject is the picture's: beside a taller partner, the main
    # subject is not blamed for what is over the smaller head.
    return min(
        number_or(person.headroom_frac, float("inf"))
        for person in measurement.people
        if counts_as_subject(person, measurement, thresholds)
    )


def _look_flags(
    measurement: FrameMeasurement, ruler: BodyRuler, passing: RoomRange, thresholds: Thresholds
) -> Iterator[Flag]:
    main = measurement.people[0]
    ratio, yaw_deg, ahead = main.look_room_frac, main.head_yaw_deg, main.look_ahead_wfrac
    narrow = measurement.picture.w_px < thresholds.look_aspect_min * measurement.picture.h_px
    if narrow or main.facing not in (Facing.PROFILE, Facing.THREE_QUARTER):
        return
    if isinstance(ratio, NotMeasured) or isinstance(yaw_deg, NotMeasured):
        return
    share = thresholds.three_quarter_look_share if main.facing is Facing.THREE_QUARTER else 1.0
    least = share * passing.look_ratio_min
    if isinstance(ahead, NotMeasured) or ratio >= least:
        return
    # What the edge ahead would have to move outward, with the room behind as it is.
    missing = least * look_behind_px(main, measurement.picture) / measurement.picture.w_px - ahead
    yield Flag(
        part="looking room",
        person=main.person,
        edge=Edge.RIGHT if yaw_deg > 0 else Edge.LEFT,
        distance_level=-missing * measurement.picture.w_px / ruler.figure_px,
        severity=_room_severity(missing, thresholds),
        certainty=mass_between(ratio, thresholds.look_error_ratio * ratio, -float("inf"), least),
    )


def _room_severity(off: float, thresholds: Thresholds) -> Severity:
    return Severity.MEDIUM if abs(off) > thresholds.room_medium_frac else Severity.LOW
