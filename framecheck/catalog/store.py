"""One SQLite file, opened safely: its journal, its transactions, its errors in plain words."""

from __future__ import annotations

import contextlib
import os
import sqlite3
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from framecheck.catalog.filesystem import is_network_folder
from framecheck.errors import CatalogError

BUSY_S = 30.0
"""How long to wait for another program's transaction."""

_SWITCH_TRIES = 50
_SWITCH_PAUSE_S = 0.1

_REASONS = (
    # a piece of SQLite's message, what it means, what to do
    ("is full", "there is no space left for the catalog {path}",
     "free some space and give the same command again; what was entered before is kept"),
    ("readonly", "the catalog {path} may only be read",
     "change the permissions of the file and its folder, or name another catalog"),
    ("locked", "the catalog {path} is in use by another program",
     "wait until that has ended and try again"),
    ("locking protocol", "the drive of the catalog {path} cannot lock files",
     "keep the catalog on a drive of this machine"),
    ("not a database", "{path} is not a catalog of framecheck",
     "name another file; this one was left as it is"),
    ("malformed", "the catalog {path} is damaged",
     "put it aside, so that a new one is made, or restore a copy of it"),
    ("disk i/o error", "the catalog {path} cannot be read or written: {reason}",
     "check that its drive is there and has space left"),
    ("unable to open", "the catalog {path} cannot be opened",
     "check that its folder is there and may be written to"),
)  # fmt: skip


class Store:
    """A connection with the habits of the catalog; not to be carried across processes.

    Attributes:
        path: the file.
        read_only: True when nothing can be written.
        notes: what the user should know about how it was opened.
    """

    def __init__(self, connection: sqlite3.Connection, path: Path, *, read_only: bool) -> None:
        self._connection = connection
        self.path = path
        self.read_only = read_only
        self.notes: tuple[str, ...] = ()

    def close(self) -> None:
        """Let go of the file; the last one to do so folds the journal into it."""
        with contextlib.suppress(sqlite3.Error):
            self._connection.close()

    @contextlib.contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction: all that is written inside is kept, or nothing of it.

        Raises:
            CatalogError: it could not be written.
        """
        if self.read_only:
            raise self._error(sqlite3.OperationalError("readonly"))
        try:
            inner = self._connection.in_transaction
            self._connection.execute("SAVEPOINT part" if inner else "BEGIN IMMEDIATE")
            try:
                yield
                self._connection.execute("RELEASE part" if inner else "COMMIT")
            except BaseException:
                self._roll_back("ROLLBACK TO part" if inner else "ROLLBACK")
                raise
        except sqlite3.Error as error:
            raise self._error(error) from error

    @contextlib.contextmanager
    def together(self) -> Iterator[None]:
        """Several transactions with one flush to the disk; each is still kept whole or not at all.

        What was whole when something goes wrong inside is kept.

        Raises:
            CatalogError: they could not be written; none of them is kept then.
        """
        try:
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                yield
            finally:
                self._commit()
        except sqlite3.Error as error:
            raise self._error(error) from error

    def run(self, sql: str, values: Sequence[object] = ()) -> sqlite3.Cursor:
        """The cursor of one statement; use it inside `writing` when it changes anything.

        Raises:
            CatalogError: the file cannot be read or written.
        """
        try:
            return self._connection.execute(sql, values)
        except sqlite3.Error as error:
            raise self._error(error) from error

    def run_many(self, sql: str, rows: Sequence[Sequence[object]]) -> None:
        """One statement for each of the rows.

        Raises:
            CatalogError: the file cannot be written.
        """
        try:
            self._connection.executemany(sql, rows)
        except sqlite3.Error as error:
            raise self._error(error) from error

    def all(self, sql: str, values: Sequence[object] = ()) -> list[tuple[Any, ...]]:
        """All rows of a query.

        Raises:
            CatalogError: the file cannot be read.
        """
        try:
            return self._connection.execute(sql, values).fetchall()
        except sqlite3.Error as error:
            raise self._error(error) from error

    def first(self, sql: str, values: Sequence[object] = ()) -> tuple[Any, ...] | None:
        """The first row of a query, None when it has none.

        Raises:
            CatalogError: the file cannot be read.
        """
        rows = self.all(sql, values)
        return rows[0] if rows else None

    def pragma(self, name: str) -> Any:  # noqa: ANN401  # numbers and words alike
        """The value of one of SQLite's settings."""
        row = self.first(f"PRAGMA {name}")
        return row[0] if row else None

    def offer_function(self, name: str, function: Any, arguments: int) -> None:  # noqa: ANN401
        """Make a Python function callable from SQL."""
        self._connection.create_function(name, arguments, function, deterministic=True)

    def _commit(self) -> None:
        if not self._connection.in_transaction:  # SQLite has rolled it back: the disk is full
            return
        try:
            self._connection.execute("COMMIT")
        except sqlite3.Error:
            self._roll_back("ROLLBACK")
            raise

    def _roll_back(self, how: str) -> None:
        # SQLite has rolled back by itself after some errors (a full disk).
        if self._connection.in_transaction:
            with contextlib.suppress(sqlite3.Error):
                self._connection.execute(how)

    def _error(self, error: sqlite3.Error) -> CatalogError:
        return explain(error, self.path)


def open_store(path: Path, *, vfs: str | None = None) -> Store:
    """The catalog file for reading and writing, made when it is not there.

    Args:
        path: where it is.
        vfs: name of SQLite's file layer; None for the usual one.

    Raises:
        CatalogError: it cannot be opened, or is no database.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        reason = error.strerror or str(error)
        raise CatalogError(
            f"cannot make the folder of the catalog {path}: {reason}; name another catalog",
            where=str(path),
        ) from error
    store = Store(_connect(path, "mode=rwc", vfs), path, read_only=False)
    with closed_on_error(store):
        _prepare(store)
    return store


def open_store_to_read(path: Path) -> Store:
    """The catalog file, which must be there; read-only where it cannot be written to.

    Raises:
        CatalogError: it is not there, cannot be read, or is no database.
    """
    if not path.is_file():
        raise CatalogError(f"there is no catalog at {path}; name another one", where=str(path))
    if _is_writable(path):
        store = Store(_connect(path, "mode=rw", None), path, read_only=False)
        with closed_on_error(store):
            _prepare(store)
        return store
    return _open_unwritable(path)


def explain(error: sqlite3.Error, path: Path) -> CatalogError:
    """SQLite's error in the words of the catalog."""
    reason = str(error)
    for piece, what, remedy in _REASONS:
        if piece in reason.lower():
            told = what.format(path=path, reason=reason)
            return CatalogError(f"{told}; {remedy}", where=str(path))
    return CatalogError(f"the catalog {path} cannot be used: {reason}", where=str(path))


def _connect(path: Path, mode: str, vfs: str | None) -> sqlite3.Connection:
    if path.is_dir():
        raise CatalogError(f"{path} is a folder; name the catalog file in it", where=str(path))
    layer = f"&vfs={vfs}" if vfs else ""
    uri = f"{Path(os.path.abspath(path)).as_uri()}?{mode}{layer}"  # noqa: PTH100  # keeps links
    try:
        return sqlite3.connect(uri, uri=True, timeout=BUSY_S, isolation_level=None)
    except sqlite3.Error as error:
        raise explain(error, path) from error


def _prepare(store: Store) -> None:
    store.run("PRAGMA foreign_keys = ON")
    # A file from elsewhere may hold views and triggers; those shall do nothing but SQL.
    store.run("PRAGMA trusted_schema = OFF")
    # A shot takes seconds to measure: the flush to the disk at every commit costs nothing beside
    # that, and keeps it through a loss of power.
    store.run("PRAGMA synchronous = FULL")
    store.first("SELECT count(*) FROM sqlite_master")  # reads the file for the first time


def choose_journal(store: Store) -> None:
    """Write ahead where the file system can, else with the older journal, and note which.

    Write-ahead logging lets others read while one writes, but needs memory that all of them
    share: between machines there is none, and the file would be damaged.
    """
    network = is_network_folder(store.path.parent)
    if network:
        _switch_journal(store, "delete")
        reason = "it lies on a network drive"
    else:
        _switch_journal(store, "wal")
        reason = "its file system cannot share memory between programs"
    if store.pragma("journal_mode") != "wal":
        store.notes += (
            f"the catalog {store.path} is kept without a write-ahead log, as {reason}: runs that "
            "use it at once wait for each other more often",
        )
    elif network:
        store.notes += (
            f"the catalog {store.path} lies on a network drive and is in use with a write-ahead "
            "log: use it from one machine at a time",
        )


def _switch_journal(store: Store, wanted: str) -> None:
    for _ in range(_SWITCH_TRIES):
        if store.pragma("journal_mode") == wanted:
            return
        # Switching does not wait for other programs, it fails at once.
        with contextlib.suppress(CatalogError):
            store.pragma(f"journal_mode = {wanted}")
            return
        time.sleep(_SWITCH_PAUSE_S)


def _is_writable(path: Path) -> bool:
    return os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)


def _open_unwritable(path: Path) -> Store:
    journal = path.with_name(path.name + "-wal")
    left_over = journal.is_file() and journal.stat().st_size > 0
    # With nothing in the journal, and nobody able to write, the file is all there is to read.
    mode = "mode=ro" if left_over else "mode=ro&immutable=1"
    store = Store(_connect(path, mode, None), path, read_only=True)
    with closed_on_error(store):
        store.first("SELECT count(*) FROM sqlite_master")
    store.notes = (f"the catalog {path} may only be read",)
    return store


@contextlib.contextmanager
def closed_on_error(store: Store) -> Iterator[None]:
    """Let go of the file when the block ends with an error."""
    try:
        yield
    except BaseException:
        store.close()
        raise
