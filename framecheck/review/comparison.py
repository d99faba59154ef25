"""Measured against confirmed, from what the catalog holds of both."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from framecheck.catalog.confirmed import Field, corrected, field_words, flag_parts, size_tail
from framecheck.catalog.corrections import ConfirmedShot
from framecheck.catalog.layout import Row
from framecheck.review.borders import NamedReading


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """One frame or shot, measured and confirmed.

    Attributes:
        file: where it lies. shot: in it, None for a still. timecode: where the shot begins.
        anchor: the frame that was looked at; None for a still.
        measured, confirmed: in words, by field; those that a person has said something about.
        vocabulary: of the confirmed size. crop_level: measured, None for unknown.
        sure: the confidence of the measured size.
        reading: for borders; None without a confirmed size or without a reading.
    """

    file: str
    shot: int | None
    timecode: str
    anchor: int | None
    measured: Mapping[Field, str]
    confirmed: Mapping[Field, str]
    vocabulary: str
    crop_level: float | None
    sure: float | None
    reading: NamedReading | None


def compare_all(
    confirmed: Sequence[ConfirmedShot], places: Mapping[str, Path]
) -> tuple[Compared, ...]:
    """Everything that was confirmed, by place and shot.

    Args:
        confirmed: from the catalog.
        places: of each content.
    """
    found = [_compare(one, places.get(one.content)) for one in confirmed]
    return tuple(
        sorted(found, key=lambda one: (one.file, one.shot if one.shot is not None else -1))
    )


def pairs_of(compared: Sequence[Compared], field: Field) -> list[tuple[str, str]]:
    """Measured and confirmed words of a field, of all frames that have it confirmed."""
    return [
        (one.measured[field] or "nothing", one.confirmed[field])
        for one in compared
        if field in one.confirmed
    ]


def in_vocabulary(compared: Sequence[Compared], vocabulary: str) -> list[Compared]:
    """Those whose size is confirmed in the words of a vocabulary."""
    return [one for one in compared if one.vocabulary == vocabulary and Field.SIZE in one.confirmed]


def usual_vocabulary(compared: Sequence[Compared]) -> str:
    """The vocabulary that most confirmed sizes are in, "" for none."""
    names = Counter(one.vocabulary for one in compared if Field.SIZE in one.confirmed)
    return names.most_common(1)[0][0] if names else ""


def worst_sizes(compared: Sequence[Compared], order: Sequence[str]) -> list[Compared]:
    """Frames whose size differs: those furthest off first, of equals the surest."""
    rank = {name: place for place, name in enumerate(order)}
    unlike = [
        one
        for one in compared
        if Field.SIZE in one.confirmed and one.measured[Field.SIZE] != one.confirmed[Field.SIZE]
    ]

    def badness(one: Compared) -> tuple[int, float]:
        places = [rank.get(side[Field.SIZE], -1) for side in (one.measured, one.confirmed)]
        far = abs(places[0] - places[1]) if min(places) >= 0 else len(order)
        return (-far, -(one.sure or 0.0))

    return sorted(unlike, key=badness)


def truth_rows(compared: Sequence[Compared]) -> list[Row]:
    """One row for each confirmed field of each frame."""
    return [
        {
            "file": one.file,
            "shot": one.shot,
            "frame": one.anchor,
            "timecode": one.timecode,
            "field": field.value,
            "confirmed": one.confirmed[field],
            "measured": one.measured[field],
            "agrees": "yes" if one.confirmed[field] == one.measured[field] else "no",
            "vocabulary": one.vocabulary if field is Field.SIZE else "",
            "crop_level": one.crop_level,
            "size_confidence": one.sure,
        }
        for one in compared
        for field in Field
        if field in one.confirmed
    ]


def _compare(one: ConfirmedShot, place: Path | None) -> Compared:
    measured, still = one.measured, one.anchor < 0
    fields = [field for field in one.values if _can_be_compared(field, one)]
    changes = corrected(one.values, measured, measured if still else one.frame, one.people)
    now = {**measured, **changes.named}
    words = {field: _words(field, measured, one) for field in fields}
    after = {field: _words(field, now, one) for field in fields}
    if Field.SUBJECT in fields:
        words[Field.SUBJECT] = "the main subject"
        after[Field.SUBJECT] = "another person" if changes.people else "the main subject"
    crop, sure = measured.get("crop_level"), measured.get("size_confidence")
    file = os.fspath(place) if place is not None else str(measured.get("file") or "")
    return Compared(
        file=file,
        shot=None if still else one.shot,
        timecode=str(measured.get("start_timecode") or ""),
        anchor=None if still else one.anchor,
        measured=words,
        confirmed=after,
        vocabulary=str(one.values.get(Field.SIZE, {}).get("vocabulary") or ""),
        crop_level=float(crop) if isinstance(crop, int | float) else None,
        sure=float(sure) if isinstance(sure, int | float) else None,
        reading=_reading(one, after.get(Field.SIZE, ""), changed=bool(changes.people)),
    )


def _can_be_compared(field: Field, one: ConfirmedShot) -> bool:
    """False for a size in words of a vocabulary that is not measured with any more."""
    return field is not Field.SIZE or size_tail(one.values[field], one.measured) is not None


def _words(field: Field, row: Row, one: ConfirmedShot) -> str:
    if field is Field.FLAGS:
        return "; ".join(sorted(flag_parts(str(row.get("flags") or ""))))
    if field is Field.SIZE:
        return str(row.get(f"size{size_tail(one.values[field], row) or ''}") or "")
    return field_words(field, row)


def _reading(one: ConfirmedShot, name: str, *, changed: bool) -> NamedReading | None:
    """What the size was named by: of the frame that was looked at, and its main subject."""
    main = next((row for row in one.people if row.get("person") == 0), None)
    if not name or one.frame is None or main is None or changed:
        return None
    values = [main.get(column) for column in ("crop_level", "top_level", "figure_frac")]
    numbers = [float(value) for value in values if isinstance(value, int | float)]
    if len(numbers) < len(values):
        return None
    crop, top, figure = numbers
    return NamedReading(
        crop_level=crop,
        figure_frac=figure,
        extent=min(top, 1.0) - max(crop, 0.0),
        name=name,
        source=one.content,
    )
