"""Versions of the database: made, migrated, refused."""

import sqlite3
from pathlib import Path

import pytest

from framecheck.catalog import schema
from framecheck.catalog.catalog import Catalog
from framecheck.catalog.layout import Layout
from framecheck.catalog.measurements import State
from framecheck.catalog.schema import VERSION
from framecheck.catalog.search import FindQuery
from framecheck.errors import CatalogError
from tests.catalog.builders import LAYOUT, a_file_row, a_frame, a_shot, lay_down, measure

VERSION_1 = (Path(__file__).parent / "version_1.sql").read_text("utf-8")


@pytest.fixture
def old(tmp_path):
    """A catalog as version 1 of the program left it."""
    path = tmp_path / "old.sqlite"
    with sqlite3.connect(path) as raw:
        raw.executescript(VERSION_1)
    raw.close()
    return path


def raw_rows(path, sql):
    raw = sqlite3.connect(path)
    try:
        return raw.execute(sql).fetchall()
    finally:
        raw.close()


def test_a_new_catalog_is_of_this_version(tmp_path) -> None:
    path = tmp_path / "a.sqlite"
    Catalog.open(path, layout=LAYOUT).close()
    assert raw_rows(path, "PRAGMA user_version") == [(VERSION,)]
    assert path.read_bytes()[68:72] == b"frmc"


def test_version_1_becomes_this_version_and_keeps_all_rows(old) -> None:
    tables = ("contents", "places", "settings", "files", "shots", "frames", "people")
    before = {table: raw_rows(old, f"SELECT * FROM {table}") for table in tables}
    with Catalog.open(old, layout=LAYOUT) as catalog:
        assert catalog.check() == ()
        assert catalog.counts() == {State.MEASURED: 3, State.RUNNING: 1}
    assert raw_rows(old, "PRAGMA user_version") == [(VERSION,)]
    for table in tables:
        after = raw_rows(old, f"SELECT * FROM {table}")
        assert [row[: len(before[table][0])] for row in after] == before[table]


def test_version_1_can_be_searched_after_migration(old) -> None:
    with Catalog.open_to_read(old) as catalog:
        found = catalog.find(FindQuery())
        said = [(row["place"], row["shot"], row["size"], row["facing"]) for row in found]
        assert said == [
            ("/old/a.mov", 0, "mid-shot", "profile"),
            ("/old/a.mov", 1, "close shot", None),
            ("/old/b.mov", 0, "full", None),
            ("/old/\udce9.jpg", None, "close-up", "to lens"),
        ]
        assert found[0]["crop_level"] == 0.1234567890123
        assert catalog.flagged_parts() == ["chin", "crown", "knee", "wrist"]
        assert [row["place"] for row in catalog.find(FindQuery(flags=("chin",)))] == ["/old/b.mov"]
        assert [row["shot"] for row in catalog.find(FindQuery(longer_than_s=4.0))] == [0, 0]


def test_a_run_of_version_1_that_died_is_gone_on_with(old) -> None:
    with Catalog.open(old, layout=LAYOUT) as catalog:
        number = catalog.begin("2222", "trade", "clip", "{}")
        assert number == 3
        assert catalog.shots_done(number) == {0}
        catalog.add_shot(number, a_shot(1), [a_frame(1)], [])
        catalog.finish(number, a_file_row())
        assert catalog.begin("1111", "trade", "clip", "{}") is None
        assert catalog.check() == ()


def test_a_migration_that_is_broken_off_leaves_the_old_version(old, monkeypatch) -> None:
    before = raw_rows(old, "SELECT name, sql FROM sqlite_master ORDER BY name")

    def break_off(store):
        raise KeyboardInterrupt

    monkeypatch.setattr(schema, "rebuild_entries", break_off)
    with pytest.raises(KeyboardInterrupt):
        Catalog.open(old, layout=LAYOUT)
    assert raw_rows(old, "PRAGMA user_version") == [(1,)]
    assert raw_rows(old, "SELECT name, sql FROM sqlite_master ORDER BY name") == before
    monkeypatch.undo()
    with Catalog.open(old, layout=LAYOUT) as catalog:
        assert len(catalog.find(FindQuery())) == 4


@pytest.mark.parametrize("way", [Catalog.open, Catalog.open_to_read])
def test_a_newer_version_is_refused_and_left_alone(tmp_path, way) -> None:
    path = tmp_path / "a.sqlite"
    with Catalog.open(path, layout=LAYOUT) as catalog:
        measure(catalog, lay_down(tmp_path, "a.mov", b"a"), [(a_shot(), [])])
    with sqlite3.connect(path) as raw:
        raw.execute(f"PRAGMA user_version = {VERSION + 1}")
    raw.close()
    before = path.read_bytes()
    with pytest.raises(CatalogError, match="made by a newer framecheck") as caught:
        way(path)
    assert f"version is {VERSION + 1}" in str(caught.value)
    assert f"up to {VERSION})" in str(caught.value)
    assert caught.value.where == str(path)
    assert path.read_bytes() == before


def another_programs(path):
    with sqlite3.connect(path) as raw:
        raw.execute("CREATE TABLE shots (something)")
    raw.close()


def cut_off(path):
    with Catalog.open(path, layout=LAYOUT):
        pass
    path.write_bytes(path.read_bytes()[:6000])


def overwritten(path):
    with Catalog.open(path, layout=LAYOUT):
        pass
    content = bytearray(path.read_bytes())
    content[4096:] = b"\xa5" * (len(content) - 4096)
    path.write_bytes(content)


@pytest.mark.parametrize("way", [Catalog.open, Catalog.open_to_read])
@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda path: path.write_bytes(b"file,shot\n" * 2000), "is not a catalog of framecheck"),
        (lambda path: path.write_bytes(b"abc"), "is not a catalog of framecheck"),
        (another_programs, "but another program's database"),
        (lambda path: path.mkdir(), "no catalog|is a folder"),
        (cut_off, "damaged"),
        (overwritten, "damaged"),
    ],
    ids=["text", "three bytes", "another program's", "a folder", "cut off", "overwritten"],
)
def test_what_is_no_catalog_is_refused_and_left_alone(tmp_path, way, make, told) -> None:
    path = tmp_path / "a.sqlite"
    make(path)
    before = path.read_bytes() if path.is_file() else b""
    with pytest.raises(CatalogError, match=told) as caught:
        way(path).check()
    assert str(path) in str(caught.value)
    assert not path.is_file() or path.read_bytes() == before


def test_reading_makes_no_catalog(tmp_path) -> None:
    with pytest.raises(CatalogError, match="there is no catalog at"):
        Catalog.open_to_read(tmp_path / "a.sqlite")
    (tmp_path / "empty.sqlite").touch()
    with pytest.raises(CatalogError, match="is empty"):
        Catalog.open_to_read(tmp_path / "empty.sqlite")
    assert [path.name for path in tmp_path.iterdir()] == ["empty.sqlite"]
    assert (tmp_path / "empty.sqlite").stat().st_size == 0


def test_an_older_version_that_may_only_be_read_says_so(old, monkeypatch) -> None:
    monkeypatch.setattr("framecheck.catalog.store.os.access", lambda path, mode: False)
    with pytest.raises(CatalogError, match="must be brought to"):
        Catalog.open_to_read(old)


def test_a_wider_layout_adds_columns_and_a_narrower_one_reads_its_own(tmp_path) -> None:
    path = tmp_path / "a.sqlite"
    with Catalog.open(path, layout=LAYOUT) as catalog:
        number = catalog.begin("content", "settings", "clip", "{}")
        catalog.add_shot(number, a_shot(0), [], [])
        catalog.finish(number, a_file_row())
    further = Layout(shots=(*LAYOUT.shots, ("size_2", "text")), files=LAYOUT.files)
    with Catalog.open(path, layout=further) as catalog:
        other = catalog.begin("content", "two vocabularies", "clip", "{}")
        catalog.add_shot(other, a_shot(0, size_2="mid-shot"), [], [])
        assert catalog.rows(other).shots[0]["size_2"] == "mid-shot"
        assert catalog.rows(number).shots[0]["size_2"] is None
        assert "size_2" in catalog.found_columns()
    with Catalog.open(path, layout=LAYOUT) as catalog:
        assert catalog.rows(other).shots == (a_shot(0),)


def test_the_frozen_script_is_what_version_1_made(old, tmp_path, monkeypatch) -> None:
    """The first migration still makes the tables that the script was frozen from."""
    monkeypatch.setattr(schema, "VERSION", 1)
    path = tmp_path / "new.sqlite"
    Catalog.open(path).close()
    tables = ("contents", "places", "settings", "measurements")
    for table in tables:
        columns = f"SELECT name, type, pk FROM pragma_table_info('{table}')"
        assert raw_rows(path, columns) == raw_rows(old, columns)
