"""One cut: who is compared, what changes, and whether that is comfortable."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from framecheck.coverage.changes import angle_change_deg, size_ratio
from framecheck.coverage.directions import frames_view, looks
from framecheck.coverage.identity import letter
from framecheck.coverage.likeness import (
    SIDE_ODDS,
    FloatArray,
    log_odds,
    look_array,
    part_distances,
    probability,
    side_of,
)
from framecheck.coverage.pairing import MOST_PEOPLE, odds_of_pair
from framecheck.records.coverage import Cut, CutThresholds, Direction, Likeness, Verdict
from framecheck.records.looks import LOOK_PARTS, PersonLook
from framecheck.records.sequence import PersonShown
from framecheck.records.values import Measured, NotMeasured, number_or

GROUP_ODDS = 1.2
"""Log odds that two people are one because the whole sequence puts them into one group."""
PLACE_ODDS = 0.5
"""The same for a place and size that hardly changed, as in a jump within one set-up."""
PLACE_WFRAC, SIZE_NEAR = 0.08, 1.12
NOBODY = NotMeasured(reason="nobody to compare")
SOFTEN = "a size between the two would soften it; keep it where it is meant to startle"


@dataclass(frozen=True, slots=True, kw_only=True)
class Side:
    """One side of a cut: the people in the picture next to it, and their groups."""

    people: Sequence[PersonShown]
    groups: Sequence[int]


def judge_cuts(sides: Sequence[tuple[Side, Side]], thresholds: CutThresholds) -> tuple[Cut, ...]:
    """Everything about each cut but the line, which needs the cuts around it.

    Args:
        sides: the last measured picture of the outgoing shot and the first one of the incoming
            shot, of each cut.
        thresholds: where an opinion begins.
    """
    pairs = [_compared(*side) if side[0].people and side[1].people else None for side in sides]
    distances = _distances(sides, pairs)
    return tuple(
        _nobody(cut, *side, thresholds)
        if pair is None
        else _judge_cut(cut, side, tell_likeness(*side, pair, distances[cut]), (pair, thresholds))
        for cut, (side, pair) in enumerate(zip(sides, pairs, strict=True))
    )


def _distances(
    sides: Sequence[tuple[Side, Side]], pairs: Sequence[tuple[int, int] | None]
) -> list[FloatArray]:
    """(before, after, parts) of the people asked at each cut; all at once, as it takes arrays."""
    places = [
        ((), ()) if pair is None else (_asked(before, pair[0]), _asked(after, pair[1]))
        for (before, after), pair in zip(sides, pairs, strict=True)
    ]
    rows: list[tuple[PersonLook | None, PersonLook | None]] = []
    for (before, after), (ones, others) in zip(sides, places, strict=True):
        rows += [(before.people[i].look, after.people[j].look) for i in ones for j in others]
    found = part_distances(*(look_array([row[place] for row in rows]) for place in (0, 1)))
    split, start = [], 0
    for ones, others in places:
        stop = start + len(ones) * len(others)
        split.append(found[start:stop].reshape(len(ones), len(others), len(LOOK_PARTS)))
        start = stop
    return split


def _asked(side: Side, compared: int) -> tuple[int, ...]:
    """Whoever is compared first, then the most prominent of the others."""
    others = [place for place in range(len(side.people)) if place != compared]
    return (compared, *others[: MOST_PEOPLE - 1])


def _judge_cut(
    cut: int,
    sides: tuple[Side, Side],
    likeness: Likeness,
    by: tuple[tuple[int, int], CutThresholds],
) -> Cut:
    (before, after), ((one, other), thresholds) = sides, by
    changes = _Changes.between(before.people[one], after.people[other])
    verdict, why, advice = judge_change(changes, likeness, thresholds)
    return Cut(
        cut=cut,
        person_from=letter(before.groups[one]),
        person_to=letter(after.groups[other]),
        likeness=likeness,
        size_ratio=changes.size_ratio,
        angle_deg=changes.angle_deg if likeness.same else _other_person(changes.angle_deg),
        place_change_wfrac=changes.across,
        height_change_frac=changes.down,
        verdict=verdict,
        why=why,
        advice=advice,
        looks_from=looks(before.people[0], thresholds.neutral_look_deg),
        looks_to=looks(after.people[0], thresholds.neutral_look_deg),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Changes:
    size_ratio: Measured
    angle_deg: Measured
    across: float
    down: float

    @classmethod
    def between(cls, before: PersonShown, after: PersonShown) -> _Changes:
        return cls(
            size_ratio=size_ratio(before, after),
            angle_deg=angle_change_deg(before, after),
            across=after.x_wfrac - before.x_wfrac,
            down=after.y_frac - before.y_frac,
        )


def judge_change(
    changes: _Changes, likeness: Likeness, thresholds: CutThresholds
) -> tuple[Verdict, str, str]:
    """The verdict, why, and what to try."""
    ratio = changes.size_ratio
    if isinstance(ratio, NotMeasured):
        return Verdict.NOT_JUDGED, ratio.reason, ""
    factor = max(ratio, 1.0 / ratio)
    if factor >= thresholds.size_ratio_large:
        way = "nearer" if ratio > 1 else "wider"
        return Verdict.VERY_LARGE, f"{factor:.1f} times {way} at once", SOFTEN
    angle = number_or(changes.angle_deg, 0.0)
    comfort = _comfort(likeness, factor, angle, thresholds)
    if comfort:
        return Verdict.COMFORTABLE, comfort, ""
    return Verdict.TOO_SIMILAR, _similar(factor, changes), _remedy(ratio, angle, thresholds)


def _comfort(likeness: Likeness, factor: float, angle_deg: float, thresholds: CutThresholds) -> str:
    """Why two shots are different enough; "" when they are not."""
    if likeness.same is not True:
        who = "another person" if likeness.same is False else "people cannot be compared"
        return f"{who}: no jump"
    if factor >= thresholds.size_ratio_min:
        return f"size changes by {100 * (factor - 1):.0f} %"
    if angle_deg >= thresholds.angle_min_deg:
        return f"the angle changes by {angle_deg:.0f} degrees"
    return ""


def _similar(factor: float, changes: _Changes) -> str:
    size = f"size changes by {100 * (factor - 1):.0f} % only"
    if isinstance(changes.angle_deg, NotMeasured):
        return f"{size}, and the angle could not be measured"
    return f"{size}, the angle by {changes.angle_deg:.0f} degrees only"


def _remedy(ratio: float, angle_deg: float, thresholds: CutThresholds) -> str:
    """How far it is to the nearest limit, by size and by angle."""
    factor = thresholds.size_ratio_min
    tighten = 100 * (factor / ratio - 1)
    loosen = 100 * (1 - 1 / (factor * ratio))
    turn = thresholds.angle_min_deg - angle_deg
    return (
        f"take the second shot {tighten:.0f} % tighter or {loosen:.0f} % wider, or move the camera "
        f"{turn:.0f} degrees farther round, or put another shot between"
    )


def tell_likeness(
    before: Side, after: Side, pair: tuple[int, int], distances: FloatArray
) -> Likeness:
    """Whether two people are one, by colours, groups, side and place, and by who else is there.

    Args:
        before: the people of the picture before the cut.
        after: those of the one after it.
        pair: the two people, by their places there.
        distances: (before, after, parts) of the people asked, these two first.
    """
    compared = [
        part for part, gap in zip(LOOK_PARTS, distances[0, 0], strict=True) if not math.isnan(gap)
    ]
    if not compared:
        return Likeness(same=None, confidence=0.5, why="no colours to compare")
    colours = log_odds(distances)
    odds = [
        [
            float(colours[row, column]) + _circumstances(before, after, (one, other))
            for column, other in enumerate(_asked(after, pair[1]))
        ]
        for row, one in enumerate(_asked(before, pair[0]))
    ]
    chance = probability(odds_of_pair(odds, (0, 0)))
    same = chance >= 0.5
    word = "alike" if same else "unlike"
    return Likeness(
        same=same, confidence=max(chance, 1 - chance), why=f"{', '.join(compared)} {word}"
    )


def _circumstances(before: Side, after: Side, pair: tuple[int, int]) -> float:
    """What speaks for two people being one beside their colours, in log odds."""
    one, other = before.people[pair[0]], after.people[pair[1]]
    odds = 0.0
    groups = (before.groups[pair[0]], after.groups[pair[1]])
    if min(groups) >= 0:
        odds += GROUP_ODDS if groups[0] == groups[1] else -GROUP_ODDS
    if _hardly_moved(one, other):
        odds += PLACE_ODDS
    if side_of(one) * side_of(other) < 0:
        odds -= SIDE_ODDS
    return odds


def _hardly_moved(one: PersonShown, other: PersonShown) -> bool:
    ratio = number_or(size_ratio(one, other), 0.0)
    near = abs(one.x_wfrac - other.x_wfrac) < PLACE_WFRAC
    return near and 1 / SIZE_NEAR < ratio < SIZE_NEAR


def _compared(before: Side, after: Side) -> tuple[int, int]:
    """Whom to compare: somebody in both pictures, the more prominent the better.

    With nobody in both it is the two main subjects. A back in the foreground frames the view and
    is not compared.
    """
    for total in range(len(before.people) + len(after.people) - 1):
        for one in range(min(total, len(before.people) - 1) + 1):
            other = total - one
            if other >= len(after.people):
                continue
            known = before.groups[one] >= 0 and before.groups[one] == after.groups[other]
            if known and not (frames_view(before.people[one]) or frames_view(after.people[other])):
                return one, other
    return 0, 0


def _other_person(angle: Measured) -> Measured:
    return NotMeasured(reason="another person") if not isinstance(angle, NotMeasured) else angle


def _nobody(cut: int, before: Side, after: Side, thresholds: CutThresholds) -> Cut:
    def main(side: Side) -> Direction:
        return (
            looks(side.people[0], thresholds.neutral_look_deg)
            if side.people
            else (Direction.UNKNOWN)
        )

    empty = "before" if not before.people else "after"
    why = (
        "nobody on either side"
        if not (before.people or after.people)
        else (f"nobody in the picture {empty} the cut")
    )
    return Cut(
        cut=cut,
        person_from=letter(before.groups[0]) if before.people else "",
        person_to=letter(after.groups[0]) if after.people else "",
        likeness=Likeness(same=None, confidence=0.5, why=why),
        size_ratio=NOBODY,
        angle_deg=NOBODY,
        place_change_wfrac=NOBODY,
        height_change_frac=NOBODY,
        verdict=Verdict.NOT_JUDGED,
        why=why,
        advice="",
        looks_from=main(before),
        looks_to=main(after),
    )
