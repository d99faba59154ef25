"""Cuts a clip into shots while it is decoded, and keeps a few frames of each for measuring."""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol

import numpy as np

from framecheck.classify.shot_sampling import count_useful
from framecheck.records.clips import (
    Boundary,
    ClipHeader,
    SampledFrame,
    ShotSpan,
    ShotTake,
    Transition,
)
from framecheck.records.picture import Picture
from framecheck.shots.finder import BoundaryFinder
from framecheck.shots.signature import Small


class KeptFrame(Protocol):
    """A frame that stays valid."""

    @property
    def index(self) -> int:
        """Its number, from 0."""
        ...

    @property
    def time_s(self) -> Fraction:
        """From the first frame of the clip."""
        ...

    def picture(self) -> Picture:
        """The frame scaled for analysis, in memory of its own; costly."""
        ...


class ClipFrame(Protocol):
    """A decoded frame, valid until the next one is asked for."""

    @property
    def index(self) -> int:
        """Its number, from 0."""
        ...

    @property
    def time_s(self) -> Fraction:
        """From the first frame of the clip."""
        ...

    @property
    def small(self) -> Small:
        """(72, 128, 3) uint8, Y, U and V."""
        ...

    def keep(self) -> KeptFrame:
        """The frame for later, cheaply."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class CollectLimits:
    """How many frames are kept.

    Attributes:
        step_s: a frame is kept at every such step of the clip's time.
        most_samples: most frames that a take carries.
        jump_levels: mean change of brightness from which a frame is kept besides, as it may be the
            first of a shot that is shorter than a step.
        most_held: no jumps are kept while so many frames wait for the end of their shot, as under
            a flickering light.
    """

    step_s: float = 0.25
    most_samples: int = 9
    jump_levels: float = 10.0
    most_held: int = 40


class ShotCollector:
    """Takes the frames of one clip in, and gives out its shots.

    Frames are kept on the clip's own grid of time. A shot's end is known some seconds late, so all
    of the grid is held that long; of what is surely the same shot no more than twice
    `most_samples` are held, every other one being let go as it grows. So memory does not grow with
    the clip: at 24 frames a second at most about 45 pictures.

    Args:
        header: of the clip.
        finder: of its boundaries.
        limits: how many frames are kept.
    """

    def __init__(
        self, header: ClipHeader, finder: BoundaryFinder, limits: CollectLimits | None = None
    ) -> None:
        self._finder = finder
        self._limits = limits or CollectLimits()
        self._rate = header.rate
        self._step = max(1, round(self._limits.step_s * float(header.rate)))
        self._kept: list[KeptFrame] = []
        self._thinned: list[KeptFrame] = []
        self._stride = 1
        self._times: deque[tuple[int, Fraction]] = deque(maxlen=finder.lag_frames + 2)
        self._last_luma: np.ndarray[tuple[int, ...], np.dtype[np.int16]] | None = None
        self._shot = 0
        self._open = Boundary(frame=0, transition=Transition.CUT, from_frame=0, to_frame=0)
        self._open_s = Fraction(0)

    def push(self, frame: ClipFrame) -> list[ShotTake]:
        """Take the next frame in, and give out the shots that have ended."""
        small = frame.small
        self._times.append((frame.index, frame.time_s))
        jumps = self._is_jump(small) and len(self._kept) < self._limits.most_held
        if frame.index % self._step == 0 or jumps:
            self._kept.append(frame.keep())
        takes = [take for b in self._finder.push(frame.index, small) for take in self._end(b)]
        self._settle(frame.index - self._finder.lag_frames)
        return takes

    def finish(self) -> list[ShotTake]:
        """The shots that are left, when no more frames will come; none of an empty clip."""
        if not self._times:
            return []
        takes = [take for b in self._finder.finish() for take in self._end(b)]
        last, last_s = self._times[-1]
        end_s = last_s + 1 / self._rate
        return [*takes, *self._take(last + 1, end_s, last + 1)]

    def _is_jump(self, small: Small) -> bool:
        luma = small[::4, ::4, 0].astype(np.int16)
        before, self._last_luma = self._last_luma, luma
        if before is None:
            return False
        return float(np.abs(luma - before).mean()) > self._limits.jump_levels

    def _end(self, boundary: Boundary) -> list[ShotTake]:
        start_s = self._time_of(boundary.frame)
        takes = self._take(boundary.frame, start_s, boundary.from_frame)
        if takes:  # else there is nothing to show of it, and it goes with the next shot
            self._open, self._open_s = boundary, start_s
        return takes

    def _time_of(self, frame: int) -> Fraction:
        for index, time_s in reversed(self._times):
            if index == frame:
                return time_s
        return Fraction(frame) / self._rate

    def _take(self, end: int, end_s: Fraction, clean_to: int) -> list[ShotTake]:
        """The shot in hand, ended before a frame; empty when no frame of it was kept."""
        start = self._open.frame
        held = [*self._thinned, *self._kept]
        own = [kept for kept in held if start <= kept.index < end]
        if not own:
            return []
        clean_from, clean_to = max(start, self._open.to_frame), min(end, clean_to)
        clean = [kept for kept in own if clean_from <= kept.index < clean_to]
        if not clean:
            clean_from, clean_to, clean = start, end, own[len(own) // 2 :][:1]
        span = ShotSpan(
            shot=self._shot, start_frame=start, end_frame=end, start_s=self._open_s, end_s=end_s,
            transition=self._open.transition if self._shot else Transition.START,
            clean_from_frame=clean_from, clean_to_frame=clean_to,
        )  # fmt: skip
        self._shot += 1
        self._thinned, self._stride = [], 1
        self._kept = [kept for kept in self._kept if kept.index >= end]
        useful = count_useful(clean[-1].time_s - clean[0].time_s)
        chosen = _evenly(clean, min(useful, self._limits.most_samples))
        return [ShotTake(span=span, samples=tuple(map(_sample, chosen)))]

    def _settle(self, before: int) -> None:
        """Thin out what surely belongs to the shot in hand."""
        first = max(self._open.frame, self._open.to_frame)
        sure = [k for k in self._kept if k.index < before]
        if not sure:
            return
        self._kept = self._kept[len(sure) :]
        on_grid = self._step * self._stride
        self._thinned += [k for k in sure if k.index >= first and k.index % on_grid == 0]
        if not self._thinned:
            self._thinned = sure[:1]
        while len(self._thinned) > 2 * self._limits.most_samples:
            self._stride *= 2
            on_grid = self._step * self._stride
            self._thinned = [
                k for i, k in enumerate(self._thinned) if i == 0 or k.index % on_grid == 0
            ]


def _evenly(kept: list[KeptFrame], most: int) -> list[KeptFrame]:
    """The first, the last and some between, as evenly spaced in time as may be."""
    if len(kept) <= most:
        return kept
    wanted = np.linspace(kept[0].index, kept[-1].index, most)
    frames = np.array([each.index for each in kept])
    chosen = sorted({int(np.abs(frames - at).argmin()) for at in wanted})
    return [kept[i] for i in chosen]


def _sample(kept: KeptFrame) -> SampledFrame:
    return SampledFrame(frame=kept.index, time_s=kept.time_s, picture=kept.picture())
