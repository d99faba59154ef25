"""Shot type: how many people the picture is about, and how they stand to each other."""

from __future__ import annotations

from framecheck.classify.people import counts_as_subject, is_cut_by_side, is_seen_from_behind
from framecheck.classify.thresholds import Thresholds
from framecheck.records.framing import Facing, FrameMeasurement, PersonFraming, Role
from framecheck.records.judged import ShotType
from framecheck.records.values import NotMeasured, number_or

_BY_COUNT = {1: ShotType.SINGLE, 2: ShotType.TWO, 3: ShotType.THREE}


def name_shot_type(measurement: FrameMeasurement, thresholds: Thresholds) -> ShotType:
    """The shot type of a picture.

    An insert is told only where it is evident: the main subject's head is out over the top edge,
    and nobody else counts (after Salt: inserts show no actor's face).
    """
    if not measurement.people:
        return ShotType.NO_PEOPLE
    if _is_over_the_shoulder(measurement, thresholds):
        return ShotType.OVER_THE_SHOULDER
    counted = [p for p in measurement.people if counts_as_subject(p, measurement, thresholds)]
    if len(counted) == 1 and _is_headless(counted[0], thresholds):
        return ShotType.INSERT
    return _BY_COUNT.get(len(counted), ShotType.GROUP)


def _is_headless(person: PersonFraming, thresholds: Thresholds) -> bool:
    return number_or(person.top_level, 1.0) < thresholds.insert_top_level


def _is_over_the_shoulder(measurement: FrameMeasurement, thresholds: Thresholds) -> bool:
    near = any(_frames_the_view(person, thresholds) for person in measurement.people)
    face = any(_shows_a_face(person, thresholds) for person in measurement.people)
    return near and face


def _frames_the_view(person: PersonFraming, thresholds: Thresholds) -> bool:
    """A near figure with its back to the lens, cut by a side or by the bottom edge."""
    # Where the head is cut away nothing tells its turn; a near figure without a face still counts.
    behind = person.facing is None or is_seen_from_behind(person, thresholds)
    cut = is_cut_by_side(person) or number_or(person.crop_level, 0.0) > 0
    return person.role is Role.FOREGROUND and behind and cut


def _shows_a_face(person: PersonFraming, thresholds: Thresholds) -> bool:
    return (
        person.role is not Role.FOREGROUND
        and person.facing in (Facing.TO_LENS, Facing.THREE_QUARTER, Facing.PROFILE)
        and not is_seen_from_behind(person, thresholds)
        and not isinstance(person.crop_level, NotMeasured)
    )
