"""The database file: its journal, its drive, its errors."""

import sqlite3
from types import SimpleNamespace

import pytest

from framecheck.catalog import filesystem, store
from framecheck.catalog.catalog import Catalog
from framecheck.catalog.filesystem import is_network_folder, kind_is_network
from framecheck.catalog.store import explain
from framecheck.errors import CatalogError
from tests.catalog.builders import LAYOUT, a_file_row, a_frame, a_shot


def mode_of(path):
    raw = sqlite3.connect(path)
    try:
        return raw.execute("PRAGMA journal_mode").fetchone()[0]
    finally:
        raw.close()


def fill(catalog):
    number = catalog.begin("content", "settings", "clip", "{}")
    catalog.add_shot(number, a_shot(), [a_frame()], [])
    catalog.finish(number, a_file_row())


def test_an_ordinary_drive_has_a_write_ahead_log(tmp_path) -> None:
    with Catalog.open(tmp_path / "a.sqlite", layout=LAYOUT) as catalog:
        assert catalog.notes == ()
        fill(catalog)
        assert (tmp_path / "a.sqlite-wal").exists()
    assert mode_of(tmp_path / "a.sqlite") == "wal"
    assert [path.name for path in tmp_path.iterdir()] == ["a.sqlite"], "one file is left"


def test_without_shared_memory_the_older_journal_serves_and_the_user_is_told(tmp_path) -> None:
    """This file layer of SQLite locks by a file of its own and has no shared memory."""
    path = tmp_path / "a.sqlite"
    with Catalog.open(path, layout=LAYOUT, vfs="unix-dotfile") as catalog:
        (note,) = catalog.notes
        assert "without a write-ahead log, as its file system cannot share memory" in note
        assert str(path) in note
        fill(catalog)
        assert not (tmp_path / "a.sqlite-wal").exists()
        assert catalog.check() == ()
    assert mode_of(path) == "delete"
    with Catalog.open(path, layout=LAYOUT, vfs="unix-dotfile") as catalog:
        assert catalog.begin("content", "settings", "clip", "{}") is None


def test_a_network_drive_gets_the_older_journal_and_the_user_is_told(tmp_path, monkeypatch) -> None:
    path = tmp_path / "a.sqlite"
    with Catalog.open(path, layout=LAYOUT) as catalog:
        fill(catalog)
    monkeypatch.setattr(store, "is_network_folder", lambda folder: True)
    with Catalog.open(path, layout=LAYOUT) as catalog:
        (note,) = catalog.notes
        assert "as it lies on a network drive" in note
        assert catalog.begin("content", "settings", "clip", "{}") is None
        assert catalog.begin("another", "settings", "clip", "{}") is not None
    assert mode_of(path) == "delete"


def test_a_network_drive_where_another_run_holds_the_log(tmp_path, monkeypatch) -> None:
    path = tmp_path / "a.sqlite"
    monkeypatch.setattr(store, "_SWITCH_TRIES", 2)
    with Catalog.open(path, layout=LAYOUT):
        monkeypatch.setattr(store, "is_network_folder", lambda folder: True)
        with Catalog.open(path, layout=LAYOUT) as other:
            assert "from one machine at a time" in other.notes[0]
            fill(other)


DRIVES = [
    ("/", "ext4", "rw"),
    ("/mnt/nas", "cifs", "rw"),
    ("/mnt/nas/local", "xfs", "rw"),
    ("/mnt/nasty", "ext4", "rw"),
    ("/home/x/remote", "fuse.sshfs", "rw"),
    ("/export", "NFS4", "rw,vers=4.2"),
    ("/over", "nfs", "rw"),
    ("/over", "ext4", "rw"),
]


@pytest.mark.parametrize(
    ("folder", "network"),
    [
        ("/home/x", False), ("/mnt/nas", True), ("/mnt/nas/rushes/day_1", True),
        ("/mnt/nas/local/x", False), ("/mnt/nasty/x", False), ("/home/x/remote/y", True),
        ("/export/y", True), ("/over/y", False),
    ],
)  # fmt: skip
def test_which_folders_lie_on_network_drives(folder, network) -> None:
    assert kind_is_network(folder, DRIVES) is network


def test_windows_names_remote_drives_in_their_options(monkeypatch) -> None:
    monkeypatch.setattr(filesystem.os, "sep", "\\")
    drives = [("C:\\", "NTFS", "rw,fixed"), ("Z:\\", "NTFS", "rw,remote")]
    assert kind_is_network("Z:\\rushes", drives)
    assert not kind_is_network("C:\\rushes", drives)
    assert not kind_is_network("Q:\\rushes", drives)


def test_the_drives_of_this_machine(tmp_path, monkeypatch) -> None:
    import psutil

    assert not is_network_folder(tmp_path)
    drive = SimpleNamespace(mountpoint=str(tmp_path.resolve()), fstype="nfs4", opts="rw")
    monkeypatch.setattr(psutil, "disk_partitions", lambda **_: [drive])
    assert is_network_folder(tmp_path)

    def refuse(**_):
        raise OSError("no list of drives")

    monkeypatch.setattr(psutil, "disk_partitions", refuse)
    assert not is_network_folder(tmp_path)


def test_a_full_disk_is_told_and_what_was_entered_is_kept(catalog) -> None:
    number = catalog.begin("content", "settings", "clip", "{}")
    catalog.add_shot(number, a_shot(0), [a_frame(0)], [])
    pages = catalog._store.pragma("page_count")
    catalog._store.pragma(f"max_page_count = {pages + 3}")
    long_words = a_shot(1, notes="x" * 100_000)
    with pytest.raises(CatalogError, match=r"no space left for the catalog .*; free some space"):
        catalog.add_shot(number, long_words, [a_frame(1)], [])
    assert catalog.shots_done(number) == {0}
    assert catalog.check() == ()
    # With room again, the same call goes through.
    catalog._store.pragma("max_page_count = 100000")
    catalog.add_shot(number, long_words, [a_frame(1)], [])
    assert catalog.shots_done(number) == {0, 1}


def test_a_catalog_that_another_program_holds(tmp_path, monkeypatch) -> None:
    path = tmp_path / "a.sqlite"
    Catalog.open(path, layout=LAYOUT).close()
    monkeypatch.setattr(store, "BUSY_S", 0.05)
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    with Catalog.open(path, layout=LAYOUT) as catalog:
        with pytest.raises(CatalogError, match="in use by another program"):
            catalog.begin("content", "settings", "clip", "{}")
        holder.execute("ROLLBACK")
        holder.close()
        assert catalog.begin("content", "settings", "clip", "{}") is not None


def test_an_interrupt_in_the_middle_enters_nothing(catalog, monkeypatch) -> None:
    number = catalog.begin("content", "settings", "clip", "{}")

    def interrupt(*arguments):
        raise KeyboardInterrupt

    monkeypatch.setattr("framecheck.catalog.rows.enter_entry", interrupt)
    with pytest.raises(KeyboardInterrupt):
        catalog.add_shot(number, a_shot(), [a_frame()], [])
    monkeypatch.undo()
    assert catalog.rows(number).shots == ()
    catalog.add_shot(number, a_shot(), [a_frame()], [])
    assert catalog.shots_done(number) == {0}


def test_the_folder_is_made_and_one_that_cannot_be_made_is_told(tmp_path) -> None:
    Catalog.open(tmp_path / "deep" / "er" / "a.sqlite", layout=LAYOUT).close()
    assert (tmp_path / "deep" / "er" / "a.sqlite").is_file()
    (tmp_path / "file").touch()
    with pytest.raises(CatalogError, match="cannot make the folder of the catalog"):
        Catalog.open(tmp_path / "file" / "a.sqlite", layout=LAYOUT)


def test_a_closed_catalog_can_be_closed_again(tmp_path) -> None:
    catalog = Catalog.open(tmp_path / "a.sqlite", layout=LAYOUT)
    catalog.close()
    catalog.close()
    with pytest.raises(CatalogError):
        catalog.begin("content", "settings", "clip", "{}")


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ("database or disk is full", "no space left"),
        ("disk I/O error", "drive is there and has space"),
        ("attempt to write a readonly database", "may only be read"),
        ("unable to open database file", "cannot be opened"),
        ("database is locked", "in use"),
        ("locking protocol", "cannot lock files"),
        ("something new", "cannot be used: something new"),
    ],
)
def test_what_sqlite_says_in_plain_words(tmp_path, said, told) -> None:
    error = explain(sqlite3.OperationalError(said), tmp_path / "a.sqlite")
    assert told in str(error)
    assert error.where == str(tmp_path / "a.sqlite")
