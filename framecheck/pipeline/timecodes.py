"""The timecode of a moment in a clip."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from framecheck.records.clips import ClipHeader
from framecheck.units import can_drop, format_timecode, frame_at, parse_timecode


@dataclass(frozen=True, slots=True, kw_only=True)
class TimecodeTrack:
    """What numbers the frames of a clip.

    Attributes:
        rate: frames a second.
        first: the number of the first frame, counted from midnight.
        drop: True when numbers are dropped.
    """

    rate: Fraction
    first: int
    drop: bool

    def at(self, time_s: Fraction) -> str:
        """The timecode of what is shown at a time from the first frame.

        Told by the time and not by counting, so that it holds where the rate varies, or numbered
        frames are missing. Evenly spaced frames have exact times, and get each its own number.
        """
        return format_timecode(self.first + frame_at(time_s, self.rate), self.rate, drop=self.drop)


def timecode_track(header: ClipHeader) -> TimecodeTrack:
    """The track of a clip: from its own start timecode, or from 0 when it carries none."""
    first, drop = 0, header.drop_frame and can_drop(header.rate)
    if header.start_timecode:
        try:
            first, drop = parse_timecode(header.start_timecode, header.rate)
        except ValueError:  # of numbers that this rate does not have
            first = 0
    return TimecodeTrack(rate=header.rate, first=first, drop=drop)
