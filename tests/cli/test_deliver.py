"""`framecheck deliver` on results that fakes have measured, and on what it must refuse."""

import csv
import json
from fractions import Fraction

import pytest
from typer.testing import CliRunner

from framecheck.catalog.catalog import CATALOG_NAME
from framecheck.cli.app import app
from framecheck.errors import ConfigError
from framecheck.pipeline.delivery_words import parse_delivery
from tests.cli.results import some_results


def call(*words):
    return CliRunner().invoke(app, ["deliver", *map(str, words)])


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    return some_results(tmp_path_factory.mktemp("my results"))


def rows_of(folder, name="deliveries"):
    with (folder / f"{name}.csv").open(encoding="utf-8", newline="") as source:
        return list(csv.DictReader(source))


def test_every_picture_in_every_frame(results, tmp_path) -> None:
    done = call(results, "--frame", "2.39", "--frame", "9:16", "--out", tmp_path)
    assert done.exit_code == 0, done.stderr
    pictures, shots = rows_of(tmp_path), rows_of(tmp_path, "delivery_shots")
    with (results / "frames.csv").open(encoding="utf-8", newline="") as source:
        measured = list(csv.DictReader(source))
    assert len(pictures) == 2 * len(measured)
    with (results / "shots.csv").open(encoding="utf-8", newline="") as source:
        assert len(shots) == 2 * len(list(csv.DictReader(source)))
    for row in pictures:
        aspect = float(row["w_px"]) / float(row["h_px"])
        wanted = 2.39 if row["delivery"] == "2.39" else 9 / 16
        assert aspect == pytest.approx(wanted, rel=0.04)  # pictures of 90 lines, even sizes
        assert int(row["faces_safe"]) <= int(row["faces_inside"]) <= int(row["faces"])
    assert "2.39" in done.stdout


def test_the_pictures_own_shape_reads_as_it_was_measured(results, tmp_path) -> None:
    with (results / "frames.csv").open(encoding="utf-8", newline="") as source:
        measured = list(csv.DictReader(source))
    shape = f"{measured[0]['picture_w_px']}:{measured[0]['picture_h_px']}"
    assert call(results, "--frame", shape, "--out", tmp_path).exit_code == 0
    found = rows_of(tmp_path)
    compared = 0
    for row, before in zip(found, measured, strict=True):
        if (before["picture_w_px"], before["picture_h_px"]) == tuple(shape.split(":")):
            compared += 1
            assert row["size"] == before["size"]
            assert row["crop_level"] == before["crop_level"]
            assert row["flags"] == before["flags"]
            assert row["people"] == before["people"]
    assert compared >= 3


def test_a_catalog_gives_the_same(results, tmp_path) -> None:
    assert call(results, "--frame", "1:1", "--out", tmp_path / "a").exit_code == 0
    from_catalog = call(results / CATALOG_NAME, "--frame", "1:1", "--out", tmp_path / "b")
    assert from_catalog.exit_code == 0, from_catalog.stderr
    one, other = rows_of(tmp_path / "a"), rows_of(tmp_path / "b")
    names = ("delivery", "shot", "frame", "size", "people", "flags", "faces_inside", "w_px")

    def key(row):
        return [row[name] for name in names]

    assert sorted(map(key, one)) == sorted(map(key, other))


@pytest.mark.parametrize("version", [1, 2])
def test_lists_there_and_back(results, tmp_path, version) -> None:
    path = tmp_path / "frames of mine.fdl"
    first = call(
        results, "--frame", "2.39", "--frame", "9:16,protect=5%", "--out", tmp_path / "a",
        "--write-fdl", path, "--fdl-version", version, "--move",
    )  # fmt: skip
    assert first.exit_code == 0, first.stderr
    written = json.loads(path.read_text("utf-8"))
    assert written["version"] == {"major": version, "minor": 2 - version}
    second = call(results, "--fdl", path, "--out", tmp_path / "b")
    assert second.exit_code == 0, second.stderr
    one, other = rows_of(tmp_path / "a"), rows_of(tmp_path / "b")
    names = ("file", "shot", "frame", "delivery", "size", "x_px", "y_px", "w_px", "h_px", "flags")
    assert [[row[name] for name in names] for row in other] == [
        [row[name] for name in names] for row in one
    ]


def test_a_moved_frame_costs_what_was_said_of_its_best_place(results, tmp_path) -> None:
    words = ("--frame", "9:16,right=-0.4", "--frame", "1:1", "--move")
    done = call(results, *words, "--out", tmp_path)
    assert done.exit_code == 0, done.stderr
    rows = rows_of(tmp_path)
    assert {row["shot"] for row in rows} > {"", "0", "1"}
    for row in rows:
        assert row["asked_joint_cost"] == row["best_joint_cost"]
        assert int(row["best_faces_out"]) == int(row["faces"]) - int(row["faces_inside"])
    off = [row for row in rows if row["delivery"].startswith("9:16") and row["people"] != "0"]
    assert off
    assert all(float(row["best_x_frac"]) > -0.3 for row in off)  # -0.4 stops at -0.34


def test_results_of_an_earlier_version_are_not_judged(results, tmp_path) -> None:
    for path in results.glob("*.csv"):
        (tmp_path / path.name).write_bytes(path.read_bytes())
    with (results / "people.csv").open(encoding="utf-8", newline="") as source:
        people = list(csv.DictReader(source))
    with (tmp_path / "people.csv").open("w", encoding="utf-8", newline="") as target:
        names = [name for name in people[0] if name != "ruler_px"]
        writer = csv.DictWriter(target, names, extrasaction="ignore")
        writer.writeheader()
        writer.writerows(people)
    done = call(tmp_path, "--frame", "1:1", "--out", tmp_path / "out")
    assert done.exit_code == 2
    assert "measure again" in done.stderr
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ([], "say which frames are delivered"),
        (["--frame", "wide"], "looks like 2.39 or 16:9"),
        (["--frame", "2.39", "--frame", "2.39"], "named twice"),
        (["--frame", "9:16,left=1"], "right=, down= and protect="),
        (["--frame", "9:16,right=x"], "is no number"),
        (["--frame", "9:16,protect=100%"], "protection under 1"),
        (["--frame", "1:1", "--format", "xls"], "unknown format"),
        (["--fdl", "absent.fdl"], "cannot read"),
        (["--frame", "1:1", "--vocabulary", "none"], "no vocabulary"),
    ],
)
def test_wrong_words_are_told(results, tmp_path, words, told) -> None:
    done = call(results, *words, "--out", tmp_path)
    assert done.exit_code == 2
    assert told in done.stderr
    assert done.stderr.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_what_holds_no_results(tmp_path) -> None:
    for source in (tmp_path, tmp_path / "absent"):
        done = call(source, "--frame", "1:1", "--out", tmp_path)
        assert done.exit_code == 2
    (tmp_path / "files.csv").write_text("not,a\ntable")
    for name in ("frames", "people", "shots"):
        (tmp_path / f"{name}.csv").write_text("x\n1,2\n")
    done = call(tmp_path, "--frame", "1:1")
    assert done.exit_code == 3
    assert "is no table of framecheck" in done.stderr


def test_words_for_frames() -> None:
    delivery = parse_delivery("16:9,right=-2.5%,down=0.1,protect=5%")
    assert delivery.aspect == Fraction(16, 9)
    assert delivery.offset_x_frac == -0.025
    assert delivery.offset_y_frac == 0.1
    assert delivery.protection == Fraction(1, 20)
    assert parse_delivery("2.39").aspect == Fraction(239, 100)
    wrongs = ("", ",", "16:9,", "16:9,right", "16:9,right=1/0", "1:100", "16:9,protect=-5%")
    for wrong in (*wrongs, "16:9,right=1e99999999", "16:9,right=2"):
        with pytest.raises(ConfigError):
            parse_delivery(wrong)
