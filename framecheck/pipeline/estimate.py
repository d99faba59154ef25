"""How much of the work is done, and how long the rest may take; all work counted in frames."""

from __future__ import annotations

from dataclasses import dataclass, field

STILL_FRAMES = 40.0
"""A still takes about as long as so many frames of a clip, decoded and some of them measured."""
FIRST_BYTES_A_FRAME = 60_000.0
"""Of a clip that was not opened yet; about 12 Mbit/s at 24 frames a second."""
LEAST_SHARE, LEAST_S = 0.01, 3.0
"""Less than this tells nothing of the rest."""


@dataclass(slots=True)
class Estimate:
    """The work of a run.

    Attributes:
        started_s: when it began, on any clock that goes evenly.
    """

    started_s: float
    _stills: set[int] = field(default_factory=set)
    _bytes: dict[int, int] = field(default_factory=dict)
    _frames: dict[int, float] = field(default_factory=dict)
    _done: dict[int, float] = field(default_factory=dict)

    def expect_still(self, index: int) -> None:
        """A still is to be measured."""
        self._stills.add(index)

    def expect_clip(self, index: int, size_bytes: int) -> None:
        """A clip of that size is to be measured."""
        self._bytes[index] = size_bytes

    def open_clip(self, index: int, frames: float) -> None:
        """It has so many frames."""
        self._frames[index] = max(1.0, frames)

    def advance(self, index: int, frames: float) -> None:
        """So many frames of a clip are read."""
        self._done[index] = frames

    def end(self, index: int) -> None:
        """It is dealt with."""
        self._done[index] = self._work(index)

    def drop(self, index: int) -> None:
        """It costs nothing: it was measured before, or cannot be."""
        self._stills.discard(index)
        self._bytes.pop(index, None)

    def share_of(self, index: int) -> float | None:
        """How much of a clip is read, 0..1; None when its length is not known."""
        frames = self._frames.get(index)
        return min(1.0, self._done.get(index, 0.0) / frames) if frames else None

    def share(self) -> float:
        """How much of all work is done, 0..1."""
        work = {index: self._work(index) for index in (*self._stills, *self._bytes)}
        whole = sum(work.values())
        done = sum(min(self._done.get(index, 0.0), frames) for index, frames in work.items())
        return done / whole if whole > 0 else 1.0

    def left_s(self, now_s: float) -> float | None:
        """How long the rest may take; None while too little is known."""
        share, spent_s = self.share(), now_s - self.started_s
        if share < LEAST_SHARE or spent_s < LEAST_S:
            return None
        return spent_s * (1 - share) / share

    def _work(self, index: int) -> float:
        if index in self._stills:
            return STILL_FRAMES
        return self._frames.get(index) or self._bytes.get(index, 0) / self._bytes_a_frame()

    def _bytes_a_frame(self) -> float:
        opened = [index for index in self._frames if index in self._bytes]
        frames = sum(self._frames[index] for index in opened)
        return sum(self._bytes[i] for i in opened) / frames if frames else FIRST_BYTES_A_FRAME
