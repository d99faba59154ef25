"""Matching angles: the two sides of a conversation, set-up by set-up, and what does not match."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import median

from framecheck.coverage.changes import shown_size
from framecheck.coverage.directions import (
    NO_TURN,
    closeness_deg,
    is_one_side,
    lens_height_deg,
)
from framecheck.coverage.identity import PeopleOf, letter
from framecheck.coverage.setups import Setup, find_setups, pair_setups, setup_of
from framecheck.coverage.talks import Talk
from framecheck.records.coverage import AnglePair, CutThresholds, Mismatch, PairKind
from framecheck.records.sequence import PersonShown, SequenceShot
from framecheck.records.values import Measured, NotMeasured

THIRD = 1 / 3
"""Eyes are wanted near the upper third: the side that lies farther off is the one to change."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Measure:
    """How one measure is read, compared and put right."""

    name: str
    read: Callable[[PersonShown], Measured]
    limit: str
    ratio: bool
    advise: Callable[[float, float, str, str], str]


def find_pairs(
    shots: Sequence[SequenceShot],
    people: Sequence[PeopleOf],
    talks: Sequence[Talk],
    thresholds: CutThresholds,
) -> tuple[AnglePair, ...]:
    """The matching angles of every two people between whom the sequence cuts to and fro."""
    found: list[AnglePair] = []
    for couple in dict.fromkeys(talk.couple for talk in talks):
        own = [talk for talk in talks if talk.couple == couple]
        numbers = sorted({number for talk in own for number in talk.shots})
        sides = [number for number in numbers if is_one_side(shots[number])]
        setups = find_setups(shots, people, sides, thresholds)
        found += [
            _compare(setups[one], setups[other], thresholds, named=False)
            for one, other in pair_setups(setups, own)
        ]
    return tuple(found)


def named_pair(
    shots: Sequence[SequenceShot],
    people: Sequence[PeopleOf],
    numbers: tuple[int, int],
    thresholds: CutThresholds,
) -> AnglePair | None:
    """The pair of two shots that the user names; None when one of them shows nobody."""
    sides = []
    for number in numbers:
        if not shots[number].best.people:
            return None
        sides.append(setup_of(shots[number], people[number]))
    return _compare(sides[0], sides[1], thresholds, named=True)


def ahead_wfrac(person: PersonShown) -> Measured:
    """Room ahead of the face over the picture width."""
    if person.head_yaw_deg is None:
        return NO_TURN
    return 1.0 - person.x_wfrac if person.head_yaw_deg > 0 else person.x_wfrac


def _compare(one: Setup, other: Setup, thresholds: CutThresholds, *, named: bool) -> AnglePair:
    kinds = {one.external, other.external}
    kind = (
        PairKind.MIXED
        if len(kinds) == 2
        else (PairKind.EXTERNAL if one.external else PairKind.INTERNAL)
    )
    return AnglePair(
        person_one=letter(one.person),
        person_other=letter(other.person),
        shots_one=one.shots,
        shots_other=other.shots,
        kind=kind,
        named=named,
        measures=tuple(_measure(measure, (one, other), thresholds) for measure in _MEASURES),
    )


def _measure(measure: _Measure, sides: tuple[Setup, Setup], thresholds: CutThresholds) -> Mismatch:
    readings = [_middle([measure.read(subject) for subject in side.subjects]) for side in sides]
    limit = float(getattr(thresholds, measure.limit))
    one, other = readings
    if isinstance(one, NotMeasured) or isinstance(other, NotMeasured):
        missing = one if isinstance(one, NotMeasured) else other
        return Mismatch(
            name=measure.name, one=one, other=other, difference=missing, limit=limit,
            matches=None, advice="",
        )  # fmt: skip
    difference = other / one if measure.ratio else other - one
    if measure.ratio:
        matches = max(difference, 1 / difference) <= limit
    else:
        matches = abs(difference) <= limit
    names = [_side_name(side) for side in sides]
    return Mismatch(
        name=measure.name, one=one, other=other, difference=difference, limit=limit,
        matches=matches, advice="" if matches else measure.advise(one, other, *names),
    )  # fmt: skip


def _middle(values: Sequence[Measured]) -> Measured:
    known = [value for value in values if not isinstance(value, NotMeasured)]
    return float(median(known)) if known else values[0]


def _side_name(side: Setup) -> str:
    return f"{letter(side.person)} (shot {side.shots[0]})"


def _size(person: PersonShown) -> Measured:
    size = shown_size(person)
    return size if size else NotMeasured(reason="no head and no body could be measured")


def _headroom(person: PersonShown) -> Measured:
    known = person.headroom_frac
    return known if known is not None else NotMeasured(reason="the crown could not be measured")


def _eye_line(person: PersonShown) -> Measured:
    known = person.eye_line_frac
    return known if known is not None else NotMeasured(reason="the eyes could not be measured")


def _advise_size(one: float, other: float, name_one: str, name_other: str) -> str:
    wide, ratio = (name_one, other / one) if one < other else (name_other, one / other)
    return f"take {wide} {100 * (ratio - 1):.0f} % tighter"


def _advise_height(one: float, other: float, name_one: str, name_other: str) -> str:
    """The side that lies farther from the upper third moves to the other's height."""
    change_one = abs(one - THIRD) > abs(other - THIRD)
    name, move = (name_one, other - one) if change_one else (name_other, one - other)
    way = "down" if move > 0 else "up"
    return f"set the eyes of {name} {100 * abs(move):.0f} % of the height farther {way}"


def _advise_headroom(one: float, other: float, name_one: str, name_other: str) -> str:
    roomy, gap = (name_one, one - other) if one > other else (name_other, other - one)
    return f"take {100 * gap:.0f} % of the height off the headroom of {roomy}"


def _advise_room(one: float, other: float, name_one: str, name_other: str) -> str:
    short, gap = (name_one, other - one) if one < other else (name_other, one - other)
    return f"give {short} {100 * gap:.0f} % of the width more room ahead of the face"


def _advise_lens(one: float, other: float, name_one: str, name_other: str) -> str:
    """The side whose lens is farther from the height of the eyes moves to the other's."""
    change_one = abs(one) > abs(other)
    name, move = (name_one, one - other) if change_one else (name_other, other - one)
    way = "raise" if move > 0 else "lower"
    return f"{way} the lens of {name} by about {abs(move):.0f} degrees, seen from the eyes"


def _advise_closeness(one: float, other: float, name_one: str, name_other: str) -> str:
    far, gap = (name_one, one - other) if one > other else (name_other, other - one)
    return f"bring the lens of {far} {gap:.0f} degrees nearer to the eyeline"


_MEASURES = (
    _Measure(name="size", read=_size, limit="pair_size_ratio", ratio=True, advise=_advise_size),
    _Measure(
        name="headroom", read=_headroom, limit="pair_headroom_frac", ratio=False,
        advise=_advise_headroom,
    ),
    _Measure(
        name="eye line", read=_eye_line, limit="pair_eye_line_frac", ratio=False,
        advise=_advise_height,
    ),
    _Measure(
        name="looking room", read=ahead_wfrac, limit="pair_look_room_wfrac", ratio=False,
        advise=_advise_room,
    ),
    _Measure(
        name="lens height", read=lens_height_deg, limit="pair_lens_height_deg", ratio=False,
        advise=_advise_lens,
    ),
    _Measure(
        name="closeness", read=closeness_deg, limit="pair_closeness_deg", ratio=False,
        advise=_advise_closeness,
    ),
)  # fmt: skip
