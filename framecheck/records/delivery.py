"""Delivery frames: the pictures of another shape that are cut out of a picture."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from framecheck.records.framing import FrameMeasurement
from framecheck.records.judged import FrameJudgement
from framecheck.records.values import Box


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """One delivery frame, as it is asked for.

    Attributes:
        name: as tables call it, "2.39" or "9:16".
        aspect: width over height of what viewers see.
        protection: share of each side of the largest frame that is kept free around it, 0 to < 1:
            0.05 makes the frame 95 % as wide and as high as would fit.
        offset_x_frac, offset_y_frac: from the middle of the picture to the middle of the frame,
            fractions of the picture width (+ right) and height (+ down).
        fixed_frac: x, y, width and height as fractions of the picture, in place of all of that;
            None for a frame that follows from its aspect.
        protected_frac: the same of the frame with its protection; None for none.
    """

    name: str
    aspect: Fraction
    protection: Fraction = Fraction(0)
    offset_x_frac: float = 0.0
    offset_y_frac: float = 0.0
    fixed_frac: tuple[float, float, float, float] | None = None
    protected_frac: tuple[float, float, float, float] | None = None

    def __post_init__(self) -> None:
        if self.aspect <= 0:
            raise ValueError(f"an aspect must be above 0, got {self.aspect}")
        if not 0 <= self.protection < 1:
            raise ValueError(f"a protection is a share from 0 to below 1, got {self.protection}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Extraction:
    """Where a delivery frame lies in one picture, pixels of the whole file.

    Attributes:
        frame: what is delivered.
        protected: the frame with its protection around it; the same box where there is none.
    """

    frame: Box
    protected: Box


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A delivery frame put somewhere, and what that costs.

    Attributes:
        offset_x_frac, offset_y_frac: from the middle of the picture, fractions of its width and
            height.
        faces_out: faces of subjects that are not wholly inside, though the picture shows them.
        joint_cost: flags of joints, high 4, medium 2, low 1.
        room_cost: the same of headroom and looking room.
    """

    offset_x_frac: float
    offset_y_frac: float
    faces_out: int
    joint_cost: int
    room_cost: int


@dataclass(frozen=True, slots=True, kw_only=True)
class DeliveryReading:
    """One picture judged in one delivery frame.

    Attributes:
        delivery: the frame that was asked for.
        extraction: where it lies, pixels of the whole file.
        measurement: what would be measured in it; people outside are left out.
        judgement: names, flags and advice for that.
        faces, faces_inside, faces_safe: subjects whose face the picture shows, those of them
            wholly inside the frame, and wholly inside its action-safe area.
        asked, best: the frame as asked, and moved to where faces and joints fare best, which of a
            clip is one place for the whole shot; what it costs is told of this picture.
    """

    delivery: Delivery
    extraction: Extraction
    measurement: FrameMeasurement
    judgement: FrameJudgement
    faces: int
    faces_inside: int
    faces_safe: int
    asked: Placed
    best: Placed
