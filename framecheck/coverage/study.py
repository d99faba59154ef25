"""The study of a whole sequence: measured shots in, everything that is said about them out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from framecheck.coverage.changes import shown_size
from framecheck.coverage.cuts import Side, judge_cuts
from framecheck.coverage.directions import (
    closeness_deg,
    direction,
    is_external,
    lens_height_deg,
    looks,
)
from framecheck.coverage.identity import PeopleOf, group_people, letter
from framecheck.coverage.line import Crossing, find_crossings
from framecheck.coverage.matching import find_pairs, named_pair
from framecheck.coverage.scene import sum_up
from framecheck.coverage.talks import Talk, find_talks
from framecheck.records.coverage import (
    AnglePair,
    Cut,
    CutThresholds,
    Direction,
    SequenceStudy,
    ShotReading,
)
from framecheck.records.sequence import SequenceShot
from framecheck.records.values import Measured, NotMeasured

NOBODY = NotMeasured(reason="nobody in the picture")


def study_sequence(
    shots: Sequence[SequenceShot],
    thresholds: CutThresholds,
    *,
    name: str = "",
    named_pairs: Sequence[tuple[int, int]] = (),
) -> SequenceStudy:
    """Study measured shots in the order of their cut.

    Args:
        shots: at least one, numbered from 0.
        thresholds: where an opinion begins.
        name: of the sequence.
        named_pairs: numbers of two shots each that are meant to match.

    Raises:
        ValueError: no shots, or a named shot is not there.
    """
    if not shots:
        raise ValueError("a sequence needs a shot, got none")
    for number in (number for pair in named_pairs for number in pair):
        if not 0 <= number < len(shots):
            raise ValueError(f"there is no shot {number}; the last one is {len(shots) - 1}")
    people = group_people(shots)
    couples = [_groups_of(people, pair) for pair in named_pairs]
    talks = find_talks(shots, people, [couple for couple in couples if couple is not None])
    readings = _read_shots(shots, people, thresholds)
    cuts = _judge_cuts(shots, people, talks, thresholds)
    return SequenceStudy(
        name=name,
        thresholds=thresholds,
        readings=readings,
        cuts=cuts,
        pairs=(
            *_named(shots, people, named_pairs, thresholds),
            *find_pairs(shots, people, talks, thresholds),
        ),
        scene=sum_up(shots, readings, cuts),
    )


def _judge_cuts(
    shots: Sequence[SequenceShot],
    people: Sequence[PeopleOf],
    talks: Sequence[Talk],
    thresholds: CutThresholds,
) -> tuple[Cut, ...]:
    crossings = find_crossings(shots, people, talks, thresholds)
    sides = [
        (
            Side(people=before.last.people, groups=people[number].last),
            Side(people=after.first.people, groups=people[number + 1].first),
        )
        for number, (before, after) in enumerate(pairwise(shots))
    ]
    return tuple(
        _with_crossing(cut, crossings.get(cut.cut)) for cut in judge_cuts(sides, thresholds)
    )


def _with_crossing(cut: Cut, crossing: Crossing | None) -> Cut:
    if crossing is None:
        return cut
    return replace(
        cut, line_crossed=True, line_confidence=crossing.confidence, line_why=crossing.why
    )


def _groups_of(people: Sequence[PeopleOf], pair: tuple[int, int]) -> tuple[int, int] | None:
    mains = [people[number].best[0] if people[number].best else -1 for number in pair]
    if min(mains) < 0 or mains[0] == mains[1]:
        return None
    return min(mains), max(mains)


def _named(
    shots: Sequence[SequenceShot],
    people: Sequence[PeopleOf],
    named_pairs: Sequence[tuple[int, int]],
    thresholds: CutThresholds,
) -> list[AnglePair]:
    named = [named_pair(shots, people, pair, thresholds) for pair in named_pairs]
    return [pair for pair in named if pair is not None]


def _read_shots(
    shots: Sequence[SequenceShot], people: Sequence[PeopleOf], thresholds: CutThresholds
) -> tuple[ShotReading, ...]:
    readings = []
    start_s: float | None = 0.0
    for shot, groups in zip(shots, people, strict=True):
        readings.append(_read_shot(shot, groups, start_s, thresholds))
        known = start_s is not None and shot.duration_s is not None
        start_s = (start_s or 0.0) + (shot.duration_s or 0.0) if known else None
    return tuple(readings)


def _read_shot(
    shot: SequenceShot, groups: PeopleOf, start_s: float | None, thresholds: CutThresholds
) -> ShotReading:
    main = shot.best.people[0] if shot.best.people else None
    neutral = thresholds.neutral_look_deg
    size: Measured = NOBODY
    if main is not None:
        size = shown_size(main) or NotMeasured(reason="no head and no body could be measured")
    return ShotReading(
        number=shot.number,
        start_s=start_s if shot.duration_s is not None else None,
        person=letter(groups.best[0]) if main else "",
        people=tuple(letter(group) for group in groups.best),
        looks=looks(main, neutral) if main else Direction.UNKNOWN,
        faces=direction(main.body_yaw_deg, neutral) if main else Direction.UNKNOWN,
        closeness_deg=closeness_deg(main) if main else NOBODY,
        lens_height_deg=lens_height_deg(main) if main else NOBODY,
        head_frac=size,
        external=is_external(shot),
    )
