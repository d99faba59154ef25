"""Set-ups: the shots of one person that look alike, and which of two people's belong together."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from framecheck.coverage.changes import shown_size
from framecheck.coverage.directions import is_external
from framecheck.coverage.identity import PeopleOf
from framecheck.coverage.talks import Talk
from framecheck.geometry.angles import wrap_deg
from framecheck.records.coverage import CutThresholds
from framecheck.records.sequence import PersonShown, SequenceShot

FARTHEST, FARTHEST_ONCE = 2.0, 1.4
"""Sizes that differ by a larger factor are not meant to match; in a talk, and in one single cut."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Setup:
    """One camera position on one person: the shots that look alike.

    Attributes:
        person: group of the person it is set up for.
        shots: numbers. subjects: that person in each of them.
        external: True over the other's shoulder. size: of the first subject, as `shown_size`.
    """

    person: int
    shots: tuple[int, ...]
    subjects: tuple[PersonShown, ...]
    external: bool
    size: float | None


def setup_of(shot: SequenceShot, groups: PeopleOf) -> Setup:
    """The set-up that a shot alone makes; it shows somebody."""
    subject = shot.best.people[0]
    return Setup(
        person=groups.best[0],
        shots=(shot.number,),
        subjects=(subject,),
        external=is_external(shot),
        size=shown_size(subject),
    )


def find_setups(
    shots: Sequence[SequenceShot],
    people: Sequence[PeopleOf],
    numbers: Sequence[int],
    thresholds: CutThresholds,
) -> list[Setup]:
    """The set-ups that some shots come from, in the order in which they appear.

    Args:
        shots: of the sequence.
        people: who is who.
        numbers: of the shots, each about one person.
        thresholds: how much two shots of one set-up may differ.
    """
    found: list[Setup] = []
    for number in numbers:
        new = setup_of(shots[number], people[number])
        for place, setup in enumerate(found):
            if _is_same_setup(setup, new, thresholds):
                found[place] = _joined(setup, new)
                break
        else:
            found.append(new)
    return found


def _is_same_setup(setup: Setup, new: Setup, thresholds: CutThresholds) -> bool:
    if setup.person != new.person or setup.external != new.external:
        return False
    one, other = setup.subjects[0], new.subjects[0]
    if setup.size is None or new.size is None:
        return False
    factor = max(setup.size / new.size, new.size / setup.size)
    turn = 0.0
    if one.head_yaw_deg is not None and other.head_yaw_deg is not None:
        turn = abs(wrap_deg(one.head_yaw_deg - other.head_yaw_deg))
    return factor < thresholds.setup_size_ratio and turn < thresholds.setup_angle_deg


def _joined(setup: Setup, new: Setup) -> Setup:
    return Setup(
        person=setup.person,
        shots=setup.shots + new.shots,
        subjects=setup.subjects + new.subjects,
        external=setup.external,
        size=setup.size,
    )


def pair_setups(setups: Sequence[Setup], talks: Sequence[Talk]) -> list[tuple[int, int]]:
    """Each set-up with the one of the other side that it is cut with most often.

    One cut alone makes a pair only where the two look at each other in nearly the same size; sizes
    that are far apart are not meant to match.
    """
    setup_of = {number: place for place, setup in enumerate(setups) for number in setup.shots}
    cuts: Counter[tuple[int, int]] = Counter()
    turns: Counter[tuple[int, int]] = Counter()
    for talk in talks:
        order = [number for number in talk.shots if number in setup_of]
        for one, other in pairwise(order):
            a, b = setup_of[one], setup_of[other]
            if setups[a].person != setups[b].person:
                pair = (a, b) if setups[a].person < setups[b].person else (b, a)
                cuts[pair] += 1
                turns[pair] = max(turns[pair], talk.turns)
    likely = [pair for pair in cuts if _could_match(setups, pair, turns[pair])]
    chosen = set()
    for place in range(len(setups)):
        own = [pair for pair in likely if place in pair]
        if own:
            chosen.add(max(own, key=lambda pair: (cuts[pair], -_apart(setups, pair), pair)))
    return sorted(chosen, key=lambda pair: (min(pair), max(pair)))


def _could_match(setups: Sequence[Setup], pair: tuple[int, int], turns: int) -> bool:
    one, other = setups[pair[0]], setups[pair[1]]
    if turns > 1:
        return _apart(setups, pair) <= math.log(FARTHEST)
    yaws = [side.subjects[0].head_yaw_deg for side in (one, other)]
    opposite = None not in yaws and (yaws[0] or 0.0) * (yaws[1] or 0.0) < 0
    alike = one.external == other.external
    return opposite and alike and _apart(setups, pair) <= math.log(FARTHEST_ONCE)


def _apart(setups: Sequence[Setup], pair: tuple[int, int]) -> float:
    """Natural logarithm of the ratio of the sizes; endless where one is not known."""
    sizes = [setups[place].size for place in pair]
    if not sizes[0] or not sizes[1]:
        return math.inf
    return abs(math.log(sizes[0] / sizes[1]))
