"""Frames that show nothing, and the ways into and out of them."""

from __future__ import annotations

from collections.abc import Iterator

from framecheck.records.clips import Boundary, Transition

FALL_LEAST = 0.15
"""Least change of contrast a frame in a fade."""


class FlatWatch:
    """Follows the contrast, and tells of stretches that show nothing and how film leads there."""

    def __init__(self, flat_levels: float, reach: int) -> None:
        self._flat_levels = flat_levels
        self._reach = reach
        self._spreads: list[float] = []  # of the frames before the stretch in hand
        self._fall_from = -1
        self._first = -1  # of the flat stretch in hand
        self._rise_from = -1
        self._seen_any = False

    def push(self, index: int, spread: float) -> Iterator[Boundary]:
        """Take a frame's contrast in."""
        if spread < self._flat_levels:
            if self._rise_from >= 0 and self._first >= 0:
                yield from self._end()
            if self._first < 0:
                self._first, self._fall_from = index, self._start_of_fall(index)
            return
        self._seen_any = True
        if self._first >= 0 and self._rise_from < 0:
            self._rise_from, self._spreads = index, []
        self._spreads.append(spread)
        if self._rise_from >= 0 and self._has_risen(index):
            yield from self._end()
        if self._rise_from < 0:
            del self._spreads[: -self._reach]

    def finish(self) -> Iterator[Boundary]:
        """The clip is over."""
        if self._rise_from >= 0:
            yield from self._end()

    def _start_of_fall(self, index: int) -> int:
        """The first frame of the way down to a flat one."""
        start, last = index, 0.0
        for spread in reversed(self._spreads):
            if spread < last + FALL_LEAST:
                break
            start, last = start - 1, spread
        # The frame that the fall starts from still shows the old shot whole.
        return min(index, start + 1)

    def _has_risen(self, index: int) -> bool:
        if index - self._rise_from >= self._reach:
            return True
        return len(self._spreads) >= 3 and self._spreads[-1] < self._spreads[-2] + FALL_LEAST

    def _end(self) -> Iterator[Boundary]:
        rise = self._rise_length()
        if self._first > 0:
            yield Boundary(
                frame=self._rise_from, transition=Transition.FADE, from_frame=self._fall_from,
                to_frame=self._rise_from + rise,
            )  # fmt: skip
        elif self._first == 0:
            yield Boundary(
                frame=self._rise_from, transition=Transition.FADE if rise > 1 else Transition.CUT,
                from_frame=0, to_frame=self._rise_from + rise,
            )  # fmt: skip
        self._first, self._rise_from = -1, -1

    def _rise_length(self) -> int:
        rise = 0
        for one, other in zip(self._spreads, self._spreads[1:], strict=False):
            if other < one + FALL_LEAST:
                break
            rise += 1
        return rise
