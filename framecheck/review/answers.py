"""What the page sends, checked, as the values that the catalog keeps."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, TypeAlias

from framecheck.catalog.confirmed import Field, Value
from framecheck.catalog.layout import Row
from framecheck.classify.size import name_size, read_size
from framecheck.classify.vocabulary import Vocabulary
from framecheck.errors import FramecheckError
from framecheck.export.from_rows import measurement_of_rows
from framecheck.records.judged import ShotType
from framecheck.records.values import NotMeasured
from framecheck.report.page.entries import Entry

FLAG_PARTS = (
    "ankle", "mid-calf", "knee", "wrist", "elbow", "fingertips", "chin", "crown", "headroom",
    "looking room",
)  # fmt: skip
MOST_PEOPLE = 999

Sizes: TypeAlias = Mapping[str, str]
"""Abbreviation by name."""


class BadAnswerError(ValueError):
    """What was sent is no answer."""


def read_answer(body: object, entry: Entry, vocabulary: Vocabulary | None) -> dict[Field, Value]:
    """The values in what the page sent.

    Args:
        body: `{"size": "medium", "people": 2, "shot_type": "two", "subject": 1,
            "flags": ["knee", "p1:chin"]}`, any of them.
        entry: that it is about.
        vocabulary: of the sizes; None when it is not to be had.

    Raises:
        BadAnswerError: it is something else.
    """
    if not isinstance(body, dict) or not body or set(body) - set(_READERS):
        raise BadAnswerError(f"expected some of {', '.join(_READERS)}, got {body!r:.200}")
    values: dict[Field, Value] = {}
    for name, value in body.items():
        kind, read = _READERS[name]
        values[kind] = read(value, entry, vocabulary)
    return values


def sizes_of(entry: Entry, vocabulary: Vocabulary | None) -> Sizes:
    """The sizes that can be named, by the vocabulary and by what the entry has."""
    known = {band.name: band.abbr for band in vocabulary.bands} if vocabulary is not None else {}
    name = str(entry.row.get("size") or "")
    return {**known, **({name: str(entry.row.get("size_abbr") or "")} if name else {})}


def _size(value: object, entry: Entry, vocabulary: Vocabulary | None) -> Value:
    sizes = sizes_of(entry, vocabulary)
    if not isinstance(value, str) or value not in sizes:
        raise BadAnswerError(f"no size {value!r:.80}; choose from {', '.join(sizes)}")
    own = str(entry.row.get("vocabulary") or "")
    name = own or (vocabulary.name if vocabulary is not None else "")
    return {"size": value, "size_abbr": sizes[value], "vocabulary": name}


def _people(value: object, _entry: Entry, _vocabulary: Vocabulary | None) -> Value:
    if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value <= MOST_PEOPLE:
        raise BadAnswerError(f"people are a count from 0 to {MOST_PEOPLE}, got {value!r:.80}")
    return {"people": value}


def _shot_type(value: object, _entry: Entry, _vocabulary: Vocabulary | None) -> Value:
    words = [member.value for member in ShotType]
    if value not in words:
        raise BadAnswerError(f"shot types are {', '.join(words)}, got {value!r:.80}")
    return {"shot_type": value}


def _subject(value: object, entry: Entry, vocabulary: Vocabulary | None) -> Value:
    if isinstance(value, bool) or not isinstance(value, int):
        raise BadAnswerError(f"a subject is a person's number, got {value!r:.80}")
    person = next((row for row in entry.people if row.get("person") == value), None)
    if person is None:
        raise BadAnswerError(f"there is no person {value}")
    return {
        "x": person.get("nose_x_px"),
        "y": person.get("nose_y_px"),
        **_size_of(person, entry, vocabulary),
    }


def _flags(value: object, _entry: Entry, _vocabulary: Vocabulary | None) -> Value:
    if not isinstance(value, list) or not all(isinstance(part, str) for part in value):
        raise BadAnswerError(f"flags are a list of parts, got {value!r:.80}")
    for part in value:
        who, _, name = part.rpartition(":")
        if name not in FLAG_PARTS or (who and not (who[0] == "p" and who[1:].isdecimal())):
            raise BadAnswerError(f"no flag {part!r:.80}; the parts are {', '.join(FLAG_PARTS)}")
    return {"flags": list(dict.fromkeys(value))}


def _size_of(person: Row, entry: Entry, vocabulary: Vocabulary | None) -> dict[str, Any]:
    """The size of another person by the entry's vocabulary, {} when it cannot be named."""
    if vocabulary is None or entry.best is None:
        return {}
    try:
        measurement = measurement_of_rows(entry.best, entry.people)
    except FramecheckError:  # the rows are those of an early version
        return {}
    chosen = next(one for one in measurement.people if one.person == person.get("person"))
    reading = read_size(chosen)
    named = None if isinstance(reading, NotMeasured) else name_size(reading, vocabulary)
    if named is None:
        return {}
    return {"size": named.name, "size_abbr": named.abbr, "vocabulary": named.vocabulary}


_Reader: TypeAlias = Callable[[object, Entry, "Vocabulary | None"], Value]
_READERS: Mapping[str, tuple[Field, _Reader]] = {
    "size": (Field.SIZE, _size),
    "people": (Field.PEOPLE, _people),
    "shot_type": (Field.SHOT_TYPE, _shot_type),
    "subject": (Field.SUBJECT, _subject),
    "flags": (Field.FLAGS, _flags),
}
