"""What is said about a measurement: size names, shot types, flags and advice."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from framecheck.records.framing import Edge, FrameMeasurement


class ShotType(str, Enum):
    """How many people the picture is about, and how they stand to each other."""

    SINGLE = "single"
    TWO = "two"
    THREE = "three"
    GROUP = "group"
    OVER_THE_SHOULDER = "over-the-shoulder"
    INSERT = "insert"
    NO_PEOPLE = "no people"


class Severity(str, Enum):
    """How much a cut hurts the picture."""

    HIGH = "high"
    MEDIUM = "medium"
    LOW = "low"


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeName:
    """A shot size in the words of one vocabulary.

    Attributes:
        vocabulary: name of the vocabulary that the words come from.
        name, abbr: of the best band.
        confidence: 0..1, the share of the reading's error that falls into the best band.
        second: name of the second-best band when it is close, else "".
    """

    vocabulary: str
    name: str
    abbr: str
    confidence: float
    second: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Flag:
    """An edge that cuts a person at, or near, a place that does not forgive it.

    Attributes:
        part: ankle, mid-calf, knee, wrist, elbow, fingertips, chin, crown, headroom, looking room.
        person: index of the person.
        edge: which edge of the active picture.
        distance_level: edge minus mark on the ruler, in fractions of stature; > 0 when the edge
            lies above the mark (the joint itself is lost), < 0 when below (the joint shows).
        severity: how much it hurts.
        certainty: 0..1, given the error of the reading.
    """

    part: str
    person: int
    edge: Edge
    distance_level: float
    severity: Severity
    certainty: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """The smallest reframe that clears the flags.

    Attributes:
        text: one sentence for people.
        edge: the edge to move, None for a change of the field as a whole.
        move_frac: outward movement of the edge over the picture height (negative = inward).
        field_change_frac: change of field size, +0.04 = 4 % wider, -0.03 = 3 % tighter.
        clears: the parts whose flags the change clears.
    """

    text: str
    edge: Edge | None
    move_frac: float
    field_change_frac: float
    clears: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameJudgement:
    """Names, flags and advice for one measured picture.

    Attributes:
        sizes: the main subject's size, first in the chosen vocabulary, then in any further ones.
        flags: all people's, worst first.
        advice: empty when nothing needs mending.
    """

    shot_type: ShotType
    sizes: tuple[SizeName, ...]
    flags: tuple[Flag, ...]
    advice: tuple[Advice, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameResult:
    """One picture measured and judged: the unit of every table."""

    file: str
    measurement: FrameMeasurement
    judgement: FrameJudgement
    shot: int | None = None
    frame: int | None = None
    time_s: float | None = None
    timecode: str = ""


class FileStatus(str, Enum):
    """How an input fared."""

    MEASURED = "measured"
    SKIPPED = "skipped"
    FAILED = "failed"


@dataclass(frozen=True, slots=True, kw_only=True)
class FileReport:
    """One input with its status.

    Attributes:
        why: empty when measured; else what happened, in one line.
        where: the stage or place in the file where it happened.
    """

    file: str
    status: FileStatus
    why: str = ""
    where: str = ""
    frames: int = 0
    seconds: float = 0.0
