"""A study of a sequence as table rows, and as one JSON document."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping, Sequence
from enum import Enum

from framecheck.export.cut_columns import CUT_TABLES, PAIR_MEASURES
from framecheck.export.rows import Row, fill_row
from framecheck.records.coverage import AnglePair, Cut, SequenceStudy, ShotReading
from framecheck.records.sequence import Moment, SequenceShot
from framecheck.records.values import NotMeasured

_YES_NO = {True: "yes", False: "no", None: ""}
_DECIMALS = 4


def rows_of_study(
    study: SequenceStudy, shots: Sequence[SequenceShot]
) -> dict[str, tuple[Row, ...]]:
    """The rows of cuts, pairs and scene.

    Args:
        study: of the sequence.
        shots: the same that were studied.
    """
    starts = {reading.number: reading.start_s for reading in study.readings}
    return {
        "cuts": tuple(_cut_row(cut, shots, starts.get(cut.cut + 1)) for cut in study.cuts),
        "pairs": tuple(_pair_row(i, pair, shots) for i, pair in enumerate(study.pairs)),
        "scene": tuple(
            _scene_row(reading, shot) for reading, shot in zip(study.readings, shots, strict=True)
        ),
    }


def scene_document(study: SequenceStudy, version: str) -> dict[str, object]:
    """The scene as a whole for `scene.json`; what could not be measured is null, with its why."""
    crossings = [
        {"cut": cut.cut, "confidence": round(cut.line_confidence, 2), "why": cut.line_why}
        for cut in study.cuts
        if cut.line_crossed
    ]
    return {
        "framecheck": version,
        "sequence": study.name,
        "thresholds": plain(study.thresholds),
        **{str(key): value for key, value in _items(study.scene)},
        "line_crossings": crossings,
        "pairs": [
            {**{str(key): value for key, value in _items(pair)}, "matches": pair.matches}
            for pair in study.pairs
        ],
    }


def plain(value: object) -> object:
    """A record as JSON can hold it; a `NotMeasured` becomes null."""
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [plain(item) for item in value]
    if dataclasses.is_dataclass(value) and not isinstance(value, type | NotMeasured):
        return dict(_items(value))
    return _plain_cell(value)


def _plain_cell(value: object) -> object:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, float):
        return round(value, _DECIMALS) + 0.0 if math.isfinite(value) else None
    return None if isinstance(value, NotMeasured) else value


def _items(record: object) -> list[tuple[str, object]]:
    items: list[tuple[str, object]] = []
    for field in dataclasses.fields(record):  # type: ignore[arg-type]  # records come here only
        value = getattr(record, field.name)
        items.append((field.name, plain(value)))
        if isinstance(value, NotMeasured):
            items.append((f"{field.name}_why", value.reason))
    return items


def _cut_row(cut: Cut, shots: Sequence[SequenceShot], time_s: float | None) -> Row:
    before, after = shots[cut.cut], shots[cut.cut + 1]
    values: dict[str, object] = {
        **{name: getattr(cut, name) for name in _OF_CUT},
        **_side("from", before, before.last),
        **_side("to", after, after.first),
        "time_s": time_s,
        "same_person": _YES_NO[cut.likeness.same],
        "same_confidence": cut.likeness.confidence if cut.likeness.same is not None else None,
        "same_by": cut.likeness.why,
        "line_note": cut.line_why,
        "verdict": cut.verdict.value,
        "looks_from": cut.looks_from.value,
        "looks_to": cut.looks_to.value,
        "line_crossed": _YES_NO[cut.line_crossed],
        "line_confidence": cut.line_confidence if cut.line_crossed else None,
    }
    return fill_row(CUT_TABLES["cuts"], values)


def _side(side: str, shot: SequenceShot, moment: Moment) -> dict[str, object]:
    return {
        f"{side}_file": shot.name,
        f"{side}_file_shot": shot.shot,
        f"{side}_frame": moment.frame,
        f"{side}_timecode": moment.timecode,
    }


def _pair_row(number: int, pair: AnglePair, shots: Sequence[SequenceShot]) -> Row:
    values: dict[str, object] = {
        "pair": number,
        "person_one": pair.person_one,
        "person_other": pair.person_other,
        "shots_one": _numbers(pair.shots_one),
        "shots_other": _numbers(pair.shots_other),
        "file_one": shots[pair.shots_one[0]].name,
        "file_other": shots[pair.shots_other[0]].name,
        "kind": pair.kind.value,
        "named": _YES_NO[pair.named],
        "matches": _YES_NO[pair.matches],
        "advice": "; ".join(measure.advice for measure in pair.measures if measure.advice),
        "notes": "; ".join(
            f"{measure.name}: {measure.difference.reason}"
            for measure in pair.measures
            if isinstance(measure.difference, NotMeasured)
        ),
    }
    by_name = {measure.name: measure for measure in pair.measures}
    for stem, name, *_ in PAIR_MEASURES:
        measure = by_name[name]
        values |= {
            f"{stem}_one": measure.one,
            f"{stem}_other": measure.other,
            f"{stem}_difference": measure.difference,
            f"{stem}_matches": _YES_NO[measure.matches],
        }
    return fill_row(CUT_TABLES["pairs"], values)


def _scene_row(reading: ShotReading, shot: SequenceShot) -> Row:
    values: dict[str, object] = {
        **{name: getattr(shot, name) for name in _OF_SHOT},
        **{name: getattr(reading, name) for name in _OF_READING},
        "file": shot.name,
        "shot_type": shot.shot_type.value if shot.shot_type else "",
        "people": ", ".join(reading.people),
        "looks": reading.looks.value,
        "faces": reading.faces.value,
        "external": _YES_NO[reading.external],
    }
    return fill_row(CUT_TABLES["scene"], values)


def _shared(table: str, kind: type) -> tuple[str, ...]:
    """The columns of a table that carry the name of a field of the record."""
    fields = {field.name for field in dataclasses.fields(kind)}
    return tuple(column.name for column in CUT_TABLES[table] if column.name in fields)


_OF_CUT, _OF_SHOT = _shared("cuts", Cut), _shared("scene", SequenceShot)
_OF_READING = _shared("scene", ShotReading)


def _numbers(numbers: Sequence[int]) -> str:
    return ", ".join(map(str, numbers))
