"""Measured shots in the order of a cut: what the study of coverage looks at."""

from __future__ import annotations

from dataclasses import dataclass

from framecheck.records.framing import Facing, Role
from framecheck.records.judged import ShotType
from framecheck.records.looks import PersonLook


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonShown:
    """One person in one measured picture; None where something was not measured.

    Attributes:
        person: 0 is the main subject. role: subject, foreground or background.
        x_wfrac, y_frac: nose from the left and from the top of the active picture, over its width
            and height.
        head_frac: crown to chin over the picture height. face_frac: eyes to chin over it.
        figure_frac: the body ruler over it.
        headroom_frac, eye_line_frac: top edge to crown and to eyes, over the picture height.
        look_room: room ahead of the face over room behind it.
        head_yaw_deg, head_pitch_deg: 0 into the lens, + to the viewer's right, + up.
        body_yaw_deg: of the shoulders, signs as for the head.
        crown_cut: True when the top edge cuts the head.
        confidence: 0..1 of the measurement.
    """

    person: int
    role: Role
    x_wfrac: float
    y_frac: float
    head_frac: float | None
    face_frac: float | None
    figure_frac: float | None
    headroom_frac: float | None
    eye_line_frac: float | None
    look_room: float | None
    head_yaw_deg: float | None
    head_pitch_deg: float | None
    body_yaw_deg: float | None
    facing: Facing | None
    confidence: float
    look: PersonLook | None
    crown_cut: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """One measured picture of a shot.

    Attributes:
        frame: in its clip; None for a still. time_s: the same in seconds. timecode: "" for a still.
        people: the main subject first.
    """

    frame: int | None
    time_s: float | None
    timecode: str
    people: tuple[PersonShown, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SequenceShot:
    """One shot of the sequence.

    Attributes:
        number: its place in the cut, from 0.
        name: the file, as the user named it. shot: its number in that file; None for a still.
        duration_s: None for a still without a length.
        start_timecode: where it begins in its file; "" when unknown.
        size, size_abbr, vocabulary: main subject's size; "" when it has none.
        shot_type: None when unknown. crop_level: of the main subject.
        first, best, last: the first measured picture, the one that shows it best, and the last;
            all the same for a still.
    """

    number: int
    name: str
    shot: int | None
    duration_s: float | None
    start_timecode: str
    size: str
    size_abbr: str
    vocabulary: str
    shot_type: ShotType | None
    crop_level: float | None
    first: Moment
    best: Moment
    last: Moment

    @property
    def label(self) -> str:
        """The shot in words for people: its file, and its number there."""
        return self.name if self.shot is None else f"{self.name}, shot {self.shot}"
