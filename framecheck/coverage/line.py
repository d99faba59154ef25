"""The line between two people, and cuts that cross it.

A camera in front of the line sees one of the two look right and the other look left. For each of
their shots this gives the side of the line that the camera stood on; a change of sides crosses it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from framecheck.coverage.identity import PeopleOf, letter
from framecheck.coverage.talks import MOST_BETWEEN, Talk
from framecheck.records.coverage import CutThresholds
from framecheck.records.sequence import Moment, SequenceShot

YAW_ERROR_DEG = 6.0
"""Standard deviation of a yaw on tuning scenes: how sure a side is."""
FEWEST_TURNS = 2
"""Straight cuts between two people from which they are taken to talk to each other."""
CUTAWAY = 0.6
"""How much of a crossing is left with another shot between."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """A change of sides at a cut, or, where a shot lies between, at one since another."""

    cut: int
    since: int
    confidence: float
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """One shot of the two: which side of the line it shows, + or -, 0 on the line itself."""

    shot: int
    who: int
    side: int
    sure: float
    together: bool


def find_crossings(
    shots: Sequence[SequenceShot],
    people: Sequence[PeopleOf],
    talks: Sequence[Talk],
    thresholds: CutThresholds,
) -> Mapping[int, Crossing]:
    """Cuts at which the camera has jumped over the line, by their number.

    Args:
        shots: of the sequence.
        people: who is who.
        talks: stretches between two people.
        thresholds: from which yaw on somebody looks to a side.
    """
    told: list[Crossing] = []
    for talk in talks:
        seen = [
            _side(number, shots[number].best, people[number].best, talk.couple, thresholds)
            for number in talk.shots
        ]
        if talk.named or (talk.turns >= FEWEST_TURNS and _face_each_other(seen)):
            told += _changes(seen, talk.couple)
    return _each_once(told)


def _each_once(told: Sequence[Crossing]) -> dict[int, Crossing]:
    """The crossings, the surest first; one jump is told once, though two talks may tell of it."""
    found: dict[int, Crossing] = {}
    for crossing in sorted(told, key=lambda crossing: -crossing.confidence):
        if not any(crossing.since <= cut <= crossing.cut for cut in found):
            found[crossing.cut] = crossing
    return found


def _side(
    number: int,
    moment: Moment,
    groups: Sequence[int],
    pair: tuple[int, int],
    thresholds: CutThresholds,
) -> _Seen:
    main = moment.people[0]
    sign = 1 if groups[0] == pair[0] else -1
    together = pair[0] in groups and pair[1] in groups
    yaw = main.head_yaw_deg if main.head_yaw_deg is not None else main.body_yaw_deg
    side, sure = 0, 0.0
    if yaw is not None:
        off = min(abs(yaw), 180.0 - abs(yaw))
        side = 0 if off < thresholds.neutral_look_deg else int(math.copysign(1, yaw)) * sign
        sure = math.erf(off / YAW_ERROR_DEG / math.sqrt(2))
    if together and side == 0:
        left, right = (moment.people[groups.index(group)].x_wfrac for group in pair)
        side, sure = (1 if left < right else -1), 0.8
    return _Seen(shot=number, who=groups[0], side=side, sure=sure, together=together)


def _face_each_other(seen: Sequence[_Seen]) -> bool:
    """True when some cut between the two shows them looking opposite ways."""
    return any(
        one.who != other.who and one.side == other.side != 0 for one, other in pairwise(seen)
    )


def _changes(seen: Sequence[_Seen], pair: tuple[int, int]) -> list[Crossing]:
    """Where the side changes from one shot to the next; a shot on the line in between allows it."""
    found = []
    for one, other in pairwise(seen):
        if one.side == 0 or other.side in {0, one.side}:
            continue
        between = other.shot - one.shot - 1
        if between > MOST_BETWEEN:
            continue
        names = f"{letter(pair[0])} and {letter(pair[1])}"
        way = "right" if (other.side > 0) == (other.who == pair[0]) else "left"
        what = (
            f"{names} face each other, and now both look {way}"
            if one.who != other.who
            else f"{letter(other.who)} suddenly looks {way}"
        )
        found.append(
            Crossing(
                cut=other.shot - 1,
                since=one.shot,
                confidence=one.sure * other.sure * CUTAWAY**between,
                why=f"{what} (shot {one.shot} and shot {other.shot})",
            )
        )
    return found
