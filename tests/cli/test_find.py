"""`framecheck find`: options in, rows out."""

import collections
import csv
import io
import json
import re
import shlex
import sqlite3
import subprocess
import sys

import pytest
from typer.testing import CliRunner

from framecheck.catalog.catalog import CATALOG_NAME, Catalog
from framecheck.cli.app import app
from framecheck.cli.find import parse_people
from framecheck.cli.found import shared_folder
from framecheck.cli.text import columns_of
from framecheck.errors import ConfigError
from tests.catalog.builders import (
    LAYOUT,
    a_frame,
    a_person,
    a_shot,
    lay_down,
    measure,
    measure_still,
)


def call(*words, columns=80):
    return CliRunner(env={"COLUMNS": str(columns)}).invoke(app, ["find", *map(str, words)])


@pytest.fixture(scope="module")
def results(tmp_path_factory):
    """A results folder with a catalog of four clips and two stills."""
    folder = tmp_path_factory.mktemp("results")
    rushes = folder / "rushes"
    with Catalog.open(folder / CATALOG_NAME, layout=LAYOUT) as catalog:
        knee = "knee(bottom,+0.012,high); p1:looking room(left,-0.100,low)"
        measure(
            catalog,
            lay_down(rushes / "day_1", "A001C002_a-rather-long-name-of-a-clip_take_07.mov", b"1"),
            [
                (a_shot(0, flags=knee, duration_s=12.0), [a_person(0, "profile")]),
                (a_shot(1, size="close-up", size_abbr="CU", people=2, shot_type="two"), []),
            ],
        )
        measure(
            catalog,
            lay_down(rushes / "day_2", "[bold]red\x1b[31m\n映像素材映像素材.mov", b"2"),
            [(a_shot(0, shot_type="over-the-shoulder", people=3), [a_person(0, "away")])],
        )
        measure(
            catalog,
            lay_down(rushes / "day_2", "=cmd().mov", b"3"),
            [(a_shot(0, size_abbr="=x"), [])],
        )
        still = a_frame(None, None, size="big close-up", size_abbr="BCU", crop_level=0.8765)
        measure_still(catalog, lay_down(rushes, "still.jpg", b"4"), still, [a_person(0, "to lens")])
        empty = a_frame(
            None, None, size="", size_abbr="", people=0, shot_type="no people", crop_level=None
        )
        measure_still(
            catalog, lay_down(rushes, "empty.jpg", b"5"), {**empty, "crop_level_why": "no people"}
        )
    return folder


@pytest.mark.parametrize("columns", [50, 60, 80, 100, 120, 170, 200])
def test_the_table_fits_the_terminal(results, columns) -> None:
    result = call(results, columns=columns)
    assert result.exit_code == 0
    lines = result.stdout.splitlines()
    assert max(columns_of(line.rstrip()) for line in lines) <= columns
    assert "6 found." in lines[-1]
    assert "\x1b" not in result.stdout
    # Cells are folded and never cut: put together again, they are whole.
    (head,) = [line for line in lines if line.startswith("file ")]
    names = "".join(line[: head.index("shot")].strip() for line in lines)
    assert "day_1/A001C002_a-rather-long-name-of-a-clip_take_07.mov" in names
    flags = " ".join(line[head.index("flags") :].strip() for line in lines)
    assert "knee, looking room" in " ".join(flags.split())


def test_the_table_at_80_columns(results) -> None:
    lines = call(results, "--size", "CU", "--size", "bcu").stdout.splitlines()
    assert re.sub(r"\s+", "", lines[0]) == f"In{results}/rushes/"
    head = next(number for number, line in enumerate(lines) if line.startswith("file"))
    assert lines[head].split() == ["file", "shot", "from", "length", "size", "people"]
    assert lines[head + 1].split()[1:] == ["1", "01:00:00:00", "4.0", "s", "CU", "2"]
    assert [line.split() for line in lines[-2:]] == [["still.jpg", "BCU", "1"], ["2", "found."]]


def test_a_wide_terminal_shows_more(results) -> None:
    wide = call(results, "--facing", "profile", columns=200).stdout
    for told in ("medium", "steady", "profile", "1 single", "0.70", "01:00:04:00"):
        assert told in wide
    narrow = call(results, "--facing", "profile", columns=80).stdout
    assert "MS" in narrow
    assert "steady" not in narrow


def test_names_play_no_tricks_on_the_terminal(results) -> None:
    text = call(results, "--folder", results / "rushes" / "day_2", columns=200).stdout
    assert "[bold]red\\x1b[31m\\n映像素材映像素材.mov" in text
    assert len(text.splitlines()) == 5


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("--size close-up", [1]),
        ("--size cu --size ms", [0, 1, 0, 0]),
        ("--people 2", [1]),
        ("--people 2-3", [1, 0]),
        ("--people 2+", [1, 0]),
        ("--people 0", [None]),
        ("--flag Knee", [0]),
        ('--flag "looking room"', [0]),
        ("--flag none --shot-type two", [1]),
        ("--flag any", [0]),
        ("--shot-type over-the-shoulder", [0]),
        ('--shot-type "no people"', [None]),
        ("--facing Away", [0]),
        ("--longer-than 4", [0]),
        ("--shorter-than 4.1", [1, 0, 0]),
        ("--file *.JPG", [None, None]),
        ("--size medium --people 1 --flag knee --longer-than 10", [0]),
    ],
)
def test_every_option_narrows_the_search(results, words, expected) -> None:
    result = call(results, *shlex.split(words), "--format", "json")
    assert result.exit_code == 0
    assert [row["shot"] for row in json.loads(result.stdout)] == expected


def test_csv_holds_all_columns_safe_for_spreadsheets(results) -> None:
    result = call(results, "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(result.stdout, newline="")))
    assert len(rows) == 6
    with Catalog.open_to_read(results / CATALOG_NAME) as catalog:
        assert set(rows[0]) == set(catalog.found_columns())
    assert list(rows[0])[:3] == ["place", "kind", "shot"]
    assert list(rows[0])[-1] == "crop_level_why"
    by_place = {row["place"].rpartition("/")[2]: row for row in rows}
    assert by_place["=cmd().mov"]["size_abbr"] == "'=x"
    assert by_place["still.jpg"]["shot"] == ""
    assert by_place["still.jpg"]["crop_level"] == "0.876"
    assert (by_place["empty.jpg"]["crop_level"], by_place["empty.jpg"]["crop_level_why"]) == (
        "",
        "no people",
    )


def test_files_are_written_whole_and_replace_what_was_there(results, tmp_path) -> None:
    for name in ("a.csv", "a.json", "a.txt"):
        path = tmp_path / name
        path.write_text("before")
        result = call(results, "--size", "BCU", "--out", path)
        assert (result.exit_code, result.stdout) == (0, "")
        assert "big close-up" in path.read_text("utf-8")
    assert json.loads((tmp_path / "a.json").read_text("utf-8"))[0]["kind"] == "still"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.csv", "a.json", "a.txt"]


def test_a_folder_that_cannot_be_written_to(results, tmp_path) -> None:
    (tmp_path / "file").touch()
    result = call(results, "--out", tmp_path / "file" / "a.csv")
    assert result.exit_code == 3
    assert "cannot write" in result.stderr


def test_a_long_table_is_cut_and_says_so(results) -> None:
    assert "The first 2 of 6; narrow the search" in call(results, "--limit", "2").stdout
    assert "6 found." in call(results, "--limit", "6").stdout
    assert len(json.loads(call(results, "--limit", "2", "--format", "json").stdout)) == 2


def test_nothing_found_is_no_error_and_names_what_there_is(results) -> None:
    for words, told in (
        (["--people", "9"], "nothing found"),
        (["--size", "MSC"], "the sizes in this catalog are: big close-up (BCU), close-up (CU)"),
        (["--flag", "kneee"], "the flags in this catalog are: knee, looking room"),
    ):
        result = call(results, *words)
        assert (result.exit_code, result.stdout) == (0, "")
        assert told in result.stderr
    assert json.loads(call(results, "--people", "9", "--format", "json").stdout) == []
    empty = call(results, "--people", "9", "--format", "csv").stdout
    assert empty == call(results, "--format", "csv").stdout.splitlines(keepends=True)[0]


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("--people many", "--people takes a count as 2, 2-4 or 3+"),
        ("--people 4-2", "smaller count first"),
        ("--shot-type duo", "takes one of single, two"),
        ("--facing left", "takes one of to lens"),
        ("--format xml", "choose from table, csv, json"),
        ("--out rows", "end it in .csv, .json or .txt"),
    ],
)
def test_wrong_words_are_told(results, words, told) -> None:
    result = call(results, *shlex.split(words))
    assert (result.exit_code, result.stdout) == (2, "")
    assert told in result.stderr


def test_the_catalog_is_the_named_one_or_this_folders(results, tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(results)
    assert call().stdout == call(results).stdout == call(results / CATALOG_NAME).stdout
    monkeypatch.chdir(tmp_path)
    for words in ([], ["absent"], ["absent.sqlite"]):
        result = call(*words)
        assert result.exit_code == 2
        assert "there is no catalog at" in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_no_catalog(tmp_path) -> None:
    path = tmp_path / "a.txt"
    path.write_text("words" * 1000)
    result = call(path)
    assert result.exit_code == 3
    assert "is not a catalog of framecheck" in result.stderr
    assert path.read_text() == "words" * 1000


def test_neither_the_catalog_nor_a_clip_is_written_over(results, monkeypatch) -> None:
    clip = results / "rushes" / "day_2" / "=cmd().mov"
    monkeypatch.chdir(clip.parent)
    for out, told in (
        (results / CATALOG_NAME, "the catalog itself"),
        (clip, "a file that was measured"),
        ("=cmd().mov", "a file that was measured"),
    ):
        result = call(results, "--format", "csv", "--out", out)
        assert result.exit_code == 2
        assert told in result.stderr
    assert clip.read_bytes() == b"3"
    assert sqlite3.connect(results / CATALOG_NAME).execute("PRAGMA quick_check").fetchone() == (
        "ok",
    )


@pytest.mark.parametrize(
    ("text", "expected"),
    [("", (None, None)), ("2", (2, 2)), ("2-4", (2, 4)), ("3+", (3, None)), (" 0 ", (0, 0))],
)
def test_counts_of_people(text, expected) -> None:
    assert parse_people(text) == expected


@pytest.mark.parametrize("text", ["-1", "2-", "+", "2-3-4", "2.5", "٣", "1 OR 1", "9" * 50])
def test_what_is_no_count_of_people(text) -> None:
    with pytest.raises(ConfigError):
        parse_people(text)


@pytest.mark.parametrize(
    ("places", "folder"),
    [
        ([], ""), (["/a/b.mov"], "/a/"), (["/a/b.mov", "/a/c/d.mov"], "/a/"),
        (["/a/b.mov", "/ab/c.mov"], "/"), (["/a/bc.mov", "/a/bd.mov"], "/a/"),
        (["s3://a/b/c.mov"], "s3://a/b/"), (["s3://a/b/c.mov", "s3://a/d.mov"], "s3://a/"),
        (["s3://a/b/c/1.mov", "s3://a/b-x/1.mov", "s3://a/b/1.mov"], "s3://a/"),
        (["s3://a/1.mov", "s3://ab/1.mov"], ""), (["s3://a/1.mov", "/a/1.mov"], ""),
    ],
)  # fmt: skip
def test_the_folder_that_is_told_once(places, folder) -> None:
    assert shared_folder(places) == folder


def test_find_loads_no_model_and_no_data_frames(results) -> None:
    code = (
        "import sys\n"
        "from typer.testing import CliRunner\n"
        "from framecheck.cli.app import app\n"
        f"done = CliRunner().invoke(app, ['find', {str(results)!r}, '--format', 'csv'])\n"
        "assert done.exit_code == 0\n"
        "print(sorted({'mediapipe', 'cv2', 'pandas', 'PIL', 'av'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_counts_in_place_of_a_list(results) -> None:
    """Four clips with shots of medium and close-up, one size without a name, two stills."""
    lines = call(results, "--counts").stdout.splitlines()
    headings = [line.split("  ")[0] for line in lines if line.endswith("length")]
    assert headings == ["size", "people", "shot type", "facing", "flag"]
    rows = list(csv.DictReader(io.StringIO(call(results, "--counts", "--format", "csv").stdout)))
    listed = json.loads(call(results, "--format", "json").stdout)
    by_size: collections.Counter[str] = collections.Counter()
    for row in rows:
        if row["by"] == "size":  # one name may have two abbreviations
            by_size[row["value"]] += int(row["shots"]) + int(row["stills"])
    assert by_size == collections.Counter(row["size"] or "" for row in listed)


def test_counts_follow_the_question_and_go_to_files(results, tmp_path) -> None:
    out = tmp_path / "counts.json"
    assert call(results, "--counts", "--flag", "knee", "--out", out).exit_code == 0
    counts = json.loads(out.read_text("utf-8"))
    flags = {row["value"]: row["shots"] + row["stills"] for row in counts if row["by"] == "flag"}
    listed = json.loads(call(results, "--flag", "knee", "--format", "json").stdout)
    assert flags["knee"] == len(listed)
    assert "" not in flags


def test_counts_of_nothing_say_so(results) -> None:
    done = call(results, "--counts", "--size", "nonsense")
    assert done.exit_code == 0
    assert "the sizes in this catalog are" in done.stderr
    assert done.stdout == ""


def test_counts_are_never_written_over_the_catalog(results) -> None:
    done = call(results, "--counts", "--out", results / CATALOG_NAME, "--format", "csv")
    assert done.exit_code == 2
    assert "is the catalog itself" in done.stderr
