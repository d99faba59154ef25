"""Several entries with one flush to the disk: each is whole, and none is lost that was whole."""

import pytest

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.measurements import State
from framecheck.errors import CatalogError
from tests.catalog.builders import LAYOUT, a_file_row, a_frame, a_shot


def enter_many(catalog, number):
    with catalog.together():
        for shot in range(1, 200):
            catalog.add_shot(number, a_shot(shot, notes="n" * 500), [a_frame(shot)], [])


def begin(catalog):
    return catalog.begin("content", "settings", "clip", "{}")


def test_others_see_all_of_it_at_the_end_and_nothing_before(catalog, tmp_path):
    number = begin(catalog)
    with Catalog.open_to_read(tmp_path / "a.sqlite") as other:
        with catalog.together():
            catalog.add_shot(number, a_shot(0), [a_frame(0)], [])
            catalog.add_shot(number, a_shot(1), [a_frame(1)], [])
            catalog.finish(number, a_file_row())
            assert other.shots_done(number) == set()
            assert catalog.shots_done(number) == {0, 1}
        assert other.shots_done(number) == {0, 1}
        assert other.lookup("content", "settings").state is State.MEASURED


def test_an_entry_that_fails_leaves_nothing_behind_and_those_beside_it_stay(catalog):
    number = begin(catalog)
    with catalog.together():
        catalog.add_shot(number, a_shot(0), [a_frame(0)], [])
        with pytest.raises(ValueError, match="unheard_of"):
            catalog.add_shot(number, a_shot(1), [a_frame(1), a_frame(1, 9, unheard_of=1)], [])
        catalog.add_shot(number, a_shot(2), [a_frame(2)], [])
    assert catalog.shots_done(number) == {0, 2}
    assert [row["shot"] for row in catalog.rows(number).frames] == [0, 2]


def test_what_was_whole_when_something_else_goes_wrong_is_kept(catalog):
    number = begin(catalog)

    def enter_one_and_be_interrupted():
        with catalog.together():
            catalog.add_shot(number, a_shot(0), [a_frame(0)], [])
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        enter_one_and_be_interrupted()
    assert catalog.shots_done(number) == {0}
    catalog.add_shot(number, a_shot(1), [a_frame(1)], [])
    assert catalog.shots_done(number) == {0, 1}


def test_a_full_disk_keeps_what_was_there_before_and_the_catalog_usable(tmp_path):
    with Catalog.open(tmp_path / "a.sqlite", layout=LAYOUT) as catalog:
        number = begin(catalog)
        catalog.add_shot(number, a_shot(0), [a_frame(0)], [])
        pages = catalog._store.pragma("page_count")
        catalog._store.pragma(f"max_page_count = {pages + 2}")
        with pytest.raises(CatalogError, match="no space left"):
            enter_many(catalog, number)
        catalog._store.pragma("max_page_count = 1000000")
        done = catalog.shots_done(number)
        assert 0 in done
        assert len(done) < 199
        assert catalog.check() == ()
        with catalog.together():
            catalog.add_shot(number, a_shot(300), [a_frame(300)], [])
        assert 300 in catalog.shots_done(number)
