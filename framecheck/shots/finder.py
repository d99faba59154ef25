"""Where one shot ends and the next begins: cuts, dissolves and fades, found while frames come in.

What each of them is, is told where it is searched for: `cuts`, `dissolves`, `flat_watch`. A fade
goes through frames that show nothing at all; a short one that leads back to where it left is a
flash.
"""

from __future__ import annotations

from fractions import Fraction

from framecheck.records.clips import Boundary, Transition
from framecheck.shots.boundary_settings import BoundarySettings
from framecheck.shots.cuts import CutSearch
from framecheck.shots.dissolves import DissolveSearch
from framecheck.shots.flat_watch import FlatWatch
from framecheck.shots.history import History
from framecheck.shots.signature import Small, sign

REMEMBERED = 50
"""Boundaries given out lately that later ones must not repeat."""


class BoundaryFinder:
    """Takes frames in, one by one, and gives out boundaries in order, a little later.

    Args:
        rate: frames a second.
        settings: limits of the search.
    """

    def __init__(self, rate: Fraction, settings: BoundarySettings | None = None) -> None:
        self._settings = settings or BoundarySettings()
        s, second = self._settings, float(rate)
        fade = max(4, round(s.fade.longest_s * second))
        self._flash = round(s.fade.flash_s * second)
        around = s.cut.around_frames(rate)
        self.lag_frames = s.dissolve.lengths(rate)[-1] + 2 * around + fade
        self._history = History(self.lag_frames + 2 * around)
        self._cuts = CutSearch(self._history, rate, s.cut)
        self._dissolve_search = DissolveSearch(self._history, rate, s.dissolve)
        self._flat = FlatWatch(s.fade.flat_levels, fade)
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
        self._look_for_cut(index + 1 - self._cuts.around)
        self._dissolves += self._dissolve_search.ending_with(index + 1 - self._cuts.around)
        return self._decided(index + 1 - self.lag_frames)

    def finish(self) -> list[Boundary]:
        """The boundaries that are left, when no more frames will come."""
        end = self._history.end
        for frame in range(max(1, end + 1 - self._cuts.around), end):
            self._look_for_cut(frame)
            self._dissolves += self._dissolve_search.ending_with(frame)
        self._waiting += [fade for fade in self._flat.finish() if not self._is_flash(fade)]
        return self._decided(end)

    def _look_for_cut(self, frame: int) -> None:
        if frame - 1 > self._history.first and self._cuts.is_cut(frame):
            cut = Boundary(frame=frame, transition=Transition.CUT, from_frame=frame, to_frame=frame)
            self._waiting.append(cut)

    def _is_flash(self, found: Boundary) -> bool:
        """True for a short stretch without a picture that leads back to where it left."""
        h, before = self._history, found.from_frame - 1
        if found.to_frame - before > self._flash or before < h.first:
            return False
        left = (max(h.first, before - self._cuts.around), before + 1)
        right = (found.to_frame, min(h.end, found.to_frame + self._cuts.around))
        if right[1] <= right[0]:
            return False
        apart = h.nearest(left, right)
        alike = h.alike(before, found.to_frame)
        limits = self._settings.fade
        return apart < limits.flash_levels or alike > limits.flash_alike

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
