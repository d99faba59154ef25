"""Measured clips and shots as an edit sees them: exact rates, whole frames, timecode."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import TypeAlias

Value: TypeAlias = str | int | float


@dataclass(frozen=True, slots=True, kw_only=True)
class EditShot:
    """One shot.

    Attributes:
        number: in its clip, from 0.
        start_frame, end_frame: the first frame, and the one after the last, from the clip's first.
        size, size_abbr: its size in words and short; "" when it has none.
        flags: parts that are flagged, worst first.
        best_frame: the frame that shows it best.
        values: everything that was measured, by column, what is empty left out.
    """

    number: int
    start_frame: int
    end_frame: int
    size: str
    size_abbr: str
    flags: tuple[str, ...]
    best_frame: int
    values: Mapping[str, Value]

    def __post_init__(self) -> None:
        if not 0 <= self.start_frame < self.end_frame:
            raise ValueError(f"a shot needs a frame, got {self.start_frame} to {self.end_frame}")


@dataclass(frozen=True, slots=True, kw_only=True)
class NumberedFrames:
    """The names of numbered frames: prefix, as many digits, suffix; and the first number."""

    prefix: str
    digits: int
    suffix: str
    first: int


@dataclass(frozen=True, slots=True, kw_only=True)
class EditClip:
    """One clip, or a still that is held.

    Attributes:
        file: as the tables call it. url: how an edit finds it, relative where it can be.
        rate: frames a second, exact. drop: whether its timecode is drop-frame.
        first_frame: the frame number that its timecode gives its first frame; 0 without timecode.
        shots: in order of time.
        is_still: one picture; its shot lasts as long as it is held.
        numbered: of a clip of numbered frames; `url` is then their folder.
        notes: what an editor should know.
    """

    file: str
    url: str
    rate: Fraction
    drop: bool
    first_frame: int
    shots: tuple[EditShot, ...]
    is_still: bool = False
    numbered: NumberedFrames | None = None
    notes: tuple[str, ...] = ()

    @property
    def frames(self) -> int:
        """How many frames its shots reach."""
        return max((shot.end_frame for shot in self.shots), default=0)
