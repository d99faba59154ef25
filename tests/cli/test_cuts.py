"""`framecheck cuts`: sources, options, tables and errors."""

import csv
import json

import pytest
from typer.testing import CliRunner

from framecheck.catalog.catalog import Catalog
from framecheck.cli.app import app
from tests.pipeline.fakes import FAKE_TOOLS
from tests.pipeline.runs import write_clip


@pytest.fixture
def stills(tmp_path, monkeypatch):
    """Three figures of 10, 11 and 50 tenths of the picture height."""
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "stills"
    folder.mkdir()
    for name, tenths in (("a1", "10"), ("a2", "11"), ("a3", "50")):
        (folder / f"{name}.fake").write_text(tenths, "utf-8")
    return folder


def call(*words):
    return CliRunner().invoke(app, ["cuts", *map(str, words)], obj=FAKE_TOOLS)


def rows(folder, table):
    with (folder / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_a_folder_of_stills_is_measured_and_studied(stills, tmp_path) -> None:
    result = call(stills, "--out", "out", "--workers", 1)
    assert result.exit_code == 0, result.output
    cuts = rows(tmp_path / "out", "cuts")
    assert [row["to_file"].rpartition("/")[2] for row in cuts] == ["a2.fake", "a3.fake"]
    assert [float(row["size_ratio"]) for row in cuts] == pytest.approx([1.1, 50 / 11], abs=0.02)
    assert [row["verdict"] for row in cuts] == ["comfortable", "very large"]
    assert cuts[0]["same_person"] == ""  # figures without colours
    assert "stills: 3 shots, 2 cuts" in result.stdout
    assert "1 very large" in result.stdout
    scene = json.loads((tmp_path / "out" / "scene.json").read_text("utf-8"))
    assert scene["shots"] == 3
    assert scene["thresholds"]["size_ratio_min"] == 1.2
    assert scene["lengths"]["mean_s"] is None
    assert scene["lengths"]["mean_s_why"] == "the shots have no lengths"
    assert len(rows(tmp_path / "out", "scene")) == 3


def test_no_line_is_wider_than_80_columns(stills) -> None:
    (stills / ("long " * 20 + "name.fake")).write_text("30", "utf-8")
    result = call(stills, "--out", "out", "--workers", 1, "--explain")
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert "\x1b" not in result.stdout


def test_a_narrow_terminal_leaves_the_names_out(stills, monkeypatch) -> None:
    monkeypatch.setenv("COLUMNS", "50")
    result = call(stills, "--out", "out", "--workers", 1, "--explain")
    lines = result.stdout.splitlines()
    assert max(map(len, lines[:-1])) <= 50  # the last one names the folder
    assert "a1" not in next(line for line in lines if "very large" in line and " x " in line)


def test_a_results_folder_is_studied_again_at_once(stills, tmp_path) -> None:
    call(stills, "--out", "out", "--workers", 1)
    again = call("out", "--large", 10)
    assert again.exit_code == 0, again.output
    assert [row["verdict"] for row in rows(tmp_path / "out", "cuts")] == ["comfortable"] * 2
    assert "very large from 10 times" in " ".join(again.stdout.split())
    with Catalog.open_to_read(tmp_path / "out" / "framecheck.sqlite") as catalog:
        kept = catalog.sequences()
    assert [len(study.cuts) for study in kept] == [2, 2]
    assert json.loads(kept[0].scene_json)["thresholds"]["size_ratio_large"] == 10


def test_a_clip_is_studied_by_its_shots(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    clip = write_clip(tmp_path / "clip.clip", [[48, 10, ""], [24, 30, ""], [72, 31, ""]])
    result = call(clip, "--out", "out", "--workers", 1)
    assert result.exit_code == 0, result.output
    cuts = rows(tmp_path / "out", "cuts")
    assert [row["time_s"] for row in cuts] == ["2.000", "3.000"]
    assert [row["from_file_shot"] for row in cuts] == ["0", "1"]
    scene = rows(tmp_path / "out", "scene")
    assert [row["duration_s"] for row in scene] == ["2.000", "1.000", "3.000"]
    assert "3 shots in 6.0 s: average 2.0 s, median 2.0 s" in result.stdout


def test_a_list_gives_the_order(stills, tmp_path) -> None:
    (tmp_path / "cut.txt").write_text("stills/a3.fake\nstills/a1.fake\nstills/a3.fake\n", "utf-8")
    result = call("cut.txt", "--out", "out", "--workers", 1)
    assert result.exit_code == 0, result.output
    cuts = rows(tmp_path / "out", "cuts")
    assert [float(row["size_ratio"]) for row in cuts] == pytest.approx([0.2, 5.0], abs=0.02)


def test_the_table_of_shots_is_a_list_too(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    clip = write_clip(tmp_path / "clip.clip", [[48, 10, ""], [24, 30, ""]])
    call(clip, "--out", "out", "--workers", 1)
    lines = (tmp_path / "out" / "shots.csv").read_text("utf-8").splitlines()
    (tmp_path / "turned.csv").write_text("\n".join([lines[0], lines[2], lines[1]]), "utf-8")
    result = call("turned.csv", "--out", "out2", "--workers", 1)
    assert result.exit_code == 0, result.output
    (cut,) = rows(tmp_path / "out2", "cuts")
    assert (cut["from_file_shot"], cut["to_file_shot"]) == ("1", "0")
    assert float(cut["size_ratio"]) == pytest.approx(1 / 3, abs=0.01)


def test_shots_with_nobody_and_one_shot_alone(stills, tmp_path) -> None:
    (stills / "a2b.fake").write_text("0", "utf-8")
    result = call(stills, "--out", "out", "--workers", 1)
    assert result.exit_code == 0
    assert [row["verdict"] for row in rows(tmp_path / "out", "cuts")] == [
        "comfortable", "not judged", "not judged",
    ]  # fmt: skip
    alone = call(stills / "a1.fake", "--out", "one", "--workers", 1)
    assert alone.exit_code == 0
    assert "1 shot, 0 cuts" in alone.stdout
    assert "no cut to judge" in alone.stdout
    assert rows(tmp_path / "one", "cuts") == []


def test_explain_says_convention_and_source(stills) -> None:
    plain = call(stills, "--out", "out", "--workers", 1).stdout
    told = " ".join(call("out", "--explain").stdout.split())
    for word in ("Measured:", "Convention:", "Try:", "30-degree rule", "common practice"):
        assert word in told
    assert "Convention:" not in plain


def test_cuts_to_look_at_decide_the_exit_code_only_when_asked(stills) -> None:
    assert call(stills, "--out", "out", "--workers", 1).exit_code == 0
    assert call("out", "--fail-on-cuts").exit_code == 0  # nobody is known to be the same


def test_a_threshold_file_and_a_pair(stills, tmp_path) -> None:
    (tmp_path / "mine.toml").write_text("size_ratio_large = 1.05\n", "utf-8")
    result = call(stills, "--out", "out", "--workers", 1, "--thresholds", "mine.toml",
                  "--size-ratio", 1.02, "--pair", "0,2")  # fmt: skip
    assert result.exit_code == 0, result.output
    assert [row["verdict"] for row in rows(tmp_path / "out", "cuts")] == ["very large"] * 2
    (pair,) = rows(tmp_path / "out", "pairs")
    assert (pair["named"], pair["matches"], pair["shots_other"]) == ("yes", "no", "2")
    assert float(pair["size_difference"]) == pytest.approx(5.0, abs=0.02)
    assert pair["advice"].startswith("take ? (shot 0) 400 % tighter")


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("stills",), "name a folder for the results: --out FOLDER"),
        (("stills", "--out", "out", "--pair", "1"), "--pair takes two numbers"),
        (("stills", "--out", "out", "--pair", "2,2"), "--pair takes two numbers"),
        (("stills", "--out", "out", "--pair", "0,9"), "there is no shot 9; the last one is 2"),
        (("stills", "--out", "out", "--size-ratio", "0.5"), "size_ratio_min must be 1 or more"),
        (("stills", "--out", "out", "--thresholds", "gone.toml"), "cannot read gone.toml"),
        (("stills", "--out", "out", "--format", "xml"), "unknown format 'xml'"),
        (("stills", "--out", "out", "--file", "a*"), "--file chooses within a catalog"),
        (("gone.fake", "--out", "out"), "gone.fake: no such file"),
        (("list.txt", "--out", "out"), "names files that are not there: x.jpg (line 1)"),
        (("deep.otio", "--out", "out"), "nested too deep"),
        (("bad.fake", "--out", "out"), "could be measured; files.csv says why"),
    ],
)
def test_errors_are_one_line_that_helps(stills, tmp_path, words, said) -> None:
    (tmp_path / "list.txt").write_text("x.jpg\n", "utf-8")
    (tmp_path / "deep.otio").write_text("[" * 5000, "utf-8")
    (tmp_path / "bad.fake").write_text("torn", "utf-8")
    result = call(*words, *(() if "--out" not in words else ("--workers", 1)), "--quiet")
    assert result.exit_code == 2, result.output
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_a_catalog_with_several_clips_asks_which(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("one", "two"):
        write_clip(tmp_path / f"{name}.clip", [[24, 10, name], [24, 30 + len(name), ""]])
    measured = CliRunner().invoke(
        app, ["measure", "one.clip", "two.clip", "--out", "out", "--workers", "1"],
        obj=FAKE_TOOLS,
    )  # fmt: skip
    assert measured.exit_code == 0, measured.output
    result = call("out")
    assert result.exit_code == 2
    assert "holds several sequences: one.clip, two.clip; choose with --file" in (result.stderr)
    assert call("out", "--file", "TWO*").exit_code == 0
    assert "no measured file is called 'x*'" in call("out", "--file", "x*").stderr
