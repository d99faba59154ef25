"""Hard cuts: a jump to something else.

A cut is large beside the movement on either side of it, and what comes after is unlike all that was
before it for a quarter of a second, so that a flash or somebody passing close to the lens is none.
"""

from __future__ import annotations

from fractions import Fraction

from framecheck.shots.boundary_settings import CutSettings
from framecheck.shots.history import History
from framecheck.shots.outlines import outlines_alike

NOISE_LEVELS = 0.7
"""Movement that every film has: grain and coding."""

FAR_WEIGHT = 0.3
"""How much movement farther from a cut counts beside that next to it."""

APART_SHARE = 2 / 3
"""Least distance of before and after, over the least jump that the movement allows."""

WOVEN_SHARE = 0.25
"""Least share of either shot in a frame woven from the fields of both."""

WOVEN_REST = 0.2
"""Most of such a frame that is no mixture of the two, over their difference."""


class CutSearch:
    """Tells whether a frame is the first of a new shot.

    Args:
        history: the frames so far; at least `around` of them after the frame asked for.
        rate: frames a second.
        settings: limits of the search.
    """

    def __init__(self, history: History, rate: Fraction, settings: CutSettings) -> None:
        self._history = history
        self._settings = settings
        self.around = settings.around_frames(rate)
        self._near = max(3, round(settings.near_s * float(rate)))

    def is_cut(self, frame: int) -> bool:
        """Is the given frame the first of a new shot, or the first with a field of it?"""
        if self._history.distance(frame - 1, frame) < self._settings.levels:
            return False
        return self._is_jump(frame, frame) or (
            self._is_woven(frame) and self._is_jump(frame, frame + 1)
        )

    def _is_jump(self, frame: int, new: int) -> bool:
        """Is the step from before `frame` to `new` a jump to something else?"""
        s, h = self._settings, self._history
        jump = h.distance(frame - 1, new)
        start, stop = max(h.first, frame - self.around), min(h.end, new + self.around)
        ratio = jump / self._movement_around((start, frame), (new, stop))
        apart = h.nearest((start, frame), (new, stop)) / jump
        if ratio < s.unlike_ratio or apart < max(s.apart, APART_SHARE * min(1.0, s.ratio / ratio)):
            return False
        if ratio < s.ratio:
            return self._stands_out(jump, (start, frame), (new, stop))
        outlines = outlines_alike(h.look(frame - 1), h.look(new))
        if ratio < s.sure_ratio:
            return outlines <= s.moved_alike
        return outlines < s.lit_outlines or h.alike(frame - 1, new) < s.lit_alike

    def _movement_around(self, before: tuple[int, int], after: tuple[int, int]) -> float:
        """Return the larger movement of the two stretches, in levels a frame."""
        (start, frame), (new, stop) = before, after
        ahead = self._movement(max(start + 1, frame - self._near), frame, start + 1, frame)
        behind = self._movement(new + 1, min(stop, new + 1 + self._near), new + 1, stop)
        return max(ahead, behind) + NOISE_LEVELS

    def _movement(self, near: int, near_end: int, far: int, far_end: int) -> float:
        h = self._history
        close = h.steps(near, near_end).max(initial=0.0) if near_end > near else 0.0
        wide = h.steps(far, far_end).max(initial=0.0) if far_end > far else 0.0
        return float(max(close, FAR_WEIGHT * wide))

    def _stands_out(self, jump: float, before: tuple[int, int], after: tuple[int, int]) -> bool:
        """Is a jump within strong movement still unlike the movement: abrupt, and new?"""
        s, h = self._settings, self._history
        (start, frame), (new, stop) = before, after
        ahead = h.distance(frame - 2, frame - 1) if frame - 2 >= start else 0.0
        behind = h.distance(new, new + 1) if new + 1 < stop else 0.0
        if jump < max(s.unlike_levels, s.unlike_beside * (max(ahead, behind) + NOISE_LEVELS)):
            return False
        outlines = outlines_alike(h.look(frame - 1), h.look(new))
        return outlines < s.unlike_outlines and h.alike(frame - 1, new) < s.unlike_alike

    def _is_woven(self, frame: int) -> bool:
        """True for a frame of which one field shows the old shot and the other the new.

        So it is with film on interlaced video (3:2 pulldown) and with cuts between two fields.
        Shrunk, such a frame is the mixture of its neighbours, and the cut two steps of half the
        size, each of which would pass for movement beside the other.
        """
        h = self._history
        if frame + 1 >= h.end:
            return False
        apart, to_old = h.square(frame - 1, frame + 1), h.square(frame - 1, frame)
        if apart < self._settings.levels**2:
            return False
        share = (to_old - h.square(frame, frame + 1) + apart) / (2 * apart)
        rest = max(to_old - share**2 * apart, 0.0) / apart
        return WOVEN_SHARE < share < 1 - WOVEN_SHARE and rest < WOVEN_REST**2
