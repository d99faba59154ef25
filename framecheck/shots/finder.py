"""Where one shot ends and the next begins: cuts, dissolves and fades, found while frames come in.

A cut is a jump to something else: large beside the movement on either side, and what comes after
is unlike all that was before it for a quarter of a second, so that a flash or somebody passing
close to the lens is none. A dissolve is a stretch whose frames are mixtures of its two ends, in
shares that grow evenly. A fade goes through frames that show nothing at all.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

import cv2
import numpy as np

from framecheck.records.clips import Boundary, Transition
from framecheck.shots.history import History
from framecheck.shots.signature import LUMA_WH, Floats, Small, sign


@dataclass(frozen=True, slots=True, kw_only=True)
class BoundarySettings:
    """Limits of the search; times in seconds, so that every frame rate is judged alike.

    Attributes:
        cut_levels: least jump of a cut, root mean square of the levels 0..255.
        cut_ratio: least jump over the movement around it.
        sure_ratio: from this ratio on a jump is a cut whatever it looks like.
        moved_alike: correlation of the outlines from which a jump is a movement.
        cut_alike: least distance of the frames before and after the jump, over the jump.
        around_s: how far around a cut movement and likeness are looked at.
        near_s: the part of it next to the cut whose movement counts in full.
        flat_levels: most contrast of a frame that shows nothing.
        fade_s: longest way into or out of such frames.
        flash_s: longest flash, its rise and fall with it.
        flash_levels, flash_alike: distance and correlation of the pictures before and after it.
        dissolve_s: shortest and longest dissolve.
        dissolve_levels: least difference of its two ends.
        dissolve_rest: most of a frame in it that is no mixture of the ends, over their difference.
        dissolve_bend: most that the shares of the mixture may stray from growing evenly.
        dissolve_edges: most strength of the edges half way, over that at the ends: two pictures
            laid over each other show the edges of each at half the contrast.
        dissolve_alike: most correlation of its ends: more is one picture in other light.
    """

    cut_levels: float = 4.0
    cut_ratio: float = 2.4
    sure_ratio: float = 4.0
    moved_alike: float = 0.5
    cut_alike: float = 0.5
    around_s: float = 0.25
    near_s: float = 0.085
    flat_levels: float = 3.0
    fade_s: float = 2.0
    flash_s: float = 0.6
    flash_levels: float = 14.0
    flash_alike: float = 0.6
    dissolve_s: tuple[float, float] = (0.2, 2.6)
    dissolve_levels: float = 12.0
    dissolve_rest: float = 0.26
    dissolve_bend: float = 0.14
    dissolve_edges: float = 0.72
    dissolve_alike: float = 0.80


NOISE_LEVELS = 0.7
"""Movement that every film has: grain and coding."""

FAR_WEIGHT = 0.3
"""How much movement farther from a cut counts beside that next to it."""

FALL_LEAST = 0.15
"""Least change of contrast a frame in a fade."""

REMEMBERED = 50
"""Boundaries given out lately that later ones must not repeat."""

EDGE = 2
"""Cells at the rim of a small picture that may move out of sight."""

LEAST_OUTLINE = 0.5
"""Least contrast of outlines that say anything."""

LUMA_LENGTH = LUMA_WH[0] * LUMA_WH[1]
LIGHT = 0.97
"""Correlation from which half of a dissolve is a change of light."""

LENGTHS_GROWTH = 1.25
"""Each length of a dissolve that is tried over the one before."""


class BoundaryFinder:
    """Takes frames in, one by one, and gives out boundaries in order, a little later.

    Args:
        rate: frames a second.
        settings: limits of the search.
    """

    def __init__(self, rate: Fraction, settings: BoundarySettings | None = None) -> None:
        self._settings = settings or BoundarySettings()
        s, second = self._settings, float(rate)
        self._around = max(4, round(s.around_s * second))
        self._near = max(3, round(s.near_s * second))
        self._fade = max(4, round(s.fade_s * second))
        self._flash = round(s.flash_s * second)
        self._lengths = _lengths(*(max(3, round(v * second)) for v in s.dissolve_s))
        self.lag_frames = self._lengths[-1] + 2 * self._around + self._fade
        self._history = History(self.lag_frames + 2 * self._around)
        self._flat = _FlatWatch(s.flat_levels, self._fade)
        self._waiting: list[Boundary] = []
        self._dissolves: list[tuple[float, Boundary]] = []
        self._given: list[Boundary] = []

    def push(self, index: int, small: Small) -> list[Boundary]:
        """Take the next frame in; the boundaries that are decided by now.

        Args:
            index: number of the frame, one more than the last one's.
            small: (72, 128, 3) uint8, Y, U and V.

        Raises:
            ValueError: a frame was left out, or has another shape.
        """
        history = self._history
        if index != history.end:
            raise ValueError(f"frame {history.end} is next, got {index}")
        history.add(sign(small))
        spread = float(history.scalars(index, index + 1)[0, 1])
        fades = self._flat.push(index, spread)
        self._waiting += [fade for fade in fades if not self._is_flash(fade)]
        self._look_for_cut(index + 1 - self._around)
        self._look_for_dissolve(index + 1 - self._around)
        return self._decided(index + 1 - self.lag_frames)

    def finish(self) -> list[Boundary]:
        """The boundaries that are left, when no more frames will come."""
        end = self._history.end
        for frame in range(max(1, end + 1 - self._around), end):
            self._look_for_cut(frame)
            self._look_for_dissolve(frame)
        self._waiting += [fade for fade in self._flat.finish() if not self._is_flash(fade)]
        return self._decided(end)

    def _look_for_cut(self, frame: int) -> None:
        if frame - 1 > self._history.first and self._is_cut(frame):
            cut = Boundary(frame=frame, transition=Transition.CUT, from_frame=frame, to_frame=frame)
            self._waiting.append(cut)

    def _is_cut(self, frame: int) -> bool:
        """Is the given frame the first of a new shot?"""
        s, h = self._settings, self._history
        jump = h.distance(frame - 1, frame)
        if jump < s.cut_levels:
            return False
        start, stop = max(h.first, frame - self._around), min(h.end, frame + self._around)
        movement = max(
            self._movement(max(start + 1, frame - self._near), frame, start + 1, frame),
            self._movement(frame + 1, min(stop, frame + 1 + self._near), frame + 1, stop),
        )
        movement += NOISE_LEVELS
        apart = h.nearest((start, frame), (frame, stop))
        least = max(s.cut_alike * jump, s.cut_ratio * movement / 1.5)
        if jump < s.cut_ratio * movement or apart < least:
            return False
        return jump >= s.sure_ratio * movement or not self._is_moved(frame)

    def _is_moved(self, frame: int) -> bool:
        """True when a frame shows the same as the one before, moved."""
        one, other = (_outlines(self._history.look(f)) for f in (frame - 1, frame))
        core = one[EDGE:-EDGE, EDGE:-EDGE]
        if min(float(core.std()), float(other.std())) < LEAST_OUTLINE:
            return False
        found = cv2.matchTemplate(other, core, cv2.TM_CCOEFF_NORMED)
        return float(found.max()) > self._settings.moved_alike

    def _movement(self, near: int, near_end: int, far: int, far_end: int) -> float:
        h = self._history
        close = h.steps(near, near_end).max(initial=0.0) if near_end > near else 0.0
        wide = h.steps(far, far_end).max(initial=0.0) if far_end > far else 0.0
        return float(max(close, FAR_WEIGHT * wide))

    def _look_for_dissolve(self, end: int) -> None:
        """Does a dissolve end with the given frame, the first that shows the new shot alone?"""
        for length in self._lengths:
            start = end - length
            margin = max(2, length // 4)
            if start - margin < self._history.first or end + 1 > self._history.end:
                break
            rest = self._mixture_rest(start, end, margin)
            if rest is not None:
                found = Boundary(
                    frame=(start + 1 + end) // 2, transition=Transition.DISSOLVE,
                    from_frame=start + 1, to_frame=end,
                )  # fmt: skip
                self._dissolves.append((rest, found))

    def _mixture_rest(self, start: int, end: int, margin: int) -> float | None:
        """How far the frames between are no mixture of the two ends; None when they are none."""
        s, h = self._settings, self._history
        apart = h.square(start, end)
        if apart < s.dissolve_levels**2:
            return None
        low, high = start - margin, min(h.end, end + margin + 1)
        to_start, to_end = h.squares_to(start, low, high), h.squares_to(end, low, high)
        share = (to_start - to_end + apart) / (2 * apart)
        even = np.clip((np.arange(low, high) - start) / (end - start), 0.0, 1.0)
        bend = float(np.abs(share - even).max())
        if bend > s.dissolve_bend:
            return None
        inside = slice(margin + 1, margin + end - start)
        left = np.maximum(to_start - share**2 * apart, 0.0)[inside]
        rest = float(np.sqrt(left.mean() / apart))
        middle = (start + end) // 2
        ends = ((start, end, s.dissolve_alike), (start, middle, LIGHT), (middle, end, LIGHT))
        if rest > s.dissolve_rest or any(self._alike(a, b) > most for a, b, most in ends):
            return None
        edges = self._edges_half_way(start, end)
        return None if edges > s.dissolve_edges else rest + bend + edges

    def _edges_half_way(self, start: int, end: int) -> float:
        """Strength of the edges in the middle of a stretch, over that expected without mixing."""
        strength = self._history.edges(start, end + 1).mean(axis=1)
        middle = len(strength) // 2
        reach = max(0, len(strength) // 10)
        half_way = float(strength[middle - reach : middle + reach + 1].mean())
        return half_way / max(float(strength[0] + strength[-1]) / 2, 1e-6)

    def _alike(self, one: int, other: int) -> float:
        """Correlation of the brightness of two frames, whatever the light."""
        vectors = self._history.vectors(one, one + 1)[0], self._history.vector(other)
        first, second = (v[:LUMA_LENGTH] - v[:LUMA_LENGTH].mean() for v in vectors)
        scale = float(np.linalg.norm(first) * np.linalg.norm(second))
        return float(first @ second) / scale if scale else 1.0

    def _is_flash(self, found: Boundary) -> bool:
        """True for a short stretch without a picture that leads back to where it left."""
        h, before = self._history, found.from_frame - 1
        if found.to_frame - before > self._flash or before < h.first:
            return False
        left = (max(h.first, before - self._around), before + 1)
        right = (found.to_frame, min(h.end, found.to_frame + self._around))
        if right[1] <= right[0]:
            return False
        apart = h.nearest(left, right)
        alike = self._alike(before, found.to_frame)
        return apart < self._settings.flash_levels or alike > self._settings.flash_alike

    def _decided(self, before: int) -> list[Boundary]:
        """Take out what ends before a frame, each stretch of film once."""
        late = [b for b in self._waiting if b.to_frame >= before]
        early = [b for b in self._waiting if b.to_frame < before]
        settled = [(rest, b) for rest, b in self._dissolves if b.to_frame < before]
        if settled and any(
            _touch(one, other)
            for _, one in settled
            for _, other in self._dissolves
            if other.to_frame >= before
        ):
            settled = []  # a longer or better one may still be open
        self._dissolves = [pair for pair in self._dissolves if pair not in settled]
        self._waiting = late
        fades = [b for b in (*self._given, *early, *late) if b.transition is Transition.FADE]
        cuts = [b for b in early if b.transition is Transition.CUT and not _in_any(b, fades)]
        taken = [*(b for b in early if b.transition is Transition.FADE), *_strongest(cuts)]
        for _, found in sorted(settled, key=lambda pair: (pair[0], pair[1].frame)):
            known = (*self._given, *taken)
            if not any(_touch(found, other) for other in known) and not _leads_to(found, fades):
                taken.append(found)
        taken = [b for b in taken if not any(b.frame <= other.frame for other in self._given)]
        given = [*self._given, *sorted(taken, key=lambda b: b.frame)]
        self._given = [b for b in given if b.to_frame >= before - self.lag_frames][-REMEMBERED:]
        return sorted(taken, key=lambda b: b.frame)


def _outlines(look: Small) -> Floats:
    """Strength of the edges of a small picture, (36, 64)."""
    luma = look[:, :, 0].astype(np.float32)
    across, down = (cv2.Sobel(luma, cv2.CV_32F, *way) for way in ((1, 0), (0, 1)))
    return np.asarray(np.hypot(across, down), dtype=np.float32)


def _lengths(shortest: int, longest: int) -> tuple[int, ...]:
    lengths = [shortest]
    while lengths[-1] < longest:
        lengths.append(min(longest, max(lengths[-1] + 1, round(lengths[-1] * LENGTHS_GROWTH))))
    return tuple(lengths)


def _touch(one: Boundary, other: Boundary) -> bool:
    return one.from_frame <= other.to_frame and other.from_frame <= one.to_frame


def _leads_to(dissolve: Boundary, fades: list[Boundary]) -> bool:
    """True for what is the beginning or the end of a fade."""
    reach = (dissolve.to_frame - dissolve.from_frame) // 2
    return any(
        dissolve.from_frame <= fade.to_frame + reach
        and fade.from_frame <= dissolve.to_frame + reach
        for fade in fades
    )


def _in_any(cut: Boundary, others: list[Boundary]) -> bool:
    return any(b.from_frame - 1 <= cut.frame <= b.to_frame + 1 for b in others)


def _strongest(cuts: list[Boundary]) -> list[Boundary]:
    """One cut of several next to each other: the first, as the others are its echo."""
    kept: list[Boundary] = []
    for cut in sorted(cuts, key=lambda b: b.frame):
        if not kept or cut.frame > kept[-1].frame + 1:
            kept.append(cut)
    return kept


class _FlatWatch:
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
