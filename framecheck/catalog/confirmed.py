"""What a correction makes of the measured rows. Pure: rows in, changed cells out."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import Enum
from typing import Any, TypeAlias

from framecheck.catalog.layout import Cell, Row

Value: TypeAlias = Mapping[str, Any]
"""What a person said, as JSON can hold it; its keys depend on the field."""

_FLAG = re.compile(r"(?P<who>p\d+:)?(?P<part>[^(;]+)(?P<rest>\([^)]*\))?")
_OF_SUBJECT = (
    "crop_level", "top_level", "headroom_frac", "look_room_frac", "eye_line_frac",
    "look_ahead_wfrac",
)  # fmt: skip
_CHOSEN = "chosen by a person"
_OTHER_MEASURED = "measured another person"


class Field(str, Enum):
    """What can be confirmed or corrected.

    The values: size {size, size_abbr, vocabulary}; people {people}; shot type {shot_type}; subject
    {x, y} of the nose in pixels of the whole file, and the words for its size as above; flags
    {flags}: the parts that stand, `p1:` before those of another person.
    """

    SUBJECT = "subject"
    SIZE = "size"
    PEOPLE = "people"
    SHOT_TYPE = "shot type"
    FLAGS = "flags"


_COLUMN_OF = {Field.SIZE: "size", Field.PEOPLE: "people", Field.SHOT_TYPE: "shot_type"}


@dataclass(slots=True, kw_only=True)
class Changes:
    """Changed cells: of the row that is named, of the frame, and of people by their place."""

    named: Row = field(default_factory=dict)
    frame: Row = field(default_factory=dict)
    people: dict[int, Row] = field(default_factory=dict)


def corrected(
    values: Mapping[Field, Value], named: Row, frame: Row | None, people: Sequence[Row]
) -> Changes:
    """The cells that the corrections change.

    Args:
        values: what a person said, by field.
        named: the row of the shot, or of the still.
        frame: the row of the frame that was looked at; for a still the same as `named`. None when
            that frame was not measured this time.
        people: the rows of the people in that frame, in their order.
    """
    changes = Changes()
    if Field.SUBJECT in values and frame is not None:
        _choose_subject(changes, values[Field.SUBJECT], (named, frame, people))
    now = {**named, **changes.named}
    if Field.SIZE in values:
        changes.named.update(size_cells(values[Field.SIZE], now))
    if Field.PEOPLE in values:
        changes.named["people"] = values[Field.PEOPLE].get("people")
    if Field.SHOT_TYPE in values:
        changes.named["shot_type"] = str(values[Field.SHOT_TYPE].get("shot_type") or "")
    if Field.FLAGS in values:
        changes.named.update(_flag_cells(values[Field.FLAGS], now))
    words = confirmed_words(values, named, {**named, **changes.named})
    if changes.people:
        words = words.replace(Field.SUBJECT.value, f"{Field.SUBJECT.value} ({_OTHER_MEASURED})", 1)
    changes.named["confirmed"] = words
    return changes


def field_words(kind: Field, row: Mapping[str, Cell]) -> str:
    """What a row says of a field, in words; "" for nothing, and for the subject."""
    if kind is Field.FLAGS:
        return "; ".join(flag_parts(str(row.get("flags") or "")))
    value = row.get(_COLUMN_OF[kind]) if kind in _COLUMN_OF else None
    return "" if value is None else str(value)


def confirmed_words(
    values: Mapping[Field, Value], measured: Mapping[str, Cell], now: Mapping[str, Cell]
) -> str:
    """Which fields a person has seen, with what was measured where that differs.

    Example:
        >>> confirmed_words({Field.PEOPLE: {"people": 2}}, {"people": 3}, {"people": 2})
        'people (measured 3)'
    """
    said = []
    for kind in Field:
        if kind in values:
            before, after = field_words(kind, measured), field_words(kind, now)
            differs = before != after
            said.append(f"{kind.value} (measured {before or 'nothing'})" if differs else kind.value)
    return "; ".join(said)


def size_tail(value: Value, row: Mapping[str, Cell]) -> str | None:
    """The end of the names of the columns that a confirmed size belongs to: "", "_2", ...

    None where the row has no columns of that vocabulary. A row without a size has no vocabulary
    yet; its first columns take any.
    """
    vocabulary = str(value.get("vocabulary") or "")
    for tail in ("", *(f"_{number}" for number in range(2, 10))):
        own = row.get(f"vocabulary{tail}")
        if f"size{tail}" in row and (own == vocabulary or (not own and not tail)):
            return tail
    return None


def size_cells(value: Value, row: Mapping[str, Cell]) -> Row:
    """The cells of a size that a person named, in whichever vocabulary's columns it belongs to.

    Nothing changes where the row has no columns of that vocabulary.
    """
    tail = size_tail(value, row)
    name = str(value.get("size") or "")
    if tail is None or row.get(f"size{tail}") == name:
        return {}
    cells: Row = {
        f"size{tail}": name,
        f"size_abbr{tail}": str(value.get("size_abbr") or ""),
        f"size_confidence{tail}": None,
        f"vocabulary{tail}": str(value.get("vocabulary") or ""),
    }
    return {**cells, **({"size_second": ""} if not tail else {})}


def flag_parts(text: str) -> tuple[str, ...]:
    """The flagged parts of a cell, `p1:` before those of another person, each once."""
    found = (_FLAG.fullmatch(piece.strip()) for piece in text.split(";"))
    names = [f"{match['who'] or ''}{match['part'].strip()}" for match in found if match]
    return tuple(dict.fromkeys(name for name in names if name))


def _flag_cells(value: Value, row: Mapping[str, Cell]) -> Row:
    wanted = [str(part) for part in value.get("flags") or ()]
    measured = str(row.get("flags") or "")
    pieces = [piece.strip() for piece in measured.split(";") if piece.strip()]
    kept = [piece for piece in pieces if set(flag_parts(piece)) & set(wanted)]
    known = set(flag_parts("; ".join(kept)))
    text = "; ".join([*kept, *(part for part in wanted if part not in known)])
    if text == "; ".join(pieces):
        return {}
    # Advice was worked out for the flags that were measured; without them it has no object.
    return {"flags": text, **({"advice": ""} if "advice" in row and not kept else {})}


def _choose_subject(changes: Changes, value: Value, rows: tuple[Row, Row, Sequence[Row]]) -> None:
    named, frame, people = rows
    chosen = _person_at(people, value)
    main = next((place for place, row in enumerate(people) if row.get("person") == 0), None)
    if chosen is None or main is None or chosen == main:
        return
    one, other = people[chosen], people[main]
    changes.people = {
        chosen: {"person": 0, "role": "subject", "choice": _CHOSEN},
        main: {"person": one.get("person"), "role": one.get("role")},
    }
    number = one.get("person")
    changes.people[chosen]["flags"] = str(one.get("flags") or "")
    changes.people[main]["flags"] = str(other.get("flags") or "")
    readings = _readings_of(one, frame)
    changes.frame = {**readings, "choice": _CHOSEN}
    changes.frame["flags"] = _renumbered(str(frame.get("flags") or ""), number)
    if "size" in frame:
        changes.frame.update(_subject_size(value, frame))
    if named is frame:
        changes.named.update(changes.frame)
        changes.frame = {}
        return
    changes.named.update({name: cell for name, cell in readings.items() if name in named})
    changes.named.update(_subject_size(value, named))


def _subject_size(value: Value, row: Mapping[str, Cell]) -> Row:
    cells = size_cells(value, row) if value.get("size") else {}
    same = row.get("size") == value.get("size") and row.get("vocabulary") == value.get("vocabulary")
    if cells or same:
        return cells
    return {"size": "", "size_abbr": "", "size_confidence": None, "size_second": ""}


def _readings_of(person: Row, frame: Row) -> Row:
    names = [*_OF_SUBJECT, *(f"{name}_why" for name in _OF_SUBJECT), "crop_error"]
    return {name: person.get(name) for name in names if name in frame and name in person}


def _person_at(people: Sequence[Row], value: Value) -> int | None:
    """The place of the person whose nose is nearest to the point, among those whose box has it."""
    x, y = value.get("x"), value.get("y")
    if not isinstance(x, int | float) or not isinstance(y, int | float):
        return None
    holding = []
    for place, row in enumerate(people):
        left, top, width, height, nose_x, nose_y = (
            float(number) if isinstance(number, int | float) else 0.0
            for number in map(
                row.get,
                ("box_x_px", "box_y_px", "box_w_px", "box_h_px", "nose_x_px", "nose_y_px"),
            )
        )
        if left <= x <= left + width and top <= y <= top + height:
            holding.append((abs(nose_x - x) + abs(nose_y - y), place))
    return min(holding)[1] if holding else None


def _renumbered(flags: str, number: Cell) -> str:
    """The flags with the numbers of the main subject and another person exchanged."""
    swap = {"": f"p{number}:", f"p{number}:": ""}
    pieces = []
    for piece in flags.split(";"):
        match = _FLAG.fullmatch(piece.strip())
        if match:
            who = match["who"] or ""
            pieces.append(f"{swap.get(who, who)}{match['part']}{match['rest'] or ''}")
    return "; ".join(pieces)
