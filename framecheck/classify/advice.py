"""Advice: the smallest reframe that clears the flags, found by reading the ruler again.

A reframe is tried in steps of a thousandth of the picture height (or of the field), the people
are read again in the moved picture, and the flags are searched anew. It is advised only when the
flags in question are gone, no flag has come up, and none has become worse.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from framecheck.classify.advice_words import word_advice, word_failure
from framecheck.classify.flags import flag_key, walk_flags_cheapest_first
from framecheck.classify.people import SEVERITIES
from framecheck.classify.reread import eye_point_px, move_edge, reread_for_flags, scale_field
from framecheck.classify.room import RoomRanges
from framecheck.classify.thresholds import Thresholds
from framecheck.records.framing import Edge, FrameMeasurement
from framecheck.records.judged import Advice, Flag
from framecheck.records.values import Box

_COARSE_MILLE = 5
"""First step of the search; a good place narrower than this on its own may be passed over."""

_FAR_TIMES = 4
"""A second choice is told only up to this many times the size of the first."""

_Key: TypeAlias = tuple[str, int, str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Reframe:
    """One change of the picture.

    Attributes:
        edge: the edge that moves, None for a change of the whole field.
        mille: thousandths of the picture height (edge) or of the field; > 0 shows more.
    """

    edge: Edge | None
    mille: int


def apply_reframe(measurement: FrameMeasurement, change: Reframe) -> Box:
    """The active picture after a reframe; a change of the field keeps the eyes in their place."""
    picture = measurement.picture
    if change.edge is None:
        return scale_field(picture, 1.0 + change.mille / 1000, eye_point_px(measurement))
    return move_edge(picture, change.edge, change.mille / 1000 * picture.h_px)


def advise(
    measurement: FrameMeasurement,
    flags: Sequence[Flag],
    thresholds: Thresholds,
    ranges: RoomRanges,
) -> tuple[Advice, ...]:
    """The smallest changes that clear the flags.

    One change for all flags is looked for first; failing that, one for each edge; failing that,
    one for the worst flags of the edge. Each answer gives the smallest move of an edge, the
    smallest change of the field, and, where both of these need picture that was not shot, the
    smallest crop as well.

    Returns:
        Smallest first; empty when there are no flags.
    """
    if not flags:
        return ()
    search = _Search(measurement, flags, thresholds, ranges)
    together = _options(search, flags)
    if together:
        return together
    advice: list[Advice] = []
    for group in _groups_by_edge(flags):
        advice.extend(_options(search, group) or _options_for_worst(search, group, thresholds))
    return tuple(advice)


class _Search:
    """What every trial needs: the picture, its flags, and the flags after a change."""

    def __init__(
        self,
        measurement: FrameMeasurement,
        flags: Sequence[Flag],
        thresholds: Thresholds,
        ranges: RoomRanges,
    ) -> None:
        self.measurement = measurement
        self.limit_mille = round(thresholds.advice_max_frac * 1000)
        self._walk: Callable[[Box], Iterator[Flag]] = lambda picture: walk_flags_cheapest_first(
            reread_for_flags(measurement, picture), thresholds, ranges
        )
        self._ranks = {flag_key(flag): SEVERITIES.index(flag.severity) for flag in flags}
        self._seen: dict[Reframe, _Trial] = {}

    def clears(self, change: Reframe, targets: frozenset[_Key]) -> bool:
        """True when the change clears the targets and makes nothing worse."""
        if change not in self._seen:
            self._seen[change] = _Trial(self._walk(apply_reframe(self.measurement, change)))
        return not any(self._refuses(flag, targets) for flag in self._seen[change].flags())

    def _refuses(self, flag: Flag, targets: frozenset[_Key]) -> bool:
        key = flag_key(flag)
        before = self._ranks.get(key)
        return before is None or key in targets or SEVERITIES.index(flag.severity) < before

    def smallest(self, edge: Edge | None, sign: int, targets: frozenset[_Key]) -> Reframe | None:
        """The smallest change of one kind and direction that clears the targets."""
        for far in range(_COARSE_MILLE, self.limit_mille + 1, _COARSE_MILLE):
            if self.clears(Reframe(edge=edge, mille=sign * far), targets):
                near = range(far - _COARSE_MILLE + 1, far + 1)
                changes = (Reframe(edge=edge, mille=sign * mille) for mille in near)
                return next(change for change in changes if self.clears(change, targets))
        return None


class _Trial:
    """The flags of one moved picture, looked for only as far as they are asked for.

    Most changes are refused by the first flag, and several searches try the same change.
    """

    def __init__(self, further: Iterator[Flag]) -> None:
        self._found: list[Flag] = []
        self._further = further

    def flags(self) -> Iterator[Flag]:
        """Those that were found before, then the further ones."""
        yield from self._found
        for flag in self._further:
            self._found.append(flag)
            yield flag


def _options(search: _Search, targets: Sequence[Flag]) -> tuple[Advice, ...]:
    keys = frozenset(map(flag_key, targets))
    edges = sorted({edge for flag in targets for edge in _edges_for(flag)})
    moves = _found(search, edges, keys)
    fields = _found(search, [None], keys)
    chosen = _near(sorted([*moves[:1], *fields[:1]], key=_size))
    if chosen and all(change.mille > 0 for change in chosen):
        chosen += [change for change in (*moves, *fields) if change.mille < 0][:1]
    picture = search.measurement.picture
    ordered = sorted(chosen, key=_size)
    return tuple(
        Advice(
            text=word_advice(
                change.edge, change.mille, targets, picture, first=change is ordered[0]
            ),
            edge=change.edge,
            move_frac=0.0 if change.edge is None else change.mille / 1000,
            field_change_frac=change.mille / 1000 if change.edge is None else 0.0,
            clears=tuple(dict.fromkeys(flag.part for flag in targets)),
        )
        for change in ordered
    )


def _edges_for(flag: Flag) -> tuple[Edge, ...]:
    # Looking room is a balance: what is missing ahead can be given there or taken away behind.
    return (Edge.LEFT, Edge.RIGHT) if flag.part == "looking room" else (flag.edge,)


def _found(search: _Search, edges: Sequence[Edge | None], keys: frozenset[_Key]) -> list[Reframe]:
    tries = (search.smallest(edge, sign, keys) for edge in edges for sign in (1, -1))
    return sorted((change for change in tries if change is not None), key=_size)


def _near(ordered: Sequence[Reframe]) -> list[Reframe]:
    return [c for c in ordered if abs(c.mille) <= _FAR_TIMES * abs(ordered[0].mille)]


def _size(change: Reframe) -> tuple[int, bool]:
    return (abs(change.mille), change.mille > 0)  # of two alike, the crop, as it can still be done


def _groups_by_edge(flags: Sequence[Flag]) -> list[list[Flag]]:
    edges = list(dict.fromkeys(flag.edge for flag in flags))
    return [[flag for flag in flags if flag.edge is edge] for edge in edges]


def _options_for_worst(
    search: _Search, group: Sequence[Flag], thresholds: Thresholds
) -> tuple[Advice, ...]:
    worst = [flag for flag in group if flag.severity is group[0].severity]
    options = _options(search, worst) if len(worst) < len(group) else ()
    if options:
        return options
    return (
        Advice(
            text=word_failure(group, thresholds.advice_max_frac),
            edge=None,
            move_frac=0.0,
            field_change_frac=0.0,
            clears=(),
        ),
    )
