"""Questions to the catalog: options to one SQL text whose values are always parameters."""

from __future__ import annotations

import fnmatch
import os
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from framecheck.catalog.entries import ENTRY_COLUMNS
from framecheck.catalog.layout import Row, from_sql, to_sql
from framecheck.catalog.places import place_bytes
from framecheck.catalog.schema import columns_of
from framecheck.catalog.store import Store

ANY_FLAG = "any"
NO_FLAG = "none"
"""Words for flags: shots with at least one, and shots without."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FindQuery:
    """What to find: all that is said must hold; of several values of one kind, one must.

    Attributes:
        sizes: names or abbreviations, in any case.
        fewest_people, most_people: inclusive; None for no limit.
        flags: parts that are flagged, or `any`, or `none`.
        shot_types, facings: words as the tables have them.
        folder: everything below it, None for everywhere.
        longer_than_s, shorter_than_s: exclusive; either of them leaves stills out.
        file_pattern: `*`, `?` and `[...]` over the file's name, in any case; "" for all.
        limit: at most so many rows; None for all.
    """

    sizes: tuple[str, ...] = ()
    fewest_people: int | None = None
    most_people: int | None = None
    flags: tuple[str, ...] = ()
    shot_types: tuple[str, ...] = ()
    facings: tuple[str, ...] = ()
    folder: Path | None = None
    longer_than_s: float | None = None
    shorter_than_s: float | None = None
    file_pattern: str = ""
    limit: int | None = None


ENTRIES = (
    "places p JOIN contents c ON c.id = p.content JOIN entries e ON e.measurement = c.shown "
    "JOIN measurements m ON m.id = e.measurement"
)
"""What questions are asked of; p, c, e and m in the SQL of `where_sql`."""
_HAS_FLAG = (
    "EXISTS (SELECT 1 FROM entry_flags g WHERE g.measurement = e.measurement AND g.shot = e.shot)"
)
_OF_A_FRAME = {"time_s", "timecode"}  # of one frame, which among those of a shot would mislead


@dataclass(frozen=True, slots=True)
class _Condition:
    sql: str
    values: tuple[object, ...] = ()


def find_rows(store: Store, query: FindQuery) -> list[Row]:
    """The rows that answer the query, by place and then by shot."""
    names, sql, values = find_sql(store, query)
    return [_as_row(names, row) for row in store.all(sql, values)]


def count_rows(store: Store, query: FindQuery) -> int:
    """How many rows answer the query, whatever its limit."""
    where, values = where_sql(store, query)
    row = store.first(f"SELECT count(*) FROM {ENTRIES} WHERE NOT p.gone{where}", values)
    return int(row[0]) if row else 0


def find_sql(store: Store, query: FindQuery) -> tuple[tuple[str, ...], str, tuple[object, ...]]:
    """The columns, the SQL text and its parameters."""
    where, values = where_sql(store, query)
    limit = "" if query.limit is None else " LIMIT ?"
    names, columns = _columns(store)
    # The inner query walks the narrow tables alone; the wide rows are fetched for what is left.
    sql = (
        f"SELECT {', '.join(columns)} FROM (SELECT p.path, m.kind, e.* FROM {ENTRIES} "
        f"WHERE NOT p.gone{where} ORDER BY p.path, e.shot{limit}) found "
        "LEFT JOIN shots s ON NOT found.still "
        "AND s._measurement = found.measurement AND s._shot = found.shot "
        "LEFT JOIN frames f ON f._measurement = found.measurement "
        "AND f._shot = found.shot AND f._row = found.best_row "
        "ORDER BY found.path, found.shot"
    )
    return names, sql, values if query.limit is None else (*values, query.limit)


def found_columns(store: Store) -> tuple[str, ...]:
    """The columns of found rows, in order."""
    return _columns(store)[0]


def known_sizes(store: Store) -> list[tuple[str, str]]:
    """The names and abbreviations of sizes that entries have."""
    rows = store.all("SELECT DISTINCT size, size_abbr FROM entries WHERE size IS NOT NULL")
    return [(str(from_sql(name)), str(from_sql(abbr) or "")) for name, abbr in rows]


def known_flags(store: Store) -> list[str]:
    """The parts that entries have flags for."""
    return [str(from_sql(row[0])) for row in store.all("SELECT DISTINCT part FROM entry_flags")]


def _columns(store: Store) -> tuple[tuple[str, ...], list[str]]:
    """Names of the found columns, and the SQL for each.

    Those of shots, which a still takes from its frame; what is asked for, where shots lack it;
    then what else is known of the frame that shows the shot best.
    """
    shots, frames = columns_of(store, "shots"), columns_of(store, "frames")
    found: dict[str, str] = {
        "place": "found.path",
        "kind": "found.kind",
        "shot": "CASE WHEN found.still THEN NULL ELSE found.shot END",
    }
    for name in shots:
        still = f'f."{name}"' if name in frames else "NULL"
        found.setdefault(name, f'CASE WHEN found.still THEN {still} ELSE s."{name}" END')
    for name in ENTRY_COLUMNS:
        found.setdefault(name, f"found.{name}")
    for name in frames:
        found.setdefault(name, f'f."{name}"')
    for name in _OF_A_FRAME - set(shots):
        found.pop(name, None)
    found.pop("file", None)  # what the run that measured it called it; the place says where it is
    return tuple(found), list(found.values())


def where_sql(store: Store, query: FindQuery) -> tuple[str, tuple[object, ...]]:
    """The conditions, each with AND in front, and their values; nothing of the limit."""
    conditions = _conditions(store, query)
    where = "".join(f" AND {condition.sql}" for condition in conditions)
    return where, tuple(value for condition in conditions for value in condition.values)


def _conditions(store: Store, query: FindQuery) -> list[_Condition]:
    return [
        *_size_condition(store, query.sizes),
        *_limit("e.people", ">=", query.fewest_people),
        *_limit("e.people", "<=", query.most_people),
        *_limit("e.duration_s", ">", query.longer_than_s),
        *_limit("e.duration_s", "<", query.shorter_than_s),
        *_one_of("e.shot_type", query.shot_types),
        *_one_of("e.facing", query.facings),
        *_flag_condition(query.flags),
        *_folder_condition(query.folder),
        *_pattern_condition(store, query.file_pattern),
    ]


def _size_condition(store: Store, words: Sequence[str]) -> list[_Condition]:
    if not words:
        return []
    wanted = {word.casefold() for word in words}
    # There are few different sizes: whatever script they are in, Python knows their two cases.
    sizes = known_sizes(store)
    names = [name for name, abbr in sizes if {name.casefold(), abbr.casefold()} & wanted]
    return _one_of("e.size", list(dict.fromkeys(names))) or [_Condition("0")]


def _one_of(column: str, words: Sequence[str]) -> list[_Condition]:
    if not words:
        return []
    marks = ", ".join("?" * len(words))
    return [_Condition(f"{column} IN ({marks})", tuple(map(to_sql, words)))]


def _limit(column: str, relation: str, value: float | None) -> list[_Condition]:
    return [] if value is None else [_Condition(f"{column} {relation} ?", (value,))]


def _flag_condition(words: Sequence[str]) -> list[_Condition]:
    if not words:
        return []
    parts = [word for word in words if word not in {ANY_FLAG, NO_FLAG}]
    pieces = [_HAS_FLAG] if ANY_FLAG in words else []
    pieces += [f"NOT {_HAS_FLAG}"] if NO_FLAG in words else []
    if parts:
        marks = ", ".join("?" * len(parts))
        pieces.append(
            "(e.measurement, e.shot) IN "
            f"(SELECT measurement, shot FROM entry_flags WHERE part IN ({marks}))"
        )
    return [_Condition(f"({' OR '.join(pieces)})", tuple(map(to_sql, parts)))]


def _folder_condition(folder: Path | None) -> list[_Condition]:
    if folder is None:
        return []
    own = place_bytes(folder)  # a folder of numbered frames is a place itself
    start = own.rstrip(os.fsencode(os.sep)) + os.fsencode(os.sep)
    # Everything that begins with the folder lies between it and the next byte after its separator:
    # a range of the key, with no pattern in which a name could play a part.
    stop = start[:-1] + bytes([start[-1] + 1])
    return [_Condition("(p.path >= ? AND p.path < ? OR p.path = ?)", (start, stop, own))]


def _pattern_condition(store: Store, pattern: str) -> list[_Condition]:
    if not pattern:
        return []
    matches = re.compile(fnmatch.translate(pattern.casefold())).match

    def fits(path: bytes) -> bool:
        return matches(os.path.basename(os.fsdecode(path)).casefold()) is not None  # noqa: PTH119

    store.offer_function("fits_pattern", fits, 1)
    return [_Condition("fits_pattern(p.path)")]


def _as_row(names: Sequence[str], values: Sequence[Any]) -> Row:
    path, *others = values
    return dict(zip(names, (os.fsdecode(path), *map(from_sql, others)), strict=True))
