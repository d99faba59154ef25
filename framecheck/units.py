"""Exact time: frame rates, times of frames, and SMPTE timecode (ST 12-1).

Timecode is a name for a frame, not a time: at 29.97 frames a second it counts 30 to the second, and
drop-frame timecode keeps it near the clock by leaving out numbers, never frames.
"""

from __future__ import annotations

import math
import re
from fractions import Fraction

FRACTIONAL = Fraction(1000, 1001)
"""How much slower than their names the rates of the NTSC family run."""
NOMINAL_RATES = (12, 15, 20, 24, 25, 30, 48, 50, 60, 72, 90, 96, 100, 120, 144, 150, 180, 200, 240)
STANDARD_RATES = tuple(
    sorted(
        {Fraction(rate) for rate in NOMINAL_RATES}
        | {rate * FRACTIONAL for rate in (12, 15, 24, 30, 48, 60, 120, 240)}
        | {Fraction(25, 2)}
    )
)
SNAP = Fraction(4, 10_000)
"""A rate that is nearer to a standard one than this share of it is that one: 24 and 23.976 lie a
share of 0.001 apart, and 23.98, as it is often written, 0.00017 from what it means."""
DROP_RATES = frozenset(rate * FRACTIONAL for rate in (30, 60, 120))
LARGEST_DENOMINATOR = 100_000  # keeps odd rates short
DAY_S = 24 * 60 * 60

_TIMECODE = re.compile(r"([0-9]{2})[:;]([0-9]{2})[:;]([0-9]{2})([:;.])([0-9]{2,3})", re.ASCII)


def snap_rate(rate: float | Fraction) -> Fraction:
    """The exact rate that is meant: 29.97 gives 30000/1001, 25 gives 25, an odd one itself.

    Raises:
        ValueError: not above 0, or not finite.
    """
    if not math.isfinite(rate) or rate <= 0:
        raise ValueError(f"a frame rate must be above 0, got {rate}")
    exact = Fraction(rate)
    nearest = min(STANDARD_RATES, key=lambda standard: abs(standard - exact))
    if abs(nearest - exact) <= SNAP * nearest:
        return nearest
    return exact.limit_denominator(LARGEST_DENOMINATOR) or exact


def nominal_rate(rate: Fraction) -> int:
    """How many frames timecode counts to a second: 30 for 30000/1001, at least 1."""
    _check_rate(rate)
    return max(1, math.floor(rate + Fraction(1, 2)))


def can_drop(rate: Fraction) -> bool:
    """True at 29.97, 59.94 and 119.88, where drop-frame timecode is defined."""
    return rate in DROP_RATES


def frame_time_s(frame: int, rate: Fraction) -> Fraction:
    """When a frame is first shown, counted from frame 0."""
    _check_rate(rate)
    return frame / rate


def frame_at(time_s: Fraction, rate: Fraction) -> int:
    """The frame whose time is nearest; half way between two, the later one."""
    _check_rate(rate)
    return math.floor(time_s * rate + Fraction(1, 2))


def format_timecode(frame: int, rate: Fraction, *, drop: bool) -> str:
    """The timecode of a frame, counted from 00:00:00:00, starting anew after 24 hours.

    Args:
        frame: 0 or more.
        rate: exact; timecode counts its nominal rate.
        drop: writes drop-frame timecode, with a semicolon before the frames.

    Raises:
        ValueError: a negative frame, or drop-frame at a rate that has none.
    """
    if frame < 0:
        raise ValueError(f"timecode has no negative frames, got {frame}")
    _check_drop(rate, drop=drop)
    nominal = nominal_rate(rate)
    label = (_label_of_dropped(frame, nominal) if drop else frame) % (DAY_S * nominal)
    seconds, number = divmod(label, nominal)
    minutes, second = divmod(seconds, 60)
    hour, minute = divmod(minutes, 60)
    digits = len(str(nominal - 1))
    return f"{hour:02}:{minute:02}:{second:02}{';' if drop else ':'}{number:0{max(2, digits)}}"


def parse_timecode(text: str, rate: Fraction) -> tuple[int, bool]:
    """The frame that a timecode names, and whether it is drop-frame.

    Args:
        text: HH:MM:SS:FF, or with `;` or `.` before the frames for drop-frame.
        rate: exact.

    Raises:
        ValueError: not a timecode, past 24 hours, 60 minutes, 60 seconds or the frames of a second,
            drop-frame at a rate that has none, or a number that drop-frame leaves out.
    """
    match = _TIMECODE.fullmatch(text)
    if not match:
        raise ValueError(f"a timecode looks like 01:23:45:06 or 01:23:45;06, got {text!r}")
    hour, minute, second, number = (int(match[group]) for group in (1, 2, 3, 5))
    nominal, drop = nominal_rate(rate), match[4] != ":"
    _check_drop(rate, drop=drop)
    if hour > 23 or minute > 59 or second > 59 or number >= nominal:
        raise ValueError(
            f"{text} is past 23:59:59 or past frame {nominal - 1} of a second at {nominal}"
        )
    label = ((hour * 60 + minute) * 60 + second) * nominal + number
    if not drop:
        return label, False
    left_out = _dropped_a_minute(nominal)
    if second == 0 and number < left_out and minute % 10:
        raise ValueError(f"drop-frame timecode leaves out {text}")
    minutes = hour * 60 + minute
    return label - left_out * (minutes - minutes // 10), True


def timecode_after(start: str, frames: int, rate: Fraction, *, drop: bool = False) -> str:
    """The timecode so many frames after a start.

    Args:
        start: of the first frame; "" counts from zero.
        frames: 0 or more.
        rate: exact.
        drop: only used where there is no start; else the start says it.

    Raises:
        ValueError: as `parse_timecode` and `format_timecode` say.
    """
    first, drop = parse_timecode(start, rate) if start else (0, drop)
    return format_timecode(first + frames, rate, drop=drop)


def _check_rate(rate: Fraction) -> None:
    if rate <= 0:
        raise ValueError(f"a frame rate must be above 0, got {rate}")


def _check_drop(rate: Fraction, *, drop: bool) -> None:
    if drop and not can_drop(rate):
        raise ValueError(
            f"drop-frame timecode is defined at 29.97, 59.94 and 119.88 frames a second, "
            f"got {float(rate):g}"
        )


def _dropped_a_minute(nominal: int) -> int:
    return nominal // 15  # 2 of 30, 4 of 60, 8 of 120


def _label_of_dropped(frame: int, nominal: int) -> int:
    """The number on the label: two are left out each minute at 30, but not each tenth minute."""
    left_out = _dropped_a_minute(nominal)
    a_minute = 60 * nominal - left_out
    tens, rest = divmod(frame, 10 * a_minute + left_out)
    short_minutes = (rest - left_out) // a_minute if rest >= left_out else 0
    return frame + left_out * (9 * tens + short_minutes)
