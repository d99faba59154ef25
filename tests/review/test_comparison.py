"""Measured beside confirmed: what is compared, and what cannot be."""

import pytest

from framecheck.catalog.confirmed import Field
from framecheck.catalog.corrections import STILL_ANCHOR
from framecheck.review.comparison import (
    compare_all,
    in_vocabulary,
    pairs_of,
    truth_rows,
    usual_vocabulary,
    worst_sizes,
)
from tests.report.catalogs import STILLS, enter_still, judging, open_catalog, some_catalog

ORDER = [band.name for band in judging().vocabularies[0].bands]


@pytest.fixture
def catalog(tmp_path):
    with open_catalog(some_catalog(tmp_path)) as opened:
        yield opened


def say(catalog, name, values, anchor=STILL_ANCHOR):
    source = next(one for one in catalog.sources() if one.place.name == name)
    catalog.corrections.enter(source.content, anchor, values)


def size(name, vocabulary="trade"):
    return {"size": name, "size_abbr": name[:2], "vocabulary": vocabulary}


def compared(catalog):
    places = {source.content: source.place for source in catalog.sources()}
    return compare_all(catalog.corrections.confirmed(), places)


def test_what_was_measured_is_compared_and_not_what_the_rows_show_now(catalog):
    say(catalog, "02 knees.jpg", {Field.SIZE: size("medium"), Field.FLAGS: {"flags": ["chin"]}})
    say(catalog, "A001 take 1.mp4", {Field.PEOPLE: {"people": 5}}, anchor=42)
    still, shot = compared(catalog)
    assert (still.measured[Field.SIZE], still.confirmed[Field.SIZE]) == ("medium full", "medium")
    assert still.confirmed[Field.FLAGS] == "chin"
    assert (still.shot, still.anchor) == (None, None)
    # this figure: crown at 0.09, stature 1.22, so the bottom edge reads 1 - 0.91 / 1.22
    assert still.reading.crop_level == pytest.approx(1 - 0.91 / 1.22, abs=1e-6)
    assert still.reading.name == "medium"
    assert (shot.shot, shot.anchor) == (1, 42)
    assert pairs_of([shot], Field.PEOPLE) == [("2", "5")]
    rows = truth_rows([still, shot])
    assert [(row["field"], row["agrees"]) for row in rows] == [
        ("size", "no"), ("flags", "no"), ("people", "no")]  # fmt: skip


def test_the_worst_are_those_furthest_off(catalog):
    say(catalog, "02 knees.jpg", {Field.SIZE: size("cowboy")})  # one off
    say(catalog, "04 chest.jpg", {Field.SIZE: size("wide")})  # many off
    say(catalog, "01 wide.jpg", {Field.SIZE: size("wide")})  # agrees
    found = worst_sizes(compared(catalog), ORDER)
    assert [one.file.rsplit("/", 1)[-1] for one in found] == ["04 chest.jpg", "02 knees.jpg"]


def test_a_size_in_words_that_are_not_measured_any_more_is_left_out(catalog, tmp_path):
    say(catalog, "02 knees.jpg", {Field.SIZE: size("medium"), Field.PEOPLE: {"people": 1}})
    path = tmp_path / "media" / "02 knees.jpg"
    enter_still(catalog, path, STILLS["02 knees.jpg"], fingerprint="x", vocabulary="nine-class")
    (one,) = compared(catalog)
    assert set(one.confirmed) == {Field.PEOPLE}
    assert usual_vocabulary([one]) == ""


def test_sizes_of_another_vocabulary_are_kept_apart(catalog):
    say(catalog, "02 knees.jpg", {Field.SIZE: size("medium")})
    say(catalog, "04 chest.jpg", {Field.SIZE: size("wide", "nine-class")})
    both = compared(catalog)
    assert usual_vocabulary(both) == "trade"
    assert len(in_vocabulary(both, "trade")) == 1


def test_another_subject_gives_no_reading_for_borders(catalog):
    source = next(one for one in catalog.sources() if one.place.name == "03 two.png")
    other = catalog.rows(source.measurement).people[1]
    point = {"x": other["nose_x_px"], "y": other["nose_y_px"]}
    say(catalog, "03 two.png", {Field.SUBJECT: point, Field.SIZE: size("cowboy")})
    (one,) = compared(catalog)
    assert one.confirmed[Field.SUBJECT] == "another person"
    assert one.reading is None
