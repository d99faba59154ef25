"""Letters for people: who is who within one sequence, by their colours alone.

Everybody gets the letter of the group that looks most alike, or a new one. Two people in one
picture never share a letter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from framecheck.coverage.likeness import (
    SIDE_ODDS,
    log_odds,
    look_array,
    part_distances,
    side_of,
)
from framecheck.records.sequence import Moment, SequenceShot

FloatArray = npt.NDArray[np.float64]

EXEMPLARS = 6
"""A group is told by so many of its looks."""
ALONE, TOGETHER = 300, 64
"""So many shots are taken in one by one, the others so many at a time."""
MOST_PEOPLE = 120
"""No more people than this are told apart in one sequence; whoever comes later stays unknown, so
that a montage of thousands does not take for ever. Neighbours are compared all the same."""
MOST_MERGED = 24
"""Of more groups than this none are put together: that takes long, and a mistake more likely."""
_AT_ONCE = 20_000  # comparisons; about 30 MB
JOIN_ODDS = 0.0
"""Log odds from which somebody belongs to a group."""
UNKNOWN = -1


@dataclass(slots=True)
class _Groups:
    """The people met so far."""

    looks: FloatArray = field(default_factory=lambda: np.full((8, EXEMPLARS, 5, 8), np.nan))
    sides: FloatArray = field(default_factory=lambda: np.zeros((8, EXEMPLARS)))
    sizes: list[int] = field(default_factory=list)
    together: set[tuple[int, int]] = field(default_factory=set)

    def odds(self, looks: FloatArray, sides: FloatArray) -> FloatArray:
        """(N, groups): the mean over what is known of a group.

        Args:
            looks: (N, parts, 8).
            sides: (N,) where they look, as `side_of` says.
        """
        count = len(self.sizes)
        found = np.zeros((len(looks), count))
        if not count:
            return found
        most = min(EXEMPLARS, max(self.sizes))
        kept = self.looks[:count, :most]
        known = np.isfinite(kept[:, :, :, 0]).any(axis=2)
        step = max(1, _AT_ONCE // (count * most))
        for start in range(0, len(looks), step):
            some = looks[start : start + step, None, None]
            turned = self.sides[:count, :most] * sides[start : start + step, None, None] < 0
            told = (log_odds(part_distances(kept, some)) - SIDE_ODDS * turned) * known
            found[start : start + step] = told.sum(axis=2)
        return np.asarray(found / np.maximum(known.sum(axis=1), 1))

    def odds_of(self, group: int, looks: FloatArray, sides: FloatArray) -> FloatArray:
        """(N,) of one group that has one look."""
        turned = self.sides[group, 0] * sides < 0
        told = log_odds(part_distances(self.looks[group, 0][None], looks)) - SIDE_ODDS * turned
        return np.asarray(told)

    def add(self, look: FloatArray, side: float) -> int:
        """A new group; its number."""
        if len(self.sizes) == len(self.looks):
            self.looks = np.concatenate([self.looks, np.full_like(self.looks, np.nan)])
            self.sides = np.concatenate([self.sides, np.zeros_like(self.sides)])
        self.sizes.append(0)
        self.join(len(self.sizes) - 1, look, side)
        return len(self.sizes) - 1

    def join(self, group: int, look: FloatArray, side: float) -> None:
        """One more look of a group; the first ones are kept, the later take turns."""
        place = self.sizes[group]
        if place >= EXEMPLARS:
            place = 2 + (place - 2) % (EXEMPLARS - 2)
        self.looks[group, place] = look
        self.sides[group, place] = side
        self.sizes[group] += 1

    def meet(self, found: Sequence[int]) -> None:
        """These stand together in a picture, and so are different people."""
        self.together |= {(one, other) for one in found for other in found if one != other}

    def merged(self, one: int, other: int) -> _Groups:
        """The same with one group in the place of two."""
        left = _Groups()
        place = {}
        for group, size in enumerate(self.sizes):
            if group == other:
                continue
            place[group] = len(left.sizes)
            members = [group, other] if group == one else [group]
            kept = [
                (self.looks[member, at], float(self.sides[member, at]))
                for at in range(EXEMPLARS)
                for member in members
                if at < self.sizes[member]
            ]
            left.add(*kept[0])
            for look in kept[1:EXEMPLARS]:
                left.join(place[group], *look)
            left.sizes[-1] = size if group != one else size + self.sizes[other]
        place[other] = place[one]
        left.together = {(place[a], place[b]) for a, b in self.together}
        return left


@dataclass(frozen=True, slots=True, kw_only=True)
class PeopleOf:
    """The groups of the people of one shot, in the order of each moment's people."""

    first: tuple[int, ...]
    best: tuple[int, ...]
    last: tuple[int, ...]


def group_people(shots: Sequence[SequenceShot]) -> tuple[PeopleOf, ...]:
    """Who is who, for each shot; `UNKNOWN` for people of whom no colours were read."""
    groups = _Groups()
    for start, stop in _blocks(len(shots)):
        _meet(groups, [shot.best for shot in shots[start:stop]])
    groups = _without_doubles(groups)
    # The first ones were told when little was known: once more, with all that is known now.
    told = {"best": _tell(groups, [shot.best for shot in shots])}
    for name in ("first", "last"):
        others = [getattr(shot, name) for shot in shots]
        alike = all(moment is shot.best for moment, shot in zip(others, shots, strict=True))
        told[name] = told["best"] if alike else _tell(groups, others)
    order = _by_count(told["best"])
    named = {
        name: [tuple(order.get(group, UNKNOWN) for group in people) for people in told[name]]
        for name in told
    }
    return tuple(
        PeopleOf(first=first, best=best, last=last)
        for first, best, last in zip(*(named[n] for n in ("first", "best", "last")), strict=True)
    )


def _blocks(count: int) -> list[tuple[int, int]]:
    """One shot at a time at first, then many: asking for each alone takes long."""
    few = min(count, ALONE)
    starts = [*range(few), *range(few, count, TOGETHER)]
    return list(pairwise([*starts, count]))


def letter(group: int) -> str:
    """A, B, ... Z, AA, AB, ...; "?" for somebody unknown."""
    if group < 0:
        return "?"
    letters, rest = "", group + 1
    while rest:
        rest, place = divmod(rest - 1, 26)
        letters = chr(ord("A") + place) + letters
    return letters


def _meet(groups: _Groups, moments: Sequence[Moment]) -> None:
    """Take the people of some pictures in: each joins a group, or makes a new one.

    What they add to the groups that were there counts for the pictures after these.
    """
    looks, sides, rows_of = _stacked(moments)
    odds = groups.odds(looks, sides)
    for rows in rows_of:
        found = []
        for place, group in _matched(odds[rows]):
            one = (looks[rows[place]], float(sides[rows[place]]))
            if group != UNKNOWN:
                groups.join(group, *one)
                found.append(group)
                continue
            if len(groups.sizes) >= MOST_PEOPLE:
                continue
            found.append(groups.add(*one))
            odds = np.column_stack([odds, groups.odds_of(found[-1], looks, sides)])
        groups.meet(found)


def _without_doubles(groups: _Groups) -> _Groups:
    """Groups that turn out to be one person, put together, the likeliest first.

    Whoever was met when little was known may have been taken for somebody new.
    """
    while 2 <= len(groups.sizes) <= MOST_MERGED:
        likely, one, other = max(
            (
                (_odds_between(groups, one, other), one, other)
                for one in range(len(groups.sizes))
                for other in range(one + 1, len(groups.sizes))
                if (one, other) not in groups.together
            ),
            default=(-math.inf, 0, 0),
        )
        if likely < JOIN_ODDS:
            break
        groups = groups.merged(one, other)
    return groups


def _odds_between(groups: _Groups, one: int, other: int) -> float:
    """The mean over what is known of both."""
    known = [min(EXEMPLARS, groups.sizes[group]) for group in (one, other)]
    looks, sides = groups.looks[one, : known[0], None], groups.sides[one, : known[0], None]
    others = groups.looks[other, : known[1]][None]
    turned = groups.sides[other, : known[1]][None] * sides < 0
    return float((log_odds(part_distances(looks, others)) - SIDE_ODDS * turned).mean())


def _stacked(moments: Sequence[Moment]) -> tuple[FloatArray, FloatArray, list[list[int]]]:
    """Looks and sides of all people, and the rows of those in each picture whose look was read."""
    people = [person for moment in moments for person in moment.people]
    looks = look_array([person.look for person in people])
    seen = np.asarray(np.isfinite(looks[:, :, 0]).any(axis=1))
    rows, start = [], 0
    for moment in moments:
        stop = start + len(moment.people)
        rows.append([row for row in range(start, stop) if seen[row]])
        start = stop
    return looks, np.array([side_of(person) for person in people]), rows


def _tell(groups: _Groups, moments: Sequence[Moment]) -> list[tuple[int, ...]]:
    """The groups of the people of many pictures, with nothing learnt from them."""
    looks, sides, rows_of = _stacked(moments)
    odds = groups.odds(looks, sides)
    told, start = [], 0
    for moment, rows in zip(moments, rows_of, strict=True):
        found = [UNKNOWN] * len(moment.people)
        for place, group in _matched(odds[rows]):
            found[rows[place] - start] = group
        told.append(tuple(found))
        start += len(moment.people)
    return told


def _matched(odds: FloatArray) -> list[tuple[int, int]]:
    """(row, group) for the people of one picture, the surest first, no group twice."""
    if not odds.shape[1]:
        return [(row, UNKNOWN) for row in range(len(odds))]
    free = odds.tolist()
    waiting = list(range(len(free)))
    found = []
    while waiting:
        row = max(waiting, key=lambda number: max(free[number]))
        waiting.remove(row)
        best = max(free[row])
        group = free[row].index(best) if best >= JOIN_ODDS else UNKNOWN
        found.append((row, group))
        if group != UNKNOWN:
            for other in waiting:
                free[other][group] = -math.inf
    return found


def _by_count(best: Sequence[tuple[int, ...]]) -> dict[int, int]:
    """New numbers, those first whom most shots are about, of equals whom the first shot shows."""
    counts: dict[int, int] = {}
    for people in best:
        for place, group in enumerate(people):
            if group != UNKNOWN:
                counts[group] = counts.get(group, 0) + (place == 0)
    ordered = sorted(counts, key=lambda group: -min(counts[group], 1))
    return {group: number for number, group in enumerate(ordered)}
