"""One judgement for one measured picture: the only door to names, flags and advice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from framecheck.classify.advice import advise
from framecheck.classify.flags import find_flags
from framecheck.classify.people import prominence_among
from framecheck.classify.room import RoomRanges
from framecheck.classify.shot_type import name_shot_type
from framecheck.classify.size import (
    HEAD_OUT_LEVEL,
    SizeReading,
    name_size,
    read_size,
    size_belief,
)
from framecheck.classify.thresholds import Thresholds
from framecheck.classify.vocabulary import Vocabulary
from framecheck.geometry.prominence import subject_shares
from framecheck.records.framing import FrameMeasurement, PersonFraming, Role
from framecheck.records.judged import FrameJudgement, SizeName
from framecheck.records.values import NotMeasured

SURE_PERSON = 0.75
"""Confidence in a person from which the size is as sure as its reading: the least of a face."""


def judge_frame(
    measurement: FrameMeasurement,
    vocabularies: Sequence[Vocabulary],
    thresholds: Thresholds,
    ranges: RoomRanges,
    *,
    advised: bool = True,
) -> FrameJudgement:
    """Names, flags and advice for one picture.

    Args:
        measurement: the picture, the main subject first.
        vocabularies: the chosen one first; none is allowed and gives no sizes.
        thresholds: where an opinion begins.
        ranges: headroom and looking room that pass.
        advised: False leaves the advice out, which takes most of the time.
    """
    flags = find_flags(measurement, thresholds, ranges)
    sizes, notes = _name_sizes(measurement, vocabularies)
    return FrameJudgement(
        shot_type=name_shot_type(measurement, thresholds),
        sizes=sizes,
        flags=flags,
        advice=advise(measurement, flags, thresholds, ranges) if advised else (),
        notes=(*notes, *_explain_flags(measurement, thresholds, ranges)),
    )


def _name_sizes(
    measurement: FrameMeasurement, vocabularies: Sequence[Vocabulary]
) -> tuple[tuple[SizeName, ...], list[str]]:
    if not measurement.people:
        return (), []
    reading = read_size(measurement.people[0])
    if isinstance(reading, NotMeasured):
        return (), [f"size not named: {reading.reason}"]
    named = [(name_size(reading, vocabulary), vocabulary) for vocabulary in vocabularies]
    sizes = tuple(
        replace(size, confidence=_belief(size.name, measurement, vocabulary))
        for size, vocabulary in named
        if size is not None
    )
    return sizes, _explain_size(reading) if len(sizes) < len(named) else []


def _belief(name: str, measurement: FrameMeasurement, vocabulary: Vocabulary) -> float:
    """How likely a name is that of the picture's size, whoever in it is the main subject."""
    people = measurement.people
    shares = subject_shares([prominence_among(p, measurement.picture) for p in people])
    beliefs = [
        0.0 if isinstance(reading, NotMeasured) else size_belief(name, reading, vocabulary)
        for reading in map(read_size, people)
    ]
    told = sum(share * belief for share, belief in zip(shares, beliefs, strict=True))
    return told * min(1.0, people[0].confidence / SURE_PERSON)


def _explain_size(reading: SizeReading) -> list[str]:
    if reading.top_level < HEAD_OUT_LEVEL:
        return ["size not named: the head is out over the top edge"]
    return ["size not named: the bottom edge lies above the body"]


def _explain_flags(
    measurement: FrameMeasurement, thresholds: Thresholds, ranges: RoomRanges
) -> list[str]:
    notes = [
        f"person {person.person}: in the foreground, meant to be cut, not flagged"
        for person in measurement.people[1:]
        if person.role is Role.FOREGROUND
    ]
    if measurement.people:
        notes += _explain_room(measurement.people[0], thresholds, ranges)
    return notes


def _explain_room(main: PersonFraming, thresholds: Thresholds, ranges: RoomRanges) -> list[str]:
    if isinstance(main.crop_level, NotMeasured) or isinstance(main.figure_frac, NotMeasured):
        return ["headroom and looking room not judged: no crop level"]
    if main.figure_frac < thresholds.room_figure_min_frac:
        return ["headroom and looking room not judged: the figure is small in its surroundings"]
    if main.crop_level > ranges.rows[-1].crop_level:
        return ["headroom and looking room not judged: tighter than the range table goes"]
    return []
