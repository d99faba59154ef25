"""`framecheck report`, `review` and `agree` as commands."""

import http.client
import json
import os
import re
import signal
import subprocess
import sys

import pandas as pd
import pytest
from typer.testing import CliRunner

from framecheck.catalog.confirmed import Field
from framecheck.catalog.corrections import STILL_ANCHOR
from framecheck.cli.app import app
from framecheck.pipeline.settings import load_vocabulary
from framecheck.report.page.entries import gather_entries
from tests.report.catalogs import enter_still, open_catalog, some_catalog


def call(*words):
    return CliRunner().invoke(app, list(map(str, words)), env={"COLUMNS": "100"})


@pytest.fixture
def path(tmp_path):
    return some_catalog(tmp_path, clip=False)


def confirm(path, name, **said):
    with open_catalog(path) as catalog:
        source = next(one for one in catalog.sources() if one.place.name == name)
        vocabulary = load_vocabulary("trade")
        values = {}
        if "size" in said:
            abbr = next(band.abbr for band in vocabulary.bands if band.name == said["size"])
            values[Field.SIZE] = {"size": said["size"], "size_abbr": abbr, "vocabulary": "trade"}
        if "people" in said:
            values[Field.PEOPLE] = {"people": said["people"]}
        catalog.corrections.enter(source.content, STILL_ANCHOR, values)


def test_the_page_is_written_beside_the_catalog(path):
    result = call("report", path.parent)
    assert result.exit_code == 0
    page = path.with_name("report.html")
    assert result.stdout.startswith(f"{page}: 6 frames, ")
    assert page.read_text("utf-8").startswith("<!doctype html>")


def test_a_page_of_one_folder_under_another_name(path, tmp_path):
    with open_catalog(path) as catalog:
        (tmp_path / "more").mkdir()
        enter_still(catalog, tmp_path / "more" / "07.jpg", [{"stature": 2.4}])
    out = tmp_path / "page.htm"
    result = call("report", path, "--folder", tmp_path / "more", "--out", out, "--title", "A day")
    assert result.stdout.startswith(f"{out}: 1 frame, 0.")
    assert "<h1><bdi>A day</bdi></h1>" in out.read_text("utf-8")


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["report", "nowhere"], 2, "there is no catalog at nowhere"),
        (["report", "{folder}", "--out", "page.pdf"], 2, "ends in .html"),
        (["report", "{folder}", "--folder", "/elsewhere"], 2, "holds nothing of /elsewhere"),
        (["report", "{tables}"], 2, "came with --catalog"),
        (["report", "{text}"], 3, "is not a catalog"),
        (["review", "nowhere"], 2, "there is no catalog"),
        (["agree", "nowhere"], 2, "there is no catalog"),
        (["agree", "{folder}", "--truth", "truth.xls"], 2, ".csv or .jsonl"),
        (["agree", "{folder}", "--write", "mine.txt"], 2, ".toml"),
        (["agree", "{folder}", "--write", "{text}.toml"], 2, "is there already"),
    ],
)
def test_what_goes_wrong_is_said_in_one_line(path, tmp_path, words, code, said):
    tables = tmp_path / "tables"
    tables.mkdir()
    (tables / "frames.csv").write_text("file\n")
    text = tmp_path / "text"
    text.write_text("no catalog at all, but long enough to be read as something else")
    (tmp_path / "text.toml").write_text("")
    places = {"folder": path.parent, "tables": tables, "text": text}
    result = call(*(word.format(**places) for word in words))
    assert result.exit_code == code
    assert said in result.stderr
    assert len(result.stderr.splitlines()) == 1


def test_missing_originals_are_told(path, tmp_path):
    (tmp_path / "media" / "01 wide.jpg").unlink()
    result = call("report", path)
    assert result.exit_code == 0
    assert "1 of 6 have no picture: the file is not where it was measured" in result.stderr


def test_agree_before_anything_is_confirmed(path):
    result = call("agree", path)
    assert result.exit_code == 0
    assert "Nobody has confirmed anything yet" in result.stdout


def test_agree_compares_lists_the_worst_and_writes_the_truth(path, tmp_path):
    confirm(path, "01 wide.jpg", size="wide", people=1)  # as measured
    confirm(path, "03 two.png", size="cowboy", people=3)
    confirm(path, "04 chest.jpg", size="full")
    truth = tmp_path / "truth.csv"
    result = call("agree", path, "--truth", truth)
    assert result.exit_code == 0
    said = " ".join(result.stdout.split())
    # p_o = 1/3. Measured wide, medium, medium close-up; confirmed wide, cowboy, full: p_e = 1/9.
    assert "size (trade): 3 compared, 33 % agree, kappa 0.25" in said
    assert "people: 2 compared, 50 % agree" in said
    lines = result.stdout.splitlines()
    top = next(number for number, line in enumerate(lines) if line.startswith("  measured"))
    assert [line.split() for line in lines[top : top + 4]] == [
        ["measured", "WS", "FS", "CS", "MS", "MCU"],
        ["wide", "1", "·", "·", "·", "·"],
        ["medium", "·", "·", "1", "·", "·"],
        ["medium", "close-up", "·", "1", "·", "·", "·"],
    ]
    worst = result.stdout.index("Sizes furthest off")
    assert result.stdout.index("04 chest.jpg", worst) < result.stdout.index("03 two.png", worst)
    rows = pd.read_csv(truth)
    assert len(rows) == 5
    one = rows[(rows["file"].str.endswith("03 two.png")) & (rows["field"] == "size")].iloc[0]
    assert (one["confirmed"], one["measured"], one["agrees"]) == ("cowboy", "medium", "no")
    assert call("agree", path, "--truth", tmp_path / "t.jsonl").exit_code == 0
    first = json.loads((tmp_path / "t.jsonl").read_text("utf-8").splitlines()[0])
    assert first["vocabulary"] in {"trade", ""}


def test_borders_are_proposed_and_written_only_on_demand(tmp_path):
    """Someone to whom a medium close-up begins at 0.625, where the vocabulary has 0.661."""
    path = some_catalog(tmp_path, clip=False, stills={})
    crown = 0.08
    with open_catalog(path) as catalog:
        for number in range(14):
            level = 0.58 + 0.01 * number
            people = [{"stature": (1 - crown) / (1 - level), "crown": crown}]
            enter_still(catalog, tmp_path / "media" / f"{number:02}.png", people, wh=(160, 90))
        measured = {e.source.place.name: e.best["crop_level"] for e in gather_entries(catalog)}
    for name, level in measured.items():
        confirm(path, name, size="medium" if level < 0.625 else "medium close-up")
    result = call("agree", path)
    said = " ".join(result.stdout.split())
    assert "medium | medium close-up 0.661 -> 0.625" in said
    assert "nothing has been changed" in said
    mine = tmp_path / "mine.toml"
    result = call("agree", path, "--write", mine)
    assert result.exit_code == 0
    vocabulary = load_vocabulary(str(mine))
    assert vocabulary.name == "mine"
    border = next(b for b in vocabulary.bands if b.name == "medium").regions[0].crop.stop
    assert border == pytest.approx(0.625, abs=0.001)
    with open_catalog(path) as catalog:
        assert {row["vocabulary"] for row in _frames(catalog)} == {"trade"}


def _frames(catalog):
    return [entry.row for entry in gather_entries(catalog)]


def test_searches_show_what_is_confirmed(path):
    confirm(path, "03 two.png", size="cowboy")
    result = call("find", path, "--size", "CS", "--format", "json")
    (row,) = json.loads(result.stdout)
    assert row["place"].endswith("03 two.png")
    assert row["confirmed"] == "size (measured medium)"


def test_every_export_shows_what_is_confirmed(tmp_path):
    path = some_catalog(tmp_path, stills={})
    close = {"size": "close-up", "size_abbr": "CU", "vocabulary": "trade"}
    with open_catalog(path) as catalog:
        shot = gather_entries(catalog)[1]
        catalog.corrections.enter(shot.source.content, shot.anchor, {Field.SIZE: close})
    formats = ("otio", "edl", "vtt", "xmp", "csv", "jsonl", "md")
    out = tmp_path / "out"
    result = call("export", path, *(w for name in formats for w in ("--as", name)), "--out", out)
    assert result.exit_code == 0, result.output
    others = {"frames", "people", "files"}
    texts = {
        file.suffix: file.read_text("utf-8")
        for file in out.iterdir()
        if file.name.split(".")[0] not in others and ".schema" not in file.name
    }
    assert sorted(texts) == sorted(f".{name}" for name in formats)
    said = {
        ".edl": "YELLOW  CU two: close-up, 2 people, confirmed",
        ".vtt": "CU two: close-up, 2 people, confirmed",
        ".xmp": "<xmpDM:comment>close-up, 2 people, confirmed</xmpDM:comment>",
        ".otio": '"confirmed": "size (measured medium)"',
        ".csv": ",size (measured medium)",
        ".jsonl": '"confirmed": "size (measured medium)"',
        ".md": "1 of them confirmed or corrected by a person.",
    }
    for suffix, words in said.items():
        assert texts[suffix].count(words) == 1, (suffix, texts[suffix])


@pytest.mark.skipif(os.name != "posix", reason="sends Ctrl-C as POSIX systems do")
def test_review_serves_until_ctrl_c(path):
    command = [sys.executable, "-m", "framecheck", "review", str(path), "--no-browser"]
    environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as process:
        try:
            line = process.stdout.readline()
            port, where = re.search(r"http://127\.0\.0\.1:(\d+)(/\S+)", line).groups()
            connection = http.client.HTTPConnection("127.0.0.1", int(port), timeout=10)
            connection.request("GET", where)
            assert connection.getresponse().status == 200
            connection.close()
            process.send_signal(signal.SIGINT)
            rest, _ = process.communicate(timeout=20)
        finally:
            process.kill()
    assert process.returncode == 0
    assert "Ended. 0 frames were looked at" in rest
