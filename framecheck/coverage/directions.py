"""Where people look and face, and how near to the lens."""

from __future__ import annotations

from framecheck.records.coverage import Direction
from framecheck.records.framing import Facing, Role
from framecheck.records.judged import ShotType
from framecheck.records.sequence import PersonShown, SequenceShot
from framecheck.records.values import Measured, NotMeasured

NO_TURN = NotMeasured(reason="the turn of the head could not be measured")


def direction(yaw_deg: float | None, neutral_deg: float) -> Direction:
    """The side that a yaw points to; nearer than `neutral_deg` to the lens axis it is neither."""
    if yaw_deg is None:
        return Direction.UNKNOWN
    if abs(yaw_deg) < neutral_deg:
        return Direction.TO_LENS
    if abs(yaw_deg) > 180.0 - neutral_deg:
        return Direction.AWAY
    return Direction.RIGHT if yaw_deg > 0 else Direction.LEFT


def looks(person: PersonShown, neutral_deg: float) -> Direction:
    """Where the head points; where it is not known, the shoulders."""
    yaw_deg = person.head_yaw_deg if person.head_yaw_deg is not None else person.body_yaw_deg
    return direction(yaw_deg, neutral_deg)


def closeness_deg(person: PersonShown) -> Measured:
    """Between look and lens seen from above, 0..180: the head stands for the look."""
    return NO_TURN if person.head_yaw_deg is None else abs(person.head_yaw_deg)


def lens_height_deg(person: PersonShown) -> Measured:
    """How far the lens lies below a level look (+) or above it (-), seen from the eyes.

    The pitch of the head towards the lens: right where the head is held level, else off by its
    own tilt. Not told from behind.
    """
    if person.head_pitch_deg is None or person.head_yaw_deg is None:
        return NotMeasured(reason="the tilt of the head could not be measured")
    if abs(person.head_yaw_deg) > 112.5:
        return NotMeasured(reason="seen from behind")
    return person.head_pitch_deg


def frames_view(person: PersonShown) -> bool:
    """True for a back beside the main subject: it frames the view, wherever it stands."""
    away = person.facing is None or person.facing is Facing.AWAY
    return person.role is Role.FOREGROUND or (person.person > 0 and away)


def is_external(shot: SequenceShot) -> bool:
    """True when the shot looks over somebody's shoulder."""
    if shot.shot_type is ShotType.OVER_THE_SHOULDER:
        return True
    return any(frames_view(person) for person in shot.best.people)


def is_one_side(shot: SequenceShot) -> bool:
    """True when a shot is about one person, alone or over a shoulder."""
    alone = shot.shot_type in {ShotType.SINGLE, ShotType.INSERT, None}
    faces = [person for person in shot.best.people if not frames_view(person)]
    return alone or (is_external(shot) and len(faces) <= 1)
