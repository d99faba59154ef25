"""How many shots and stills there are of each size, of each count of people, and so on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, TypeAlias

from framecheck.catalog.layout import Cell, from_sql
from framecheck.catalog.search import ENTRIES, FindQuery, where_sql
from framecheck.catalog.store import Store

_Key: TypeAlias = tuple[Any, Any]

TALLIED = ("size", "people", "shot_type", "facing", "flag")
"""What is counted by, in this order."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tally:
    """How much there is of one thing.

    Attributes:
        by: one of `TALLIED`.
        value: which size, how many people, ...; None for those of which it is not known, and for
            those without a flag.
        abbr: of a size.
        shots, stills: how many. seconds: how long the shots last together.
    """

    by: str
    value: Cell
    abbr: str
    shots: int
    stills: int
    seconds: float


_SUMS = "sum(NOT e.still), sum(e.still), total(e.duration_s)"
_PLAIN = ("size", "people", "shot_type", "facing")
_FLAGS = " LEFT JOIN entry_flags g ON g.measurement = e.measurement AND g.shot = e.shot"


def tally_entries(store: Store, query: FindQuery) -> tuple[Tally, ...]:
    """What answers the query, counted; by `TALLIED`, then the most frequent first.

    A shot with several flags counts for each of them. The query's limit has no say.
    """
    where, values = where_sql(store, query)
    # One walk for all but the flags: there are few different shots in this respect.
    columns = ", ".join(f"e.{name}" for name in (*_PLAIN, "size_abbr"))
    plain = store.all(
        f"SELECT {columns}, {_SUMS} FROM {ENTRIES} WHERE NOT p.gone{where} GROUP BY {columns}",
        values,
    )
    flags = store.all(
        f"SELECT g.part, {_SUMS} FROM {ENTRIES}{_FLAGS} WHERE NOT p.gone{where} GROUP BY g.part",
        values,
    )
    found: list[Tally] = []
    for place, by in enumerate(_PLAIN):
        abbr = len(_PLAIN) if by == "size" else None
        found += _add_up(by, [((row[place], row[abbr] if abbr else None), row) for row in plain])
    return (*found, *_add_up("flag", [((row[0], None), row) for row in flags]))


def _add_up(by: str, rows: Sequence[tuple[_Key, tuple[Any, ...]]]) -> list[Tally]:
    """The sums at the end of the rows, added up by the key of each."""
    sums: dict[_Key, list[float]] = {}
    for key, row in rows:
        kept = sums.setdefault(key, [0, 0, 0.0])
        for place, value in enumerate(row[-3:]):
            kept[place] += value
    tallies = [
        Tally(
            by=by,
            value=from_sql(value),
            abbr=str(from_sql(abbr) or ""),
            shots=int(shots),
            stills=int(stills),
            seconds=seconds,
        )
        for (value, abbr), (shots, stills, seconds) in sums.items()
    ]
    return sorted(tallies, key=_order)


def _order(tally: Tally) -> tuple[int, bool, str, str]:
    known = tally.value is not None
    return -(tally.shots + tally.stills), known, str(tally.value) if known else "", tally.abbr
