"""When each frame is shown: exact times out of the stamps that containers carry.

Stamps are rounded to the container's tick (a millisecond in Matroska), so that evenly spaced frames
look uneven; some containers stamp packets in the order of decoding only; streams cut together jump.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from framecheck.units import STANDARD_RATES, frame_at, snap_rate

MOST_UNEVEN = Fraction(1, 4)
"""Of a frame's duration: how far a frame may lie off even spacing. Cameras' clocks jitter by less;
a frame left out or held moves all that follow by one."""
ROUNDED = Fraction(1)
"""Units by which rounding alone moves a stamp, counted from another one that is rounded too."""
LONGEST_GAP_S = 10
"""A jump of the stamps by more, in a container for streams, is a splice and not a pause."""
MOST_WAITING = 64  # packets a decoder may hold back; above, stamps and frames do not pair up
FALLBACK_RATE = Fraction(25)


@dataclass(frozen=True, slots=True, kw_only=True)
class Spacing:
    """How the frames of a clip follow each other.

    Attributes:
        rate: frames a second, exact; where it varies, the average as the container knows it.
        variable: True when frames are not evenly spaced.
    """

    rate: Fraction
    variable: bool


def find_spacing(
    stamps: Sequence[int], tick_s: Fraction, said: Sequence[Fraction | None]
) -> Spacing:
    """The rate that fits the stamps: first one that explains them all, then one that nearly does.

    Args:
        stamps: of frames that follow each other, in order; few or none when there are none to see.
        tick_s: duration of one unit of the stamps.
        said: rates that the container names, the most trusted first; None and 0 are passed over.
    """
    rates = [snap_rate(rate) for rate in said if rate]
    if len(stamps) < 3 or stamps[-1] <= stamps[0]:
        return Spacing(rate=rates[0] if rates else FALLBACK_RATE, variable=False)
    seen = snap_rate(Fraction(len(stamps) - 1, stamps[-1] - stamps[0]) / tick_s)
    usual = min(STANDARD_RATES, key=lambda rate: abs(rate - seen))
    for most_off in (ROUNDED, None):
        for rate in (*rates, usual, seen):
            ticks = 1 / (rate * tick_s)
            if _most_off(stamps, ticks) <= (most_off or max(ROUNDED, MOST_UNEVEN * ticks)):
                return Spacing(rate=rate, variable=False)
    # a container may give its tick for a rate: thousands a second
    plausible = [rate for rate in rates if seen / 4 <= rate <= 4 * seen]
    return Spacing(rate=(*plausible, seen)[0], variable=True)


def _most_off(stamps: Sequence[int], ticks: Fraction) -> Fraction:
    """How far the stamps lie from even spacing at the most, in their own units."""
    return max(abs(stamp - stamps[0] - place * ticks) for place, stamp in enumerate(stamps))


class ClipClock:
    """Gives frames their times, in the order of presentation, from 0 and always rising.

    Args:
        spacing: of the clip. Evenly spaced frames get exact multiples of their duration.
        tick_s: duration of one unit of the stamps.
        by_packet: True when only the packets' stamps can be trusted, in the order of decoding.
        may_jump: True for containers of streams, whose stamps may jump where they were cut.
    """

    def __init__(
        self, spacing: Spacing, tick_s: Fraction, *, by_packet: bool, may_jump: bool
    ) -> None:
        self.uneven = False
        """True once a frame of an evenly spaced clip was found off its place."""
        self._spacing, self._tick_s = spacing, tick_s
        self._by_packet, self._may_jump = by_packet, may_jump
        self._waiting: deque[int] = deque()
        self._origin: Fraction | None = None  # of the stamps, in seconds
        self._last_s: Fraction | None = None

    @property
    def origin_s(self) -> Fraction:
        """What the container's stamps say at time 0."""
        return self._origin or Fraction(0)

    def see_packet(self, stamp: int | None) -> None:
        """Notes the stamp of a packet with a picture in it."""
        if not self._by_packet or stamp is None:
            return
        self._waiting.append(stamp)
        if len(self._waiting) > MOST_WAITING:
            self._by_packet = False
            self._waiting.clear()

    def time_s(self, stamp: int | None) -> Fraction:
        """The time of the next frame.

        Args:
            stamp: its own; None when it has none. Not looked at when packets are counted.
        """
        if self._by_packet:
            stamp = self._waiting.popleft() if self._waiting else None
        time_s = self._follow(stamp)
        self._last_s = time_s
        return time_s

    def _follow(self, stamp: int | None) -> Fraction:
        expected = Fraction(0) if self._last_s is None else self._last_s + 1 / self._spacing.rate
        if stamp is None:
            return expected
        shown = stamp * self._tick_s
        if self._origin is None:
            self._origin = shown - expected
        time_s = self._on_grid(shown - self._origin)
        if self._last_s is None:
            return time_s
        if time_s <= self._last_s or (self._may_jump and time_s > expected + LONGEST_GAP_S):
            self._origin = shown - expected
            return expected
        self.uneven |= abs(time_s - expected) > MOST_UNEVEN / self._spacing.rate
        return time_s

    def _on_grid(self, time_s: Fraction) -> Fraction:
        if self._spacing.variable:
            return time_s
        rate = self._spacing.rate
        even_s = frame_at(time_s, rate) / rate
        near = abs(even_s - time_s) <= max(self._tick_s, MOST_UNEVEN / rate)
        return even_s if near else time_s
