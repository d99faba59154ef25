"""Stretches of a sequence that cut to and fro between two people: conversations, as a rule."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from framecheck.coverage.identity import UNKNOWN, PeopleOf
from framecheck.records.judged import ShotType
from framecheck.records.sequence import SequenceShot

Couple = tuple[int, int]

MOST_BETWEEN = 1
"""So many shots of something else may stand between two shots of a talk: a cutaway."""

_CROWDED = {ShotType.THREE, ShotType.GROUP}


@dataclass(frozen=True, slots=True, kw_only=True)
class Talk:
    """A stretch that is about two people in turn.

    Attributes:
        couple: their groups, the smaller first.
        shots: numbers of its shots, cutaways left out.
        turns: cuts straight from one of them to the other.
        named: True when the user said so.
    """

    couple: Couple
    shots: tuple[int, ...]
    turns: int
    named: bool = False


def find_talks(
    shots: Sequence[SequenceShot], people: Sequence[PeopleOf], named: Sequence[Couple] = ()
) -> tuple[Talk, ...]:
    """All stretches between two people, with one turn at least, in the order of their begin.

    Args:
        shots: of the sequence.
        people: who is who.
        named: couples that talk to each other, as the user says: all their shots are one talk.
    """
    mains = [_main(shot, groups) for shot, groups in zip(shots, people, strict=True)]
    told = [_named_talk(mains, couple) for couple in dict.fromkeys(map(_sorted, named))]
    covered: dict[Couple, int] = {talk.couple: len(shots) for talk in told}
    found = list(told)
    for number, (one, other) in enumerate(pairwise(mains)):
        couple = _sorted((one, other))
        if one == other or UNKNOWN in couple or covered.get(couple, -1) > number:
            continue
        talk = _grow(mains, number, couple)
        covered[couple] = talk.shots[-1]
        found.append(talk)
    return tuple(found)


def _main(shot: SequenceShot, groups: PeopleOf) -> int:
    """Whom a shot is about; nobody where it shows more than two."""
    if not groups.best or shot.shot_type in _CROWDED:
        return UNKNOWN
    return groups.best[0]


def _grow(mains: Sequence[int], start: int, couple: Couple) -> Talk:
    begin = start
    while begin > 0 and mains[begin - 1] == mains[start]:
        begin -= 1
    kept, between = [], 0
    for number in range(begin, len(mains)):
        if mains[number] in couple:
            kept.append(number)
            between = 0
            continue
        between += 1
        if between > MOST_BETWEEN:
            break
    return Talk(couple=couple, shots=tuple(kept), turns=_turns(mains, kept))


def _named_talk(mains: Sequence[int], couple: Couple) -> Talk:
    kept = [number for number, main in enumerate(mains) if main in couple]
    return Talk(couple=couple, shots=tuple(kept), turns=_turns(mains, kept), named=True)


def _turns(mains: Sequence[int], kept: Sequence[int]) -> int:
    return sum(other == one + 1 and mains[one] != mains[other] for one, other in pairwise(kept))


def _sorted(couple: Couple) -> Couple:
    return min(couple), max(couple)
