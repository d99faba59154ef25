"""Flags: where an edge cuts a person at a place that does not forgive it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from framecheck.classify.arm_flags import find_arm_flags
from framecheck.classify.crossing import first_crossing
from framecheck.classify.gauss import mass_between
from framecheck.classify.people import SEVERITIES, lower_severity, lowering_of
from framecheck.classify.room import RoomRanges
from framecheck.classify.room_flags import find_room_flags
from framecheck.classify.thresholds import Thresholds
from framecheck.geometry.ruler import BODY_LEVELS, MARK_LEVELS, point_at_level
from framecheck.records.framing import (
    BodyRuler,
    Edge,
    FrameMeasurement,
    PersonFraming,
)
from framecheck.records.judged import Flag, Severity
from framecheck.records.values import Box, NotMeasured

_LEG_MARKS = {
    "ankle": MARK_LEVELS["ankle"],
    "mid-calf": BODY_LEVELS["mid-calf"],
    "knee": MARK_LEVELS["knee"],
}


def find_flags(
    measurement: FrameMeasurement, thresholds: Thresholds, ranges: RoomRanges
) -> tuple[Flag, ...]:
    """All flags of a picture, worst first.

    Every reading comes from an edge of the picture, so that an occlusion is never flagged.
    """
    return tuple(sorted(_surest(walk_flags(measurement, thresholds, ranges)), key=_rank))


def walk_flags(
    measurement: FrameMeasurement, thresholds: Thresholds, ranges: RoomRanges
) -> Iterator[Flag]:
    """The flags of a picture as they are come upon; a complaint about both hands comes twice."""
    found: list[Flag] = []
    for person in measurement.people:
        for flag in _weighed_flags(person, measurement, thresholds):
            found.append(flag)
            yield flag
    yield from find_room_flags(measurement, thresholds, ranges, found)


def walk_flags_cheapest_first(
    measurement: FrameMeasurement, thresholds: Thresholds, ranges: RoomRanges
) -> Iterator[Flag]:
    """The same flags in another order, for those who stop at the first that will not do.

    What the top and the bottom edge do to the main subject, and the room around it, takes a third
    of the time of all flags and decides three quarters of the trials of the search for advice.
    """
    if not measurement.people:
        return
    main = measurement.people[0]
    if main.ruler is not None:
        crowned = [*_crown_flags(main, main.ruler, thresholds)]
        yield from crowned
        yield from _bottom_flags(main, main.ruler, measurement.picture, thresholds)
        yield from find_room_flags(measurement, thresholds, ranges, crowned)
        yield from _side_flags(main, main.ruler, measurement.picture, thresholds)
        yield from find_arm_flags(main, main.ruler, measurement.picture, thresholds)
    for person in measurement.people[1:]:
        yield from _weighed_flags(person, measurement, thresholds)


def flag_key(flag: Flag) -> tuple[str, int, str]:
    """What makes two flags the same complaint: part, person and edge."""
    return (flag.part, flag.person, flag.edge.value)


def _weighed_flags(
    person: PersonFraming, measurement: FrameMeasurement, thresholds: Thresholds
) -> Iterator[Flag]:
    steps = lowering_of(person, measurement, thresholds)
    if steps is None or person.ruler is None:
        return
    for flag in _person_flags(person, person.ruler, measurement.picture, thresholds):
        yield _lowered(flag, steps)


def _person_flags(
    person: PersonFraming, ruler: BodyRuler, picture: Box, thresholds: Thresholds
) -> Iterator[Flag]:
    yield from _bottom_flags(person, ruler, picture, thresholds)
    yield from _side_flags(person, ruler, picture, thresholds)
    yield from find_arm_flags(person, ruler, picture, thresholds)
    yield from _crown_flags(person, ruler, thresholds)


def _bottom_flags(
    person: PersonFraming, ruler: BodyRuler, picture: Box, thresholds: Thresholds
) -> Iterator[Flag]:
    level = person.crop_level
    if isinstance(level, NotMeasured) or not 0 < level < 1:
        return  # an edge that only touches the sole, or misses the body, cuts nothing
    slack_px = thresholds.body_half_width_level * ruler.figure_px
    x_px = point_at_level(ruler, level)[0]
    if not picture.x_px - slack_px <= x_px <= picture.right_px + slack_px:
        return  # a side has cut the body away before the bottom edge could
    yield from _leg_flags(person, ruler, Edge.BOTTOM, level, thresholds)
    yield from _chin_flags(person, ruler, level, thresholds)


def _side_flags(
    person: PersonFraming, ruler: BodyRuler, picture: Box, thresholds: Thresholds
) -> Iterator[Flag]:
    # A lying or stepping figure can lose its legs to a side; the ruler itself must cross it, as
    # a side that runs along an upright body cuts no joint in particular.
    points = [(mark.x_px, mark.y_px) for mark in ruler.marks]
    crossing = first_crossing(points, picture)
    if crossing is None or crossing.edge is Edge.BOTTOM:
        return
    upper, lower = ruler.marks[crossing.segment], ruler.marks[crossing.segment + 1]
    level = upper.level + crossing.share * (lower.level - upper.level)
    yield from _leg_flags(person, ruler, crossing.edge, level, thresholds)


def _leg_flags(
    person: PersonFraming, ruler: BodyRuler, edge: Edge, level: float, thresholds: Thresholds
) -> Iterator[Flag]:
    part = _leg_part(level, thresholds)
    if part is None:
        return
    distance = level - _LEG_MARKS[part]
    severe = abs(distance) <= thresholds.joint_core_level
    start, stop = _leg_zone(part, thresholds)
    yield Flag(
        part=part,
        person=person.person,
        edge=edge,
        distance_level=distance,
        severity=Severity.HIGH if severe else Severity.MEDIUM,
        certainty=mass_between(level, ruler.error_level, start, stop),
    )


def _leg_part(level: float, thresholds: Thresholds) -> str | None:
    hits = []
    for part, mark in _LEG_MARKS.items():
        start, stop = _leg_zone(part, thresholds)
        if start <= level <= stop:
            hits.append((abs(level - mark), part))
    return min(hits)[1] if hits else None


def _leg_zone(part: str, thresholds: Thresholds) -> tuple[float, float]:
    return {
        "ankle": (thresholds.ankle_from_level, thresholds.ankle_to_level),
        "mid-calf": (thresholds.mid_calf_from_level, thresholds.mid_calf_to_level),
        "knee": (thresholds.knee_from_level, thresholds.knee_to_level),
    }[part]


def _chin_flags(
    person: PersonFraming, ruler: BodyRuler, level: float, thresholds: Thresholds
) -> Iterator[Flag]:
    start, stop = thresholds.chin_from_level, thresholds.chin_to_level
    if start <= level <= stop:
        yield Flag(
            part="chin",
            person=person.person,
            edge=Edge.BOTTOM,
            distance_level=level - MARK_LEVELS["chin"],
            severity=Severity.MEDIUM,
            certainty=mass_between(level, ruler.error_level, start, stop),
        )


def _crown_flags(person: PersonFraming, ruler: BodyRuler, thresholds: Thresholds) -> Iterator[Flag]:
    top, crop = person.top_level, person.crop_level
    if isinstance(top, NotMeasured) or isinstance(crop, NotMeasured):
        return
    if thresholds.crown_from_level <= top < 1 and crop <= thresholds.crown_accepted_level:
        yield Flag(
            part="crown",
            person=person.person,
            edge=Edge.TOP,
            distance_level=MARK_LEVELS["crown"] - top,
            severity=Severity.MEDIUM,
            certainty=mass_between(top, ruler.error_level, thresholds.crown_from_level, 1.0),
        )


def _lowered(flag: Flag, steps: int) -> Flag:
    return replace(flag, severity=lower_severity(flag.severity, steps)) if steps else flag


def _surest(flags: Iterable[Flag]) -> list[Flag]:
    # Both hands cut at the same edge are one complaint: the surer one is told.
    best: dict[tuple[str, int, str], Flag] = {}
    for flag in flags:
        key = flag_key(flag)
        if key not in best or best[key].certainty < flag.certainty:
            best[key] = flag
    return list(best.values())


def _rank(flag: Flag) -> tuple[int, bool, float, int, str, str]:
    return (
        SEVERITIES.index(flag.severity),
        flag.person != 0,  # among alike, the main subject's weigh most
        -flag.certainty,
        flag.person,
        flag.part,
        flag.edge.value,
    )
