"""What is known of a clip and of its shots: times are exact fractions of a second."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import TYPE_CHECKING

from framecheck.records.judged import FrameResult, ShotType, SizeName

if TYPE_CHECKING:
    from framecheck.records.picture import Picture


class Transition(str, Enum):
    """How a shot begins."""

    START = "start"
    CUT = "cut"
    DISSOLVE = "dissolve"
    FADE = "fade"


class SizeChange(str, Enum):
    """What becomes of the size within a shot."""

    STEADY = "steady"
    TIGHTENING = "tightening"
    WIDENING = "widening"


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipHeader:
    """What a clip says of itself before it is decoded.

    Attributes:
        file: its name for the tables.
        width_px, height_px: upright and with square pixels, as a viewer sees it.
        coded_width_px, coded_height_px: as stored.
        pixel_aspect: width over height of a stored pixel.
        rotation_deg: clockwise turn that makes it upright: 0, 90, 180 or 270.
        rate: frames a second, exact (30000/1001); the average where the rate varies.
        variable_rate: True when frames are not evenly spaced.
        start_timecode: of the first frame, "" when the file carries none.
        drop_frame: True when its timecode drops numbers.
        duration_s: as the container states it; None when it does not.
        codec: short name of the coding, as FFmpeg calls it. bits: a sample.
        interlaced: True when frames are made of two fields.
        notes: what the reader should know ("pixel aspect 1.0926 squared up").
    """

    file: str
    width_px: int
    height_px: int
    coded_width_px: int
    coded_height_px: int
    pixel_aspect: Fraction
    rotation_deg: int
    rate: Fraction
    variable_rate: bool
    start_timecode: str
    drop_frame: bool
    duration_s: Fraction | None
    codec: str
    bits: int
    interlaced: bool
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Boundary:
    """A place where one shot ends and the next begins.

    Attributes:
        frame: the first frame of the new shot; in a dissolve the frame where both weigh the same,
            in a fade the first frame that shows anything of the new shot.
        transition: how the new shot begins; never START.
        from_frame, to_frame: the frames that show both shots or neither, `to_frame` not among
            them; for a cut both equal `frame`.
    """

    frame: int
    transition: Transition
    from_frame: int
    to_frame: int

    def __post_init__(self) -> None:
        if not 0 <= self.from_frame <= self.frame <= self.to_frame:
            raise ValueError(f"a boundary's frames must not fall, got {self}")


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotSpan:
    """Where a shot lies in its clip.

    Attributes:
        shot: number in the clip, from 0.
        start_frame: the first frame; end_frame: the one after the last, as in edit lists.
        start_s, end_s: presentation times of these two, from the first frame of the clip.
        transition: how the shot begins.
        clean_from_frame, clean_to_frame: the part that shows this shot alone, no transition.
    """

    shot: int
    start_frame: int
    end_frame: int
    start_s: Fraction
    end_s: Fraction
    transition: Transition
    clean_from_frame: int
    clean_to_frame: int

    def __post_init__(self) -> None:
        if self.end_frame <= self.start_frame:
            raise ValueError(f"a shot needs a frame, got {self.start_frame} to {self.end_frame}")

    @property
    def duration_s(self) -> Fraction:
        """How long it lasts."""
        return self.end_s - self.start_s


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampledFrame:
    """One decoded frame that may be measured, scaled for analysis.

    Attributes:
        frame: its number in the clip. time_s: from the first frame of the clip.
        picture: upright, square pixels, the long side at most the analysis size.
    """

    frame: int
    time_s: Fraction
    picture: Picture


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShotTake:
    """A shot and the frames kept of it for measuring, in order of time, at least one."""

    span: ShotSpan
    samples: tuple[SampledFrame, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotSummary:
    """One label for a shot, from all its measured frames.

    Attributes:
        size: the label of the whole shot, None when no sample gives one; first vocabulary.
        start_size, middle_size, end_size: at its start, middle and end.
        size_change: steady, tightening or widening.
        stability: 0..1, the share of the measured time that agrees with `size`.
        subject_moves: True when the main subject crosses the picture or turns; None unknown.
        people: the most usual count.
        shot_type: the most usual one, weighed by time.
        flags: parts flagged in at least half of the measured time, worst first.
        frame: the frame that shows the shot best; samples: how many were measured.
    """

    size: SizeName | None
    start_size: SizeName | None
    middle_size: SizeName | None
    end_size: SizeName | None
    size_change: SizeChange
    stability: float
    subject_moves: bool | None
    people: int
    shot_type: ShotType
    flags: tuple[str, ...]
    frame: int
    samples: int
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotResult:
    """A shot measured and judged.

    Attributes:
        start_timecode, end_timecode: of `start_frame` and `end_frame`.
        frames: the measured samples, in order of time.
    """

    file: str
    span: ShotSpan
    start_timecode: str
    end_timecode: str
    frames: tuple[FrameResult, ...]
    summary: ShotSummary
