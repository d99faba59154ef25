"""A study as rows and as one document."""

import json

import pytest

from framecheck.coverage.study import study_sequence
from framecheck.export.cut_columns import CUT_TABLES
from framecheck.export.cut_rows import plain, rows_of_study, scene_document
from framecheck.records.coverage import CutThresholds, Verdict
from framecheck.records.values import NotMeasured
from tests.coverage.builders import ANNE, BERT, a_shot, shown


@pytest.fixture
def scene():
    shots = [
        a_shot(0, shown(ANNE, yaw=25.0, x=0.4), seconds=2.0),
        a_shot(1, shown(BERT, yaw=-25.0, x=0.6, head=0.4), seconds=3.0),
        a_shot(2, shown(ANNE, yaw=25.0, x=0.4), seconds=2.0),
        a_shot(3, seconds=1.0),
    ]
    return study_sequence(shots, CutThresholds(), name="scene"), shots


def test_every_row_has_every_column_in_order(scene) -> None:
    rows = rows_of_study(*scene)
    assert [len(rows[table]) for table in ("cuts", "pairs", "scene")] == [3, 1, 4]
    for table, columns in CUT_TABLES.items():
        for row in rows[table]:
            assert list(row) == [column.name for column in columns]


def test_a_cut_as_a_row(scene) -> None:
    row = rows_of_study(*scene)["cuts"][0]
    assert (row["cut"], row["time_s"], row["from_file"], row["to_file"]) == (
        0, 2.0, "00.jpg", "01.jpg",
    )  # fmt: skip
    assert (row["person_from"], row["person_to"], row["same_person"]) == ("A", "B", "no")
    assert row["size_ratio"] == pytest.approx(1.6)
    assert (row["angle_deg"], row["angle_deg_why"]) == (None, "another person")
    assert row["place_change_wfrac"] == pytest.approx(0.2)
    assert (row["looks_from"], row["looks_to"], row["line_crossed"]) == ("right", "left", "no")
    assert row["line_confidence"] is None


def test_a_cut_to_nobody_says_why(scene) -> None:
    row = rows_of_study(*scene)["cuts"][2]
    assert (row["verdict"], row["same_person"], row["same_confidence"]) == ("not judged", "", None)
    assert (row["size_ratio"], row["size_ratio_why"]) == (None, "nobody to compare")


def test_a_pair_as_a_row(scene) -> None:
    (row,) = rows_of_study(*scene)["pairs"]
    assert (row["shots_one"], row["shots_other"], row["kind"]) == ("0, 2", "1", "internal")
    assert row["size_difference"] == pytest.approx(1.6)
    assert (row["size_matches"], row["closeness_matches"], row["matches"]) == ("no", "yes", "no")
    assert row["advice"] == "take A (shot 0) 60 % tighter"


def test_a_shot_as_a_row(scene) -> None:
    first, *_, last = rows_of_study(*scene)["scene"]
    assert (first["number"], first["start_s"], first["person"], first["looks"]) == (
        0, 0.0, "A", "right",
    )  # fmt: skip
    assert first["closeness_deg"] == pytest.approx(25.0)
    assert first["head_frac"] == pytest.approx(0.25)
    assert (last["head_frac"], last["head_frac_why"]) == (None, "nobody in the picture")


def test_the_document_is_json_and_says_why_a_value_is_missing(scene) -> None:
    study, _ = scene
    document = json.loads(json.dumps(scene_document(study, "9.9")))
    assert (document["framecheck"], document["sequence"]) == ("9.9", "scene")
    assert document["thresholds"]["angle_min_deg"] == 30.0
    assert document["lengths"]["mean_s"] == 2.0
    assert document["lengths"]["log_spread"] is None
    assert document["lengths"]["log_spread_why"] == "the median is not below the mean"
    assert document["sizes"][0]["per_500"] == 375.0
    assert document["pairs"][0]["measures"][0]["name"] == "size"
    assert document["pairs"][0]["matches"] is False
    assert document["line_crossings"] == []


def test_values_that_json_cannot_hold() -> None:
    assert plain((1.23456, float("nan"), Verdict.TOO_SIMILAR, NotMeasured(reason="x"))) == [
        1.2346, None, "too similar", None,
    ]  # fmt: skip
    assert plain({"a": -0.0}) == {"a": 0.0}
