"""One judgement for one measured picture: the only door to names, flags and advice."""

from __future__ import annotations

from collections.abc import Sequence

from framecheck.classify.advice import advise
from framecheck.classify.flags import find_flags
from framecheck.classify.room import RoomRanges
from framecheck.classify.shot_type import name_shot_type
from framecheck.classify.size import HEAD_OUT_LEVEL, SizeReading, name_size, read_size
from framecheck.classify.thresholds import Thresholds
from framecheck.classify.vocabulary import Vocabulary
from framecheck.records.framing import FrameMeasurement, PersonFraming, Role
from framecheck.records.judged import FrameJudgement, SizeName
from framecheck.records.values import NotMeasured


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
    named = [name_size(reading, vocabulary) for vocabulary in vocabularies]
    sizes = tuple(name for name in named if name is not None)
    return sizes, _explain_size(reading) if len(sizes) < len(named) else []


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
