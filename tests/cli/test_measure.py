"""`framecheck measure`: options, summary, exit codes."""

from fractions import Fraction

import pytest
from typer.testing import CliRunner

from framecheck.cli.app import app
from framecheck.cli.measure import parse_rate
from tests.pipeline.fakes import FAKE_TOOLS
from tests.pipeline.runs import write_clip


@pytest.fixture
def stills(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    folder = tmp_path / "stills"
    folder.mkdir()
    (folder / "a.fake").write_text("22", "utf-8")
    (folder / "empty.fake").write_text("0", "utf-8")
    return folder


def call(*words):
    return CliRunner().invoke(app, ["measure", *map(str, words)], obj=FAKE_TOOLS)


def test_the_summary_and_the_tables(stills, tmp_path):
    result = call(stills, "--out", "out", "--workers", 1)
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    assert lines[0].split() == ["picture", "size", "cut", "air", "people"]
    # A figure of 2.2 picture heights with its crown at 0.1 is cut at 1 - 0.9 / 2.2 = 0.59.
    assert lines[1].endswith("0.59   10 %  1 single")
    assert lines[1].startswith("a.fake ")
    assert "empty.fake" in result.stdout
    assert "2 measured" in result.stdout
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == [
        "files.csv",
        "framecheck.sqlite",
        "frames.csv",
        "people.csv",
        "shots.csv",
    ]


def test_no_line_of_the_summary_is_wider_than_80_columns(stills):
    (stills / ("long " * 20 + "name.fake")).write_text("10", "utf-8")
    result = call(stills, "--out", "out", "--workers", 1)
    assert max(map(len, result.stdout.splitlines())) <= 80
    assert "\x1b" not in result.stdout


def test_control_characters_in_a_name_do_not_reach_the_terminal(stills):
    (stills / "a\x1b[2Jb\n.fake").write_text("22", "utf-8")
    result = call(stills, "--out", "out", "--workers", 1)
    assert "\x1b" not in result.stdout
    assert "a\\x1b[2Jb\\n.fake" in result.stdout


def test_quiet_says_nothing(stills):
    result = call(stills, "--out", "out", "--quiet", "--workers", 1)
    assert (result.exit_code, result.output) == (0, "")


def test_flags_decide_the_exit_code_only_when_asked(stills):
    # one picture height tall from 0.1 down: cut at 0.1, on the border of the ankle's zone
    (stills / "a.fake").write_text("10", "utf-8")
    plain = call(stills, "--out", "out", "--workers", 1)
    assert plain.exit_code == 0
    assert "    ! ankle at the bottom edge (" in plain.stdout
    asked = call(stills, "--out", "out", "--workers", 1, "--fail-on-flags")
    assert asked.exit_code == 1
    (stills / "a.fake").unlink()
    assert call(stills, "--out", "out", "--workers", 1, "--fail-on-flags").exit_code == 0


def test_a_failed_file_gives_3_and_is_named_with_its_reason(stills):
    (stills / "torn.fake").write_text("torn", "utf-8")
    result = call(stills, "--out", "out", "--workers", 1, "--fail-on-flags")
    assert result.exit_code == 3
    assert "failed: torn.fake: the data ends too early (reading)" in result.stdout
    assert "1 failed" in result.stdout


def test_the_time_limit_reaches_the_workers(stills):
    (stills / "slow.fake").write_text("slow 50", "utf-8")
    result = call(stills, "--out", "out", "--workers", 1, "--time-limit", 1)
    assert result.exit_code == 3
    assert "took longer than 1 s" in result.stdout


def test_a_second_run_says_what_it_took_over(stills):
    call(stills, "--out", "out", "--workers", 1)
    result = call(stills, "--out", "out", "--workers", 1)
    assert "2 measured (2 of them in an earlier run)" in " ".join(result.stdout.split())


def test_two_vocabularies_fill_their_own_columns(stills, tmp_path):
    names = ["--vocabulary", "trade", "--vocabulary", "nine-class"]
    assert call(stills, "--out", "out", "--workers", 1, *names).exit_code == 0
    header = (tmp_path / "out" / "frames.csv").read_text("utf-8").splitlines()[0].split(",")
    assert {"vocabulary", "size_2", "vocabulary_2"} <= set(header)


def test_overlays_are_named_in_the_files_table(stills, tmp_path):
    assert call(stills, "--out", "out", "--workers", 1, "--overlay").exit_code == 0
    rows = (tmp_path / "out" / "files.csv").read_text("utf-8").splitlines()
    assert rows[1].startswith("a.fake,measured,,,1,overlays/a.fake.jpg,")
    assert (tmp_path / "out" / "overlays" / "a.fake.jpg").stat().st_size > 1000


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--format", "xls"], "unknown format 'xls'; choose from csv, jsonl, parquet"),
        (["--vocabulary", "nonsense"], "no vocabulary 'nonsense'; choose from trade,"),
        (["--vocabulary", "trade", "--vocabulary", "trade"], "'trade' is named twice"),
        (["--thresholds", "absent.toml"], "cannot read absent.toml: No such file"),
        (["--room", "absent.toml"], "cannot read absent.toml: No such file"),
        (["--frame-rate", "fast"], "--frame-rate takes a number above 0 as 24, 29.97"),
        (["--frame-rate", "0"], "--frame-rate takes a number above 0"),
        (["--frame-rate", "24/0"], "--frame-rate takes a number above 0"),
    ],
)
def test_a_wrong_option_is_told_in_one_line_with_code_2(stills, words, told):
    result = call(stills, "--out", "out", *words)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert result.stderr.startswith("framecheck: ")
    assert told in result.stderr
    assert result.stderr.count("\n") == 1


@pytest.mark.parametrize("words", [["--workers", "0"], ["--time-limit", "0"], ["--nonsense"]])
def test_typing_mistakes_give_2(stills, words):
    assert call(stills, "--out", "out", *words).exit_code == 2


def test_out_is_asked_for(stills):
    result = call(stills)
    assert result.exit_code == 2
    assert "--out" in result.stderr


def test_clips_are_measured_beside_stills(stills, tmp_path):
    write_clip(stills / "b.clip", [[48, 20], [48, 12]], start="01:00:00:00")
    result = call(stills, "--out", "out", "--workers", 1)
    assert result.exit_code == 0, result.output
    lines = result.stdout.splitlines()
    place = lines.index("b.clip: 2 shots, 4.0 s")
    assert lines[place + 2].split() == ["0", "01:00:00:00", "2.0", "s", "medium", "steady"]
    assert "3 measured, 2 shots, 1 with flags" in " ".join(result.stdout.split())
    shots = (tmp_path / "out" / "shots.csv").read_text("utf-8").splitlines()
    assert [row.split(",")[:4] for row in shots[1:]] == [
        ["b.clip", "0", "0", "48"],
        ["b.clip", "1", "48", "96"],
    ]


def test_without_a_terminal_plain_lines_tell_of_clips_and_failures(stills):
    write_clip(stills / "b.clip", [[48, 20], [48, 12]])
    (stills / "torn\n.fake").write_text("torn", "utf-8")
    result = call(stills, "--out", "out", "--workers", 1)
    lines = result.stderr.splitlines()
    assert any(line.startswith("framecheck: b.clip: measured, 2 shots in ") for line in lines)
    assert "framecheck: torn\\n.fake: failed: the data ends too early" in lines
    assert len(lines) == 2
    assert call(stills, "--out", "out", "--workers", 1, "--quiet").stderr == ""


def test_a_catalog_elsewhere_is_used_and_can_be_searched(stills, tmp_path):
    call(stills, "--out", "one", "--workers", 1, "--catalog", "all.sqlite")
    result = call(stills, "--out", "two", "--workers", 1, "--catalog", "all.sqlite")
    assert "2 measured (2 of them in an earlier run)" in " ".join(result.stdout.split())
    assert not (tmp_path / "one" / "framecheck.sqlite").exists()
    found = CliRunner().invoke(app, ["find", "all.sqlite", "--people", "1", "--format", "csv"])
    assert found.exit_code == 0, found.output
    assert len(found.stdout.splitlines()) == 2
    assert str(stills / "a.fake") in found.stdout


def test_a_catalog_that_is_none_is_told_in_one_line_with_code_3(stills, tmp_path):
    (tmp_path / "notes.txt").write_text("these are notes, not a database " * 40, "utf-8")
    result = call(stills, "--out", "out", "--catalog", "notes.txt")
    assert result.exit_code == 3
    assert "notes.txt is not a catalog" in result.stderr
    assert (tmp_path / "notes.txt").read_text("utf-8").startswith("these are notes")


@pytest.mark.parametrize(
    ("text", "rate"),
    [("24", Fraction(24)), ("29.97", Fraction(30000, 1001)), ("24000/1001", Fraction(24000, 1001))],
)
def test_frame_rates_are_exact(text, rate):
    assert parse_rate(text) == rate


def test_delivery_frames_are_judged_with_the_rest(stills, tmp_path):
    result = call(stills, "--out", "out", "--workers", 1, "--frame", "1:1", "--frame", "2.39")
    assert result.exit_code == 0, result.output
    rows = (tmp_path / "out" / "deliveries.csv").read_text("utf-8").splitlines()
    assert len(rows) == 1 + 2 * 2
    assert "joints clear" in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_a_wrong_delivery_frame_is_told_before_anything_is_measured(stills, tmp_path):
    result = call(stills, "--out", "out", "--frame", "wide")
    assert result.exit_code == 2
    assert "looks like 2.39 or 16:9" in result.stderr
    assert not (tmp_path / "out").exists()
