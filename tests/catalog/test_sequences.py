"""Studies of sequences in the catalog."""

import sqlite3

import pytest

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.layout import Layout
from framecheck.catalog.schema import VERSION
from framecheck.catalog.sequences import SequenceRows
from framecheck.errors import CatalogError
from tests.catalog.builders import LAYOUT, a_person, a_shot, lay_down, measure, note
from tests.catalog.test_schema import VERSION_1

STUDIES = Layout(
    cuts=(("cut", "whole number"), ("verdict", "text"), ("size_ratio", "number")),
    pairs=(("pair", "whole number"), ("kind", "text")),
    scene=(("number", "whole number"), ("size", "text")),
)


def a_study(source="/rushes/a.mov", verdict="comfortable"):
    return SequenceRows(
        source=source,
        name="a.mov",
        scene_json='{"shots": 2}',
        cuts=({"cut": 0, "verdict": verdict, "size_ratio": 1.25},),
        pairs=(),
        scene=({"number": 0, "size": "medium"}, {"number": 1, "size": "close-up"}),
    )


@pytest.fixture
def path(tmp_path):
    return tmp_path / "a.sqlite"


def test_a_study_comes_back_as_it_went_in(path) -> None:
    with Catalog.open(path, layout=STUDIES) as catalog:
        catalog.enter_sequence(a_study())
    with Catalog.open_to_read(path) as catalog:
        assert catalog.sequences() == (a_study(),)


def test_a_new_study_of_the_same_source_takes_the_place_of_the_old(path) -> None:
    with Catalog.open(path, layout=STUDIES) as catalog:
        catalog.enter_sequence(a_study())
        catalog.enter_sequence(a_study(source="/rushes/b.mov"))
        catalog.enter_sequence(a_study(verdict="too similar"))
        kept = catalog.sequences()
    assert [study.source for study in kept] == ["/rushes/a.mov", "/rushes/b.mov"]
    assert kept[0].cuts[0]["verdict"] == "too similar"
    raw = sqlite3.connect(path)
    assert raw.execute("SELECT count(*) FROM cuts").fetchone() == (2,)
    raw.close()


def test_a_row_with_an_unknown_column_enters_nothing(path) -> None:
    wrong = SequenceRows(
        source="x", name="x", scene_json="{}", cuts=({"other": 1},), pairs=(), scene=()
    )
    with Catalog.open(path, layout=STUDIES) as catalog:
        with pytest.raises(ValueError, match="no column 'other'"):
            catalog.enter_sequence(wrong)
        assert catalog.sequences() == ()


def test_an_older_catalog_learns_to_keep_studies(tmp_path) -> None:
    old = tmp_path / "old.sqlite"
    with sqlite3.connect(old) as raw:
        raw.executescript(VERSION_1)
    raw.close()
    with Catalog.open(old, layout=STUDIES) as catalog:
        catalog.enter_sequence(a_study())
        assert catalog.check() == ()
        assert len(catalog.sequences()) == 1
    assert VERSION >= 3


def test_a_catalog_that_may_only_be_read_keeps_nothing(path) -> None:
    Catalog.open(path, layout=STUDIES).close()
    path.chmod(0o444)
    path.parent.chmod(0o555)
    try:
        with Catalog.open_to_read(path) as catalog:
            if not catalog._store.read_only:
                pytest.skip("this user may write everywhere")
            with pytest.raises(CatalogError, match="may only be read"):
                catalog.enter_sequence(a_study())
    finally:
        path.parent.chmod(0o755)


def test_rows_of_several_measurements_come_by_shot(path, tmp_path) -> None:
    wanted = {
        "shots": ("shot", "size", "gone"), "frames": ("frame",), "people": ("person", "facing"),
    }  # fmt: skip
    clip = lay_down(tmp_path, "a.mov", b"one")
    with Catalog.open(path, layout=LAYOUT) as catalog:
        shots = [(a_shot(0), [a_person()]), (a_shot(1, size="wide"), [a_person(), a_person(1)])]
        number = measure(catalog, clip, shots)
        other = measure(catalog, lay_down(tmp_path, "b.mov", b"two"), [(a_shot(0), [])])
        found = catalog.read_shots([number, other, number], wanted)
        assert note(catalog, clip)
    assert sorted(found) == sorted({number, other})
    assert found[number][1].shot == {"shot": 1, "size": "wide"}
    assert found[number][1].frames == [{"frame": a_shot(1)["frame"]}]
    assert [row["person"] for row in found[number][1].people] == [0, 1]
    assert found[other][0].people == []
