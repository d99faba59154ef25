"""Studies of sequences on the page: shots by their entries, every name a column of the tables."""

from pathlib import Path

import pytest

from framecheck.catalog.sequences import SequenceRows
from framecheck.export.cut_columns import CUT_COLUMNS, PAIR_COLUMNS, PAIR_MEASURES, SCENE_COLUMNS
from framecheck.report.page import study_json as module
from framecheck.report.page.entries import gather_entries
from framecheck.report.page.study_json import study_json
from tests.report.catalogs import open_catalog, some_catalog


@pytest.fixture(scope="module")
def entries(tmp_path_factory):
    with open_catalog(some_catalog(tmp_path_factory.mktemp("study"))) as catalog:
        return gather_entries(catalog)


def scene_row(number, file, shot=None):
    return {"number": number, "file": file, "shot": shot, "start_s": None, "duration_s": 2.0,
            "size": "medium", "size_abbr": "MS", "person": "A", "looks": "left",
            "shot_type": "single"}  # fmt: skip


def a_study(scene, cuts=(), pairs=()):
    return SequenceRows(
        source="s", name="a \u202ename", scene_json="{}", cuts=cuts, pairs=pairs, scene=scene
    )


def test_what_the_page_reads_are_columns_of_the_tables():
    cuts, pairs, scene = (
        {column.name for column in columns}
        for columns in (CUT_COLUMNS, PAIR_COLUMNS, SCENE_COLUMNS)
    )
    assert {*module._CUT_WORDS, *module._CUT_NUMBERS, "cut"} <= cuts
    assert {*module._PAIR_WORDS, "shots_one", "shots_other"} <= pairs
    for stem, *_ in PAIR_MEASURES:
        assert {f"{stem}_{side}" for side in ("one", "other", "difference", "matches")} <= pairs
    assert set(scene_row(0, "a")) <= scene


def test_shots_are_found_by_the_longest_agreement_of_their_names(entries):
    place = entries[0].source.place.parent
    told = study_json(
        a_study([
            scene_row(0, "media/04 chest.jpg"), scene_row(1, str(place / "A001 take 1.mp4"), 2),
            scene_row(2, "elsewhere.mov", 0), scene_row(3, "A001 take 1.mp4", 9),
        ]),
        entries,
    )  # fmt: skip
    by_key = {entry.key: entry for entry in entries}
    keys = [shot["key"] for shot in told["shots"]]
    assert by_key[keys[0]].source.place.name == "04 chest.jpg"
    assert by_key[keys[1]].row["shot"] == 2
    assert keys[2:] == [None, None]
    assert told["name"] == "a \\u202ename"


def test_cuts_and_pairs_keep_their_figures(entries):
    cut = {
        "cut": 0, "verdict": "too similar", "why": "size changes by 4 %", "advice": "go nearer",
        "line_crossed": "no", "line_note": "", "size_ratio": 1.04, "angle_deg": None,
    }  # fmt: skip
    pair = {"person_one": "A", "person_other": "B", "kind": "internal", "matches": "no",
            "shots_one": "1, 3", "shots_other": "0", "size_one": 0.2, "size_other": 0.3,
            "size_difference": 1.5, "size_matches": "no", "advice": "wider"}  # fmt: skip
    scene = [scene_row(0, "04 chest.jpg"), scene_row(1, "02 knees.jpg")]
    found = {**pair, "named": "no", "pair": 7}  # the same pair, named by the user and found
    told = study_json(a_study(scene, [cut], [pair, found, {**pair, "kind": "external"}]), entries)
    assert [one["kind"] for one in told["pairs"]] == ["internal", "external"]
    assert told["cuts"][0]["size_ratio"] == 1.04
    assert told["cuts"][0]["verdict"] == "too similar"
    one = told["pairs"][0]
    assert (one["one"], one["other"]) == (told["shots"][1]["key"], told["shots"][0]["key"])
    size = next(measure for measure in one["measures"] if measure["name"] == "size")
    assert (size["one"], size["other"], size["difference"], size["matches"]) == (
        0.2,
        0.3,
        1.5,
        "no",
    )


def test_names_alike_in_two_folders_are_told_apart(entries):
    other = Path("/another/media/04 chest.jpg")
    assert other.name == "04 chest.jpg"
    import dataclasses

    still = next(entry for entry in entries if entry.source.place.name == "04 chest.jpg")
    source = dataclasses.replace(still.source, place=other, content="other")
    twin = dataclasses.replace(still, source=source, key="twin")
    scene = [scene_row(0, "another/media/04 chest.jpg"), scene_row(1, str(still.source.place))]
    told = study_json(a_study(scene), [still, twin])
    assert [shot["key"] for shot in told["shots"]] == ["twin", still.key]
