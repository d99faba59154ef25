"""Dissolves: stretches whose frames are mixtures of their two ends, in shares that grow evenly."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import numpy as np

from framecheck.records.clips import Boundary, Transition
from framecheck.shots.boundary_settings import DissolveSettings
from framecheck.shots.history import History
from framecheck.shots.outlines import outlines_alike


class DissolveSearch:
    """Finds the dissolves that end with a frame.

    Args:
        history: the frames so far.
        rate: frames a second.
        settings: limits of the search.
    """

    def __init__(self, history: History, rate: Fraction, settings: DissolveSettings) -> None:
        self._history = history
        self._settings = settings
        self._rate = float(rate)
        self._lengths = settings.lengths(rate)

    def ending_with(self, end: int) -> Iterator[tuple[float, Boundary]]:
        """Yield the dissolves whose first frame of the new shot alone is `end`, with their misfit.

        The less the misfit, the better a place suits, of several that touch.
        """
        for length in self._lengths:
            start = end - length
            margin = max(2, length // 4)
            if start - margin < self._history.first or end + 1 > self._history.end:
                break
            misfit = self._misfit(start, end, margin)
            if misfit is not None:
                found = Boundary(
                    frame=(start + 1 + end) // 2, transition=Transition.DISSOLVE,
                    from_frame=start + 1, to_frame=end,
                )  # fmt: skip
                yield misfit, found

    def _misfit(self, start: int, end: int, margin: int) -> float | None:
        """How badly the frames between are mixtures of the two ends; None when they are none."""
        s, h = self._settings, self._history
        apart = h.square(start, end)
        if apart < s.levels**2 or not self._is_half_way(start, end, apart):
            return None
        low, high = start - margin, min(h.end, end + margin + 1)
        to_start, to_end = h.squares_to(start, low, high), h.squares_to(end, low, high)
        share = (to_start - to_end + apart) / (2 * apart)
        even = np.clip((np.arange(low, high) - start) / (end - start), 0.0, 1.0)
        bend = float(np.abs(share - even).max())
        if bend > s.bend:
            return None
        inside = slice(margin + 1, margin + end - start)
        left = np.maximum(to_start - share**2 * apart, 0.0)[inside]
        rest = float(np.sqrt(left.mean() / apart))
        if rest > s.rest:
            return None
        return self._weighed(start, end, bend, rest)

    def _is_half_way(self, start: int, end: int, apart: float) -> bool:
        """Is the middle frame about half of each end? Cheap, and settles most stretches."""
        h, middle = self._history, (start + end) // 2
        share = (h.square(start, middle) - h.square(middle, end) + apart) / (2 * apart)
        return abs(share - (middle - start) / (end - start)) <= self._settings.bend

    def _weighed(self, start: int, end: int, bend: float, rest: float) -> float | None:
        """The misfit when the signs together leave little doubt; None else."""
        s, h = self._settings, self._history
        edges = self._edges_half_way(start, end)
        alike = h.alike(start, end)
        doubt = (
            s.bend_weight * bend + s.rest_weight * rest + s.edges_weight * edges
            + s.alike_weight * alike - s.length_weight * np.log((end - start) / self._rate)
        )  # fmt: skip
        if doubt > s.most_doubt or edges > s.edges or alike > s.alike:
            return None
        if edges > s.plain_edges and outlines_alike(h.look(start), h.look(end)) > s.moved_alike:
            return None  # the ends are one picture, moved
        middle = (start + end) // 2
        lit = max(h.alike(start, middle), h.alike(middle, end)) > s.lit_alike
        return None if lit else rest + bend + edges

    def _edges_half_way(self, start: int, end: int) -> float:
        """Strength of the edges in the middle of a stretch, over that expected without mixing."""
        strength = self._history.edges(start, end + 1).mean(axis=1)
        middle = len(strength) // 2
        reach = max(0, len(strength) // 10)
        half_way = float(strength[middle - reach : middle + reach + 1].mean())
        return half_way / max(float(strength[0] + strength[-1]) / 2, 1e-6)
