"""The scene as a whole: what was shown of whom, how near, in which order."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from statistics import median

from framecheck.coverage.statistics import count_sizes, rank_correlation, shot_lengths
from framecheck.records.coverage import (
    ClosenessTrend,
    CoverageGap,
    Cut,
    SceneSummary,
    ShotReading,
    Verdict,
)
from framecheck.records.sequence import SequenceShot
from framecheck.records.values import Measured, NotMeasured, number_or

TIGHT_HEAD_FRAC = 0.45
"""From this head height over the picture height on a shot is tight: a close-up."""
WIDER = 1.8
"""Something wider was shown when a head was smaller by this factor."""
FEWEST_SHOTS = 2
"""Shots that somebody needs to be one of the sides whose sizes are compared."""
FEWEST_FOR_TREND = 3
NO_TREND = NotMeasured(reason="too few shots of this person")


def sum_up(
    shots: Sequence[SequenceShot], readings: Sequence[ShotReading], cuts: Sequence[Cut]
) -> SceneSummary:
    """Everything that is said of the sequence as a whole."""
    sizes = [number_or(reading.head_frac, 0.0) for reading in readings]
    types = Counter(shot.shot_type.value for shot in shots if shot.shot_type)
    verdicts = Counter(cut.verdict.value for cut in cuts)
    return SceneSummary(
        shots=len(shots),
        cuts=len(cuts),
        lengths=shot_lengths([shot.duration_s for shot in shots if shot.duration_s is not None]),
        sizes=count_sizes(shots, sizes),
        shot_types=dict(types.most_common()),
        verdicts={verdict.value: verdicts[verdict.value] for verdict in Verdict},
        people=_people(readings),
        early_close=early_close(readings),
        gaps=find_gaps(shots, readings),
        closeness=tuple(_trend(name, readings) for name in _people(readings)),
        notes=_notes(shots),
    )


def early_close(readings: Sequence[ShotReading]) -> tuple[str, ...]:
    """Tight shots of the scene, and of each person, before anything wider of it was shown."""
    told: list[str] = []
    widest: dict[str, float] = {}
    for reading in readings:
        size = number_or(reading.head_frac, 0.0)
        if not size:
            continue
        for key in dict.fromkeys(("", reading.person.replace("?", ""))):
            before = widest.get(key)
            if size >= TIGHT_HEAD_FRAC and (before is None or before * WIDER > size):
                whose = f" of {reading.person}" if key else ""
                told.append(f"shot {reading.number} is tight before anything wider{whose}")
                widest.setdefault(key, 0.0)  # said once
            widest[key] = min(widest.get(key, size) or 0.0, size)
    return tuple(dict.fromkeys(told))


def find_gaps(
    shots: Sequence[SequenceShot], readings: Sequence[ShotReading]
) -> tuple[CoverageGap, ...]:
    """Sizes that one of the people was shown in and another was not."""
    sides = [name for name, count in _people(readings).items() if count >= FEWEST_SHOTS]
    shown: dict[str, dict[str, str]] = {name: {} for name in sides}
    for shot, reading in zip(shots, readings, strict=True):
        if reading.person in shown and shot.size:
            shown[reading.person][shot.size] = shot.size_abbr
    every = {size: abbr for sizes in shown.values() for size, abbr in sizes.items()}
    return tuple(
        CoverageGap(
            person=name,
            size=size,
            size_abbr=abbr,
            shown_for=tuple(other for other in sides if size in shown[other]),
        )
        for name in sides
        for size, abbr in every.items()
        if size not in shown[name]
    )


def _people(readings: Sequence[ShotReading]) -> Mapping[str, int]:
    counts = Counter(reading.person for reading in readings if reading.person not in {"", "?"})
    return dict(sorted(counts.items(), key=lambda item: (len(item[0]), item[0])))


def _trend(person: str, readings: Sequence[ShotReading]) -> ClosenessTrend:
    known = [
        (reading.head_frac, reading.closeness_deg)
        for reading in readings
        if reading.person == person
        and not isinstance(reading.head_frac, NotMeasured)
        and not isinstance(reading.closeness_deg, NotMeasured)
    ]
    if len(known) < FEWEST_FOR_TREND:
        return ClosenessTrend(
            person=person, shots=len(known), wide_deg=NO_TREND, tight_deg=NO_TREND,
            rank_correlation=NO_TREND,
        )  # fmt: skip
    known.sort()
    half = len(known) // 2
    angles = [angle for _, angle in known]
    found = rank_correlation([size for size, _ in known], [-angle for angle in angles])
    flat: Measured = NotMeasured(reason="size or angle stay the same")
    return ClosenessTrend(
        person=person,
        shots=len(known),
        wide_deg=float(median(angles[:half])),
        tight_deg=float(median(angles[-half:])),
        rank_correlation=flat if found is None else found,
    )


def _notes(shots: Sequence[SequenceShot]) -> tuple[str, ...]:
    notes = []
    if len(shots) == 1:
        notes.append("one shot only: there is no cut")
    empty = sum(not shot.best.people for shot in shots)
    if empty:
        notes.append(f"{empty} of {len(shots)} shots show nobody")
    without = sum(shot.duration_s is None for shot in shots)
    if 0 < without < len(shots):
        notes.append(f"{without} of {len(shots)} shots have no length")
    return tuple(notes)
