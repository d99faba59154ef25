"""What was measured of the people in one picture. No opinion: names and flags come later."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from framecheck.records.looks import PersonLook
from framecheck.records.values import Box, Measured, NotMeasured, PointPx

NO_BODY = NotMeasured(reason="no body was found")


class Role(str, Enum):
    """The part a person plays in the composition."""

    SUBJECT = "subject"
    FOREGROUND = "foreground"
    BACKGROUND = "background"


class Facing(str, Enum):
    """Which way the head is turned, seen from the lens."""

    TO_LENS = "to lens"
    THREE_QUARTER = "three-quarter"
    PROFILE = "profile"
    AWAY = "away"


class Posture(str, Enum):
    """How the body is held."""

    STANDING = "standing"
    SEATED = "seated"
    OTHER = "other"


class Edge(str, Enum):
    """One side of the active picture."""

    TOP = "top"
    BOTTOM = "bottom"
    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class RulerMark:
    """One mark of the body ruler, placed on this person.

    Attributes:
        name: crown, eye, chin, shoulder, hip, knee, ankle or sole.
        level: height as a fraction of stature, 0 at the sole, 1 at the crown.
        x_px, y_px: where it lies, pixels of the whole file; may lie outside the picture.
        seen: True when it was seen inside the picture, False when it was inferred from proportions.
    """

    name: str
    level: float
    x_px: float
    y_px: float
    seen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BodyRuler:
    """The ruler laid along one body, from the crown down.

    Attributes:
        marks: from the crown to the sole, levels strictly falling.
        figure_px: length of the whole ruler in pixels, the figure's height if it stood up straight.
        error_level: half width (about one standard deviation) of a reading at the bottom edge.
    """

    marks: tuple[RulerMark, ...]
    figure_px: float
    error_level: float

    def __post_init__(self) -> None:
        levels = [mark.level for mark in self.marks]
        if len(levels) < 2 or any(a <= b for a, b in pairwise(levels)):
            raise ValueError(f"ruler levels must fall from crown to sole, got {levels}")
        if self.figure_px <= 0:
            raise ValueError(f"figure_px must be > 0, got {self.figure_px}")


@dataclass(frozen=True, slots=True, kw_only=True)
class JointSeen:
    """A joint or fingertip that can be cut by an edge, with its place and whether it was seen.

    Attributes:
        part: "wrist", "elbow", "fingertips", "ankle", "knee", "chin" or "crown".
        side: "left" or "right" of the subject, or "" for the middle line.
        inside: True when it lies inside the active picture.
        seen: True when the network saw it there; False when its place is inferred.
    """

    part: str
    side: str
    x_px: float
    y_px: float
    inside: bool
    seen: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonFraming:
    """How one person stands in the picture.

    Attributes:
        person: 0 is the main subject; the others follow by prominence.
        role: subject, foreground or background.
        choice: why this person is, or is not, the main subject, in plain words.
        box: the person's visible pixels.
        nose_px: nose, or the middle of the head seen from behind.
        crown_y_px: top of the head (hair included); above the picture when it is cut.
        chin_y_px, head_height_px: chin line and crown-to-chin length.
        ruler: the fitted ruler, or why there is none.
        crop_level: ruler reading of the bottom edge. Below 0: clear of the sole by that many
            figure heights.
        top_level: ruler reading of the top edge. Above 1: clear of the crown by (level - 1)
            figure heights.
        left_cut, right_cut: ruler level of the highest point of the body that the edge cuts.
        headroom_frac: from the top edge to the crown over the picture height; < 0 when cut.
        look_room_frac: room ahead of the face over room behind it (1 = even, 2 = two thirds ahead).
        look_ahead_wfrac: room ahead of the face over the picture width.
        eye_line_frac: eye height under the top edge over the picture height.
        head_yaw_deg: 0 into the lens, positive to the viewer's right, +-180 away.
        head_pitch_deg: positive looks up. head_roll_deg: positive leans clockwise in the picture.
        figure_frac: figure height (ruler length) over the picture height.
        joints: what the edges may cut, for flags.
        skeleton_px: pairs of seen joints, for drawing.
        cut_edges: the edges of the picture that the person's pixels reach, whether or not the
            height of the cut could be read.
        confidence: 0..1, how far the measurement as a whole can be trusted.
        body_yaw_deg: turn of the shoulders, signs as for `head_yaw_deg`.
        look: colours of hair, face and clothes, for telling people apart within a sequence.
    """

    person: int
    role: Role
    choice: str
    box: Box
    nose_px: PointPx
    crown_y_px: Measured
    chin_y_px: Measured
    head_height_px: Measured
    ruler: BodyRuler | None
    crop_level: Measured
    top_level: Measured
    left_cut: Measured
    right_cut: Measured
    headroom_frac: Measured
    look_room_frac: Measured
    look_ahead_wfrac: Measured
    eye_line_frac: Measured
    head_yaw_deg: Measured
    head_pitch_deg: Measured
    head_roll_deg: Measured
    facing: Facing | None
    posture: Posture | None
    figure_frac: Measured
    joints: tuple[JointSeen, ...]
    skeleton_px: tuple[tuple[PointPx, PointPx], ...]
    confidence: float
    cut_edges: tuple[Edge, ...] = ()
    notes: tuple[str, ...] = ()
    body_yaw_deg: Measured = NO_BODY
    look: PersonLook | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameMeasurement:
    """One picture, measured.

    Attributes:
        width_px, height_px: the whole file.
        picture: the active picture, without black bars.
        people: the main subject first.
        notes: what the reader should know about how it was measured.
        camera_pitch_deg: + looks up, - looks down; told by the bodies in the picture.
    """

    width_px: int
    height_px: int
    picture: Box
    people: tuple[PersonFraming, ...]
    notes: tuple[str, ...] = ()
    camera_pitch_deg: Measured = NO_BODY
