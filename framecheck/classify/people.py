"""Who counts: which people a picture is about, and how heavily their flags weigh."""

from __future__ import annotations

from framecheck.classify.thresholds import Thresholds
from framecheck.geometry.boxes import holds
from framecheck.geometry.prominence import prominence_of
from framecheck.records.framing import Edge, Facing, FrameMeasurement, PersonFraming, Role
from framecheck.records.judged import Severity
from framecheck.records.values import Box, NotMeasured, is_number, number_or

SEVERITIES = (Severity.HIGH, Severity.MEDIUM, Severity.LOW)


def is_cut_by_side(person: PersonFraming) -> bool:
    """True when the left or the right edge cuts the person."""
    read = is_number(person.left_cut) or is_number(person.right_cut)
    return read or Edge.LEFT in person.cut_edges or Edge.RIGHT in person.cut_edges


def is_seen_from_behind(person: PersonFraming, thresholds: Thresholds) -> bool:
    """True when the lens sees the back of the head, straight or three-quarter."""
    if person.facing is Facing.AWAY:
        return True
    yaw_deg = person.head_yaw_deg
    return not isinstance(yaw_deg, NotMeasured) and abs(yaw_deg) >= thresholds.behind_yaw_deg


def look_behind_px(person: PersonFraming, picture: Box) -> float:
    """Room behind the head; from the nose when a face that touches the edge gives no ratio."""
    ratio = number_or(person.look_room_frac, 0.0)
    if ratio > 0:
        return number_or(person.look_ahead_wfrac, 0.0) * picture.w_px / ratio
    to_left_px, to_right_px = (
        person.nose_px[0] - picture.x_px,
        picture.right_px - person.nose_px[0],
    )
    return max(to_left_px, to_right_px)


def head_ratio(person: PersonFraming, main: PersonFraming) -> float:
    """Head height over the main subject's; by figure lengths when a head has none; else 1."""
    own, other = person.head_height_px, main.head_height_px
    if not isinstance(own, NotMeasured) and not isinstance(other, NotMeasured) and other > 0:
        return own / other
    if person.ruler is not None and main.ruler is not None:
        return person.ruler.figure_px / main.ruler.figure_px
    return 1.0


def counts_as_subject(
    person: PersonFraming, measurement: FrameMeasurement, thresholds: Thresholds
) -> bool:
    """True when the picture is also about this person.

    The main subject always counts. Others need their head in the picture and large enough; a
    near person seen from behind frames the view and does not count.
    """
    main = measurement.people[0]
    if person is main:
        return True
    if not holds(measurement.picture, person.nose_px):
        return False
    if person.role is Role.FOREGROUND:
        return not is_seen_from_behind(person, thresholds)
    background = person.role is Role.BACKGROUND
    least = thresholds.background_head_ratio if background else thresholds.subject_head_ratio
    return head_ratio(person, main) >= least


def lowering_of(
    person: PersonFraming, measurement: FrameMeasurement, thresholds: Thresholds
) -> int | None:
    """By how many steps the person's flags weigh less, or None when nothing is flagged.

    A figure in the foreground is meant to be cut. People whom the picture is not about, and people
    whom a side of the picture cuts as well, weigh less; those too small to notice weigh nothing.
    """
    main = measurement.people[0]
    if person is main:
        return 0
    too_small = head_ratio(person, main) < thresholds.subject_head_ratio
    if person.role is Role.FOREGROUND or too_small:
        return None
    aside = not counts_as_subject(person, measurement, thresholds)
    return int(aside) + int(is_cut_by_side(person))


def lower_severity(severity: Severity, steps: int) -> Severity:
    """The severity some steps down, at least low."""
    place = SEVERITIES.index(severity) + steps
    return SEVERITIES[min(place, len(SEVERITIES) - 1)]


def prominence_among(person: PersonFraming, picture: Box) -> float:
    """How much a person draws the eye, from the readings; see `framecheck.geometry.prominence`."""
    head_frac = number_or(person.head_height_px, 0.0) / picture.h_px
    share = float(person.facing is not Facing.AWAY)
    return prominence_of(head_frac, person.nose_px[0], picture, face_share=share)
