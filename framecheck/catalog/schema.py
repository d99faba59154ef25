"""The tables of the database, and how those of earlier versions become today's."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields

from framecheck.catalog.entries import rebuild_entries
from framecheck.catalog.layout import PLAIN_NAME, SQL_TYPES, Layout
from framecheck.catalog.store import Store
from framecheck.errors import CatalogError

VERSION = 4
APPLICATION_ID = 0x66726D63
"""Marks the file as a catalog: "frmc"."""

# Version 1: what was measured. The tables files, shots, frames and people get their further
# columns from the layout that the catalog is opened with. Paths are bytes, as file names may
# hold any.
_MEASUREMENTS = (
    """CREATE TABLE contents (
        id INTEGER PRIMARY KEY,
        content TEXT NOT NULL UNIQUE
    )""",
    """CREATE TABLE places (
        path BLOB PRIMARY KEY,
        content INTEGER NOT NULL REFERENCES contents (id),
        size_bytes INTEGER NOT NULL,
        mtime_ns INTEGER NOT NULL,
        noted_s REAL NOT NULL,
        gone INTEGER NOT NULL DEFAULT 0
    ) WITHOUT ROWID""",
    "CREATE INDEX places_content ON places (content)",
    """CREATE TABLE settings (
        fingerprint TEXT PRIMARY KEY,
        described TEXT NOT NULL
    ) WITHOUT ROWID""",
    """CREATE TABLE measurements (
        id INTEGER PRIMARY KEY,
        content INTEGER NOT NULL REFERENCES contents (id),
        fingerprint TEXT NOT NULL,
        kind TEXT NOT NULL,
        header TEXT NOT NULL,
        state TEXT NOT NULL CHECK (state IN ('running', 'measured', 'failed', 'skipped')),
        why TEXT NOT NULL DEFAULT '',
        at TEXT NOT NULL DEFAULT '',
        attempts INTEGER NOT NULL DEFAULT 1,
        begun_s REAL NOT NULL,
        ended_s REAL,
        owner_token TEXT,
        owner_host TEXT,
        owner_pid INTEGER,
        owner_start_s REAL,
        beat_s REAL,
        UNIQUE (content, fingerprint)
    )""",
    """CREATE TABLE files (
        _measurement INTEGER PRIMARY KEY REFERENCES measurements (id) ON DELETE CASCADE
    )""",
    """CREATE TABLE shots (
        _measurement INTEGER NOT NULL REFERENCES measurements (id) ON DELETE CASCADE,
        _shot INTEGER NOT NULL,
        PRIMARY KEY (_measurement, _shot)
    ) WITHOUT ROWID""",
    """CREATE TABLE frames (
        _measurement INTEGER NOT NULL REFERENCES measurements (id) ON DELETE CASCADE,
        _shot INTEGER NOT NULL,
        _row INTEGER NOT NULL,
        PRIMARY KEY (_measurement, _shot, _row)
    ) WITHOUT ROWID""",
    """CREATE TABLE people (
        _measurement INTEGER NOT NULL REFERENCES measurements (id) ON DELETE CASCADE,
        _shot INTEGER NOT NULL,
        _row INTEGER NOT NULL,
        PRIMARY KEY (_measurement, _shot, _row)
    ) WITHOUT ROWID""",
)

# Version 2: what can be asked for. One narrow row a shot or still, made from the others, so that
# a question need not read the wide ones; `best_row` is the frame that shows it best, `shown` the
# measurement of a content that counts, `asked_s` when a run last asked for a measurement.
_ENTRIES = (
    "ALTER TABLE contents ADD COLUMN shown INTEGER REFERENCES measurements (id)",
    "CREATE INDEX contents_shown ON contents (shown)",
    "ALTER TABLE measurements ADD COLUMN asked_s REAL",
    "UPDATE measurements SET asked_s = ended_s",
    """CREATE TABLE entries (
        measurement INTEGER NOT NULL REFERENCES measurements (id) ON DELETE CASCADE,
        shot INTEGER NOT NULL,
        still INTEGER NOT NULL,
        size TEXT,
        size_abbr TEXT,
        people INTEGER,
        shot_type TEXT,
        facing TEXT,
        duration_s REAL,
        best_row INTEGER,
        PRIMARY KEY (measurement, shot)
    ) WITHOUT ROWID""",
    "CREATE INDEX entries_size ON entries (size, size_abbr)",
    "CREATE INDEX entries_people ON entries (people)",
    "CREATE INDEX entries_shot_type ON entries (shot_type)",
    "CREATE INDEX entries_facing ON entries (facing)",
    "CREATE INDEX entries_duration ON entries (duration_s)",
    """CREATE TABLE entry_flags (
        part TEXT NOT NULL,
        measurement INTEGER NOT NULL,
        shot INTEGER NOT NULL,
        PRIMARY KEY (part, measurement, shot),
        FOREIGN KEY (measurement, shot) REFERENCES entries (measurement, shot) ON DELETE CASCADE
    ) WITHOUT ROWID""",
    "CREATE INDEX entry_flags_entry ON entry_flags (measurement, shot)",
)

# Version 3: studies of sequences, the last one of each source. Their further columns come from the
# layout, as those of the measured tables do.
_SEQUENCES = (
    """CREATE TABLE sequences (
        id INTEGER PRIMARY KEY,
        source TEXT NOT NULL UNIQUE,
        name TEXT NOT NULL,
        scene TEXT NOT NULL,
        made_s REAL NOT NULL
    )""",
    *(
        f"""CREATE TABLE {table} (
        _sequence INTEGER NOT NULL REFERENCES sequences (id) ON DELETE CASCADE,
        _row INTEGER NOT NULL,
        PRIMARY KEY (_sequence, _row)
    ) WITHOUT ROWID"""
        for table in ("cuts", "pairs", "scene")
    ),
)

# Version 4: what people have said about results, by content; and the cells that it has taken the
# place of. Exports tell it in the column `confirmed`.
_CORRECTIONS = (
    """CREATE TABLE corrections (
        id INTEGER PRIMARY KEY AUTOINCREMENT,
        act INTEGER NOT NULL,
        content INTEGER NOT NULL REFERENCES contents (id),
        anchor INTEGER NOT NULL,
        field TEXT NOT NULL,
        vocabulary TEXT NOT NULL,
        value TEXT NOT NULL,
        made_s REAL NOT NULL,
        withdrawn INTEGER NOT NULL DEFAULT 0
    )""",
    "CREATE INDEX corrections_content ON corrections (content, anchor)",
    """CREATE TABLE originals (
        measurement INTEGER NOT NULL REFERENCES measurements (id) ON DELETE CASCADE,
        shot INTEGER NOT NULL,
        place TEXT NOT NULL,
        number INTEGER NOT NULL,
        cells TEXT NOT NULL,
        PRIMARY KEY (measurement, shot, place, number)
    ) WITHOUT ROWID""",
)
_CONFIRMED = ("confirmed", "text")
_HAVE_CONFIRMED = ("shots", "frames")


def bring_up_to_date(store: Store, layout: Layout) -> None:
    """Make or migrate the tables, and add the layout's columns that are not there yet.

    All of it is one transaction: a migration that is broken off leaves the old version whole.

    Raises:
        CatalogError: the file is of a newer version or another program's, or cannot be written.
    """
    check_version(store)
    if store.pragma("user_version") == VERSION and not _missing_columns(store, layout):
        return
    with store.writing():
        version = check_version(store)  # once more: another run may have been faster
        for number in range(version + 1, VERSION + 1):
            _MIGRATIONS[number](store)
        for table, name, kind in _missing_columns(store, layout):
            store.run(f'ALTER TABLE {table} ADD COLUMN "{name}" {kind}')
        store.run(f"PRAGMA application_id = {APPLICATION_ID}")
        store.run(f"PRAGMA user_version = {VERSION}")


def check_version(store: Store) -> int:
    """The version of the tables, 0 for an empty file.

    Raises:
        CatalogError: it is newer than this program, or the file is another program's.
    """
    version = int(store.pragma("user_version"))
    own = store.pragma("application_id") == APPLICATION_ID
    empty = store.first("SELECT 1 FROM sqlite_master") is None
    if not own and not (empty and version == 0):
        raise CatalogError(
            f"{store.path} is not a catalog of framecheck but another program's database; "
            "name another file; this one was left as it is",
            where=str(store.path),
        )
    if version > VERSION:
        raise CatalogError(
            f"the catalog {store.path} was made by a newer framecheck (its version is {version}, "
            f"this program knows up to {VERSION}); update framecheck, or name another catalog",
            where=str(store.path),
        )
    return version


def columns_of(store: Store, table: str) -> tuple[str, ...]:
    """The columns of rows in a table, in order, without those of the catalog's own.

    Neither are those that no layout can have brought there: their names become part of SQL texts.
    """
    names = [row[1] for row in store.all(f"PRAGMA table_info({table})")]
    return tuple(name for name in names if PLAIN_NAME.fullmatch(name))


def _make_measurements(store: Store) -> None:
    for statement in _MEASUREMENTS:
        store.run(statement)


def _make_entries(store: Store) -> None:
    for statement in _ENTRIES:
        store.run(statement)
    rebuild_entries(store)


def _make_sequences(store: Store) -> None:
    for statement in _SEQUENCES:
        store.run(statement)


def _make_corrections(store: Store) -> None:
    for statement in _CORRECTIONS:
        store.run(statement)


_MIGRATIONS: Mapping[int, Callable[[Store], None]] = {
    1: _make_measurements,
    2: _make_entries,
    3: _make_sequences,
    4: _make_corrections,
}
"""How the version before each number becomes that number."""


def _missing_columns(store: Store, layout: Layout) -> list[tuple[str, str, str]]:
    missing = []
    for table in fields(layout):
        wanted = list(getattr(layout, table.name))
        if table.name in _HAVE_CONFIRMED and _CONFIRMED not in wanted:
            wanted.append(_CONFIRMED)
        there = set(columns_of(store, table.name))
        missing += [
            (table.name, name, SQL_TYPES[kind]) for name, kind in wanted if name not in there
        ]
    return missing
