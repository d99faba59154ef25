"""What people say: kept by content, shown in all that is read, undone, and measured again."""

import sqlite3

import pytest

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.confirmed import Field, confirmed_words, corrected, flag_parts, size_cells
from framecheck.catalog.corrections import STILL_ANCHOR
from framecheck.catalog.search import FindQuery
from framecheck.errors import CatalogError
from tests.report.catalogs import STILLS, enter_clip, enter_still, open_catalog, some_catalog

MEDIUM = {"size": "medium", "size_abbr": "MS", "vocabulary": "trade"}


@pytest.fixture
def path(tmp_path):
    return some_catalog(tmp_path)


def source_of(catalog, name):
    return next(source for source in catalog.sources() if source.place.name == name)


def still_row(catalog, name):
    return catalog.rows(source_of(catalog, name).measurement).frames[0]


def say(catalog, name, values, anchor=STILL_ANCHOR):
    return catalog.corrections.enter(source_of(catalog, name).content, anchor, values)


def test_a_corrected_still_shows_in_rows_and_searches_with_what_was_measured(path):
    with open_catalog(path) as catalog:
        before = still_row(catalog, "02 knees.jpg")
        assert before["size"] != "medium"
        say(catalog, "02 knees.jpg", {Field.SIZE: MEDIUM, Field.PEOPLE: {"people": 3}})
        after = still_row(catalog, "02 knees.jpg")
        assert (after["size"], after["size_abbr"], after["people"]) == ("medium", "MS", 3)
        assert (after["size_confidence"], after["size_second"]) == (None, "")
        assert after["confirmed"] == f"size (measured {before['size']}); people (measured 1)"
        unchanged = set(before) - {"size", "size_abbr", "people", "size_confidence",
                                   "size_second", "confirmed"}  # fmt: skip
        assert {name: after[name] for name in unchanged} == {
            name: before[name] for name in unchanged
        }
        found = catalog.find(FindQuery(sizes=("MS",), fewest_people=3))
        assert [row["place"].rsplit("/", 1)[-1] for row in found] == ["02 knees.jpg"]
        assert found[0]["confirmed"] == after["confirmed"]
        (one,) = catalog.corrections.confirmed()
        assert one.measured["size"] == before["size"]
        assert one.measured["people"] == 1
        assert catalog.check() == ()


def test_confirming_what_was_measured_changes_nothing_but_says_so(path):
    with open_catalog(path) as catalog:
        before = still_row(catalog, "04 chest.jpg")
        words = {"size": before["size"], "size_abbr": before["size_abbr"], "vocabulary": "trade"}
        parts = list(flag_parts(before["flags"]))
        kind = {"shot_type": before["shot_type"]}
        said = {Field.SIZE: words, Field.FLAGS: {"flags": parts}, Field.SHOT_TYPE: kind}
        say(catalog, "04 chest.jpg", said)
        after = still_row(catalog, "04 chest.jpg")
        assert after.pop("confirmed") == "size; shot type; flags"
        before.pop("confirmed")
        assert after == before


def test_undo_brings_back_what_was_measured_or_said_before(path):
    with open_catalog(path) as catalog:
        before = still_row(catalog, "02 knees.jpg")
        first = say(catalog, "02 knees.jpg", {Field.PEOPLE: {"people": 5}})
        second = say(catalog, "02 knees.jpg", {Field.PEOPLE: {"people": 7}, Field.SIZE: MEDIUM})
        assert still_row(catalog, "02 knees.jpg")["people"] == 7
        content = source_of(catalog, "02 knees.jpg").content
        assert catalog.corrections.take_back(second) == (content, STILL_ANCHOR)
        assert still_row(catalog, "02 knees.jpg")["people"] == 5
        assert still_row(catalog, "02 knees.jpg")["size"] == before["size"]
        assert catalog.corrections.take_back(first) == (content, STILL_ANCHOR)
        assert still_row(catalog, "02 knees.jpg") == before
        assert catalog.corrections.take_back(first) is None
        assert catalog.corrections.confirmed() == ()
        assert catalog._store.all("SELECT * FROM originals") == []


def test_a_new_measurement_of_the_same_content_is_corrected_as_well(path, tmp_path):
    with open_catalog(path) as catalog:
        say(catalog, "02 knees.jpg", {Field.SIZE: MEDIUM, Field.SHOT_TYPE: {"shot_type": "insert"}})
        moved = tmp_path / "elsewhere" / "renamed.jpg"
        moved.parent.mkdir()
        (tmp_path / "media" / "02 knees.jpg").rename(moved)
        enter_still(catalog, moved, STILLS["01 wide.jpg"], fingerprint="new settings")
        row = still_row(catalog, "renamed.jpg")
        assert row["size"] == "medium"
        assert row["shot_type"] == "insert"
        assert row["confirmed"] == "size (measured wide); shot type (measured single)"
        assert [one.measured["size"] for one in catalog.corrections.confirmed()] == ["wide"]


def test_the_same_measurement_begun_afresh_is_corrected_as_well(path):
    with open_catalog(path) as catalog:
        say(catalog, "02 knees.jpg", {Field.PEOPLE: {"people": 9}})
        source = source_of(catalog, "02 knees.jpg")
        row, people = (
            catalog.rows(source.measurement).frames[0],
            catalog.rows(source.measurement).people,
        )
        number = catalog.begin(source.content, source.fingerprint, "still", "", afresh=True)
        assert number == source.measurement
        catalog.add_shot(number, None, [{**row, "people": 2, "confirmed": ""}], people)
        assert still_row(catalog, "02 knees.jpg")["people"] == 9
        assert still_row(catalog, "02 knees.jpg")["confirmed"] == "people (measured 2)"


def test_a_size_of_another_vocabulary_is_left_alone(path):
    with open_catalog(path) as catalog:
        say(catalog, "02 knees.jpg", {Field.SIZE: {**MEDIUM, "vocabulary": "nine-class"}})
        before = still_row(catalog, "02 knees.jpg")
        assert before["size"] != "medium"
        assert before["confirmed"] == "size"


def test_shots_are_found_again_by_the_frame_that_was_looked_at(path, tmp_path):
    """Cut in another way, the shot that holds that frame has the correction, and no other."""
    name = "A001 take 1.mp4"
    with open_catalog(path) as catalog:
        say(catalog, name, {Field.SIZE: MEDIUM, Field.FLAGS: {"flags": ["knee"]}}, anchor=42)
        shots = catalog.rows(source_of(catalog, name).measurement).shots
        assert [shot["size"] == "medium" and shot["flags"] == "knee" for shot in shots] == [
            False,
            True,
            False,
        ]
        assert shots[1]["confirmed"].startswith("size (measured ") or shots[1][
            "confirmed"
        ].startswith("size; ")
        wide = STILLS["01 wide.jpg"]
        enter_clip(catalog, tmp_path / "media" / name, [(40, wide), (32, wide)], fingerprint="new")
        again = catalog.rows(source_of(catalog, name).measurement).shots
        assert [(shot["size"], shot["flags"]) for shot in again] == [
            ("wide", ""),
            ("medium", "knee"),
        ]
        found = catalog.find(FindQuery(flags=("knee",), sizes=("medium",)))
        assert [row["shot"] for row in found if row["kind"] == "clip"] == [1]


def test_another_subject_swaps_people_and_takes_over_their_readings(path):
    with open_catalog(path) as catalog:
        source = source_of(catalog, "03 two.png")
        rows = catalog.rows(source.measurement)
        frame, people = rows.frames[0], rows.people
        other = people[1]
        point = {"x": other["nose_x_px"], "y": other["nose_y_px"]}
        act = say(catalog, "03 two.png", {Field.SUBJECT: {**point, **MEDIUM}})
        after = catalog.rows(source.measurement)
        assert [(row["person"], row["role"]) for row in after.people] == [
            (1, other["role"]), (0, "subject")]  # fmt: skip
        for name in ("crop_level", "headroom_frac", "crop_error"):
            assert after.frames[0][name] == other[name] != frame[name] or other[name] == frame[name]
        assert after.frames[0]["confirmed"] == "subject (measured another person)"
        catalog.corrections.take_back(act)
        assert catalog.rows(source.measurement) == rows


def test_a_subject_confirmed_as_measured_changes_no_reading(path):
    with open_catalog(path) as catalog:
        source = source_of(catalog, "03 two.png")
        rows = catalog.rows(source.measurement)
        main = rows.people[0]
        say(
            catalog, "03 two.png", {Field.SUBJECT: {"x": main["nose_x_px"], "y": main["nose_y_px"]}}
        )
        after = catalog.rows(source.measurement)
        assert after.people == rows.people
        assert after.frames[0] == {**rows.frames[0], "confirmed": "subject"}


def test_an_unknown_content_and_nothing_said_are_refused(path):
    with open_catalog(path) as catalog:
        with pytest.raises(ValueError, match="knows no content"):
            catalog.corrections.enter("nobody", STILL_ANCHOR, {Field.PEOPLE: {"people": 1}})
        with pytest.raises(ValueError, match="at least one field"):
            say(catalog, "02 knees.jpg", {})
        assert catalog._store.all("SELECT * FROM corrections") == []


def test_a_catalog_that_may_only_be_read_is_refused(path):
    path.chmod(0o444)
    with Catalog.open_to_read(path) as catalog:
        catalog._store.read_only = True
        with pytest.raises(CatalogError, match="may only be read"):
            catalog.corrections.check_writable()


def test_what_was_said_is_in_the_file_at_once(path):
    with open_catalog(path) as catalog:
        say(catalog, "02 knees.jpg", {Field.PEOPLE: {"people": 4}})
        raw = sqlite3.connect(path)
        try:
            said = raw.execute("SELECT field, value, withdrawn FROM corrections").fetchall()
        finally:
            raw.close()
    assert said == [("people", '{"people": 4}', 0)]


FLAGS = "knee(bottom,-0.041,high); p1:chin(top,+0.012,low)"


@pytest.mark.parametrize(
    ("wanted", "text", "advice"),
    [
        (["knee", "p1:chin"], FLAGS, "go wider"),
        (["knee"], "knee(bottom,-0.041,high)", "go wider"),
        (["chin"], "chin", ""),
        ([], "", ""),
        (["knee", "ankle"], "knee(bottom,-0.041,high); ankle", "go wider"),
    ],
)
def test_flags_that_stand_keep_their_measures_and_others_stand_bare(wanted, text, advice):
    row = {"flags": FLAGS, "advice": "go wider", "size": "x"}
    changes = corrected({Field.FLAGS: {"flags": wanted}}, row, row, [])
    assert changes.named.get("flags", FLAGS) == text
    assert changes.named.get("advice", "go wider") == advice


def test_a_second_vocabulary_has_its_own_columns():
    row = {"size": "medium", "size_abbr": "MS", "vocabulary": "trade", "size_2": "PM",
           "size_abbr_2": "PM", "vocabulary_2": "mine", "size_confidence_2": 0.4}  # fmt: skip
    cells = size_cells({"size": "PA", "size_abbr": "PA", "vocabulary": "mine"}, row)
    assert cells == {
        "size_2": "PA",
        "size_abbr_2": "PA",
        "size_confidence_2": None,
        "vocabulary_2": "mine",
    }


def test_words_of_what_is_confirmed():
    values = {Field.FLAGS: {}, Field.SIZE: {}}
    measured = {"size": "medium", "flags": "knee(bottom,+0.01,high)"}
    assert (
        confirmed_words(values, measured, {"size": "medium", "flags": ""})
        == "size; flags (measured knee)"
    )
    assert confirmed_words(values, {"size": None, "flags": ""}, {"size": "full", "flags": ""}) == (
        "size (measured nothing); flags"
    )
