"""Clips from inputs to tables: shots, samples and names, the same however it is done."""

import dataclasses
import shutil

import pytest

from framecheck.catalog.catalog import Catalog
from framecheck.pipeline.order import RunLimits
from framecheck.records.judged import FileStatus
from tests.pipeline.obedient import noted
from tests.pipeline.runs import (
    files_in,
    is_sound,
    measure,
    order_for,
    rows_in,
    tables_in,
    write_clip,
)


@pytest.fixture
def rushes(tmp_path):
    folder = tmp_path / "rushes"
    folder.mkdir()
    write_clip(folder / "a.clip", [[48, 20], [120, 12], [240, 30]], start="10:00:00:00")
    write_clip(folder / "b.clip", [[24, 8, "slow"], [12, 26], [96, 15]])
    (folder / "c.fake").write_text("22", "utf-8")
    return folder


def test_the_shots_of_a_clip_and_the_frames_that_were_measured(rushes, tmp_path):
    out = tmp_path / "out"
    summary = measure([rushes], out)
    shots = [row for row in rows_in(out, "shots") if row["file"] == "a.clip"]
    assert [(row["shot"], row["start_frame"], row["end_frame"]) for row in shots] == [
        ("0", "0", "48"), ("1", "48", "168"), ("2", "168", "408"),
    ]  # fmt: skip
    assert [(row["start_timecode"], row["end_timecode"]) for row in shots] == [
        ("10:00:00:00", "10:00:02:00"),
        ("10:00:02:00", "10:00:07:00"),
        ("10:00:07:00", "10:00:17:00"),
    ]
    assert [row["duration_s"] for row in shots] == ["2.000", "5.000", "10.000"]
    assert [row["transition"] for row in shots] == ["start", "cut", "cut"]
    # a figure of 2.0 picture heights is cut at 0.55, one of 1.2 at 0.25, one of 3.0 at 0.70
    assert [row["crop_level"] for row in shots] == ["0.550", "0.250", "0.700"]
    assert [row["size_abbr"] for row in shots] == ["MS", "MFS", "MCU"]
    frames = [row for row in rows_in(out, "frames") if row["file"] == "a.clip"]
    assert {(row["shot"], row["frame"]) for row in frames} >= {("1", "48"), ("1", "108")}
    assert {row["frame"]: row["timecode"] for row in frames}["108"] == "10:00:04:12"
    for row in shots:
        assert (row["shot"], row["frame"]) in {(row["shot"], row["frame"]) for row in frames}
    # readings are in pixels of the whole file: the fake analyses at half of its 320 x 180
    assert {(row["width_px"], row["height_px"]) for row in frames} == {("320", "180")}
    assert {row["picture_w_px"] for row in frames} == {"320"}
    people = [row for row in rows_in(out, "people") if row["file"] == "a.clip"]
    assert [row["crown_y_px"] for row in people] == ["18.0"] * len(people)  # a tenth down
    assert summary.shot_count == 6


def test_a_clip_has_one_row_with_its_facts(rushes, tmp_path):
    measure([rushes], tmp_path / "out")
    row = next(row for row in rows_in(tmp_path / "out", "files") if row["file"] == "a.clip")
    told = {
        "status": "measured", "why": "", "shots": "3", "duration_s": "17.000",
        "rate_fps": "24.000", "start_timecode": "10:00:00:00", "width_px": "320", "codec": "words",
    }  # fmt: skip
    assert {name: row[name] for name in told} == told
    measured = [row for row in rows_in(tmp_path / "out", "frames") if row["file"] == "a.clip"]
    assert int(row["frames"]) == len(measured) >= 9


def test_one_worker_and_three_write_the_same_bytes(rushes, tmp_path):
    measure([rushes], tmp_path / "one", limits={"workers": 1, "readers": 1})
    measure([rushes], tmp_path / "three", limits={"workers": 3, "readers": 2})
    assert tables_in(tmp_path / "one") == tables_in(tmp_path / "three")


def test_a_second_run_reads_no_frame_and_writes_the_same_bytes(rushes, tmp_path):
    out = tmp_path / "out"
    measure([rushes], out)
    first, read = tables_in(out), noted("read")
    moved = rushes.rename(tmp_path / "other drive")
    shutil.copy(moved / "a.clip", moved / "d.clip")
    summary = measure([moved], out)
    assert (summary.taken_over, noted("read")) == (4, read)
    again = tables_in(out)
    rows = rows_in(out, "shots")
    assert [row["file"] for row in rows if row["shot"] == "0"] == ["a.clip", "b.clip", "d.clip"]
    (moved / "d.clip").unlink()
    measure([moved], out)
    assert tables_in(out) == first != again


def test_find_knows_the_shots_and_where_they_lie(rushes, tmp_path):
    from framecheck.catalog.search import FindQuery

    out = tmp_path / "out"
    measure([rushes], out)
    with Catalog.open_to_read(out / "framecheck.sqlite") as catalog:
        rows = catalog.find(FindQuery(sizes=("MCU",)))
    assert [(row["place"], row["shot"]) for row in rows] == [(str(rushes / "a.clip"), 2)]


def test_a_clip_that_breaks_off_keeps_its_good_shots_and_says_where(rushes, tmp_path):
    out = tmp_path / "out"
    write_clip(rushes / "b.clip", [[48, 20], [48, 12], [48, 30]], at={"110": "torn"})
    summary = measure([rushes], out)
    status, why, where = files_in(out)["b.clip"]
    assert (status, where) == ("failed", "frame 110 (00:00:00:00)")
    assert "broken" in why
    shots = [row for row in rows_in(out, "shots") if row["file"] == "b.clip"]
    assert [(row["start_frame"], row["end_frame"]) for row in shots] == [
        ("0", "48"), ("48", "96"), ("96", "110"),
    ]  # fmt: skip
    assert summary.count(FileStatus.FAILED) == 1
    first = tables_in(out)
    # it is tried again, and found as it was: nothing of it is measured twice
    measured = len(noted("measured"))
    assert measure([rushes], out).taken_over == 2
    assert tables_in(out) == first
    assert len(noted("measured")) == measured


def test_a_clip_that_cannot_be_opened_or_holds_no_frame_is_told(rushes, tmp_path):
    out = tmp_path / "out"
    (rushes / "d.clip").write_text("no JSON", "utf-8")
    write_clip(rushes / "e.clip", [])
    measure([rushes], out)
    told = files_in(out)
    assert told["d.clip"] == ("failed", "d.clip is no clip", "opening")
    assert told["e.clip"][:2] == ("failed", "e.clip holds no frame; copy or export it again")
    assert told["a.clip"][0] == told["b.clip"][0] == "measured"


def test_a_shot_that_cannot_be_measured_costs_its_clip_no_other(rushes, tmp_path):
    out = tmp_path / "out"
    write_clip(rushes / "b.clip", [[48, 20], [48, 12, "odd"], [48, 30]])
    measure([rushes], out)
    status, why, where = files_in(out)["b.clip"]
    assert (status, why) == ("failed", "unexpected KeyError: 'surprise'")
    assert where.startswith("shot 1, frame 48 (fakes.py:")
    shots = [row["shot"] for row in rows_in(out, "shots") if row["file"] == "b.clip"]
    assert shots == ["0", "2"]


def test_numbered_frames_at_another_rate_are_measured_anew(rushes, tmp_path):
    from fractions import Fraction

    from framecheck.pipeline.run import measure_to_tables

    out = tmp_path / "out"
    order = order_for([rushes / "a.clip"], out)

    def at(rate):
        inputs = tuple(dataclasses.replace(item, rate=rate) for item in order.inputs)
        return dataclasses.replace(order, inputs=inputs)

    assert measure_to_tables(at(Fraction(24))).taken_over == 0
    assert measure_to_tables(at(Fraction(24))).taken_over == 1
    assert measure_to_tables(at(Fraction(25))).taken_over == 0


def test_shots_that_were_left_from_elsewhere_are_forgotten(rushes, tmp_path):
    """A run that was broken off may have cut the clip otherwise, with other settings inside."""
    out = tmp_path / "out"
    measure([rushes / "a.clip"], out)
    with Catalog.open(out / "framecheck.sqlite") as catalog:
        store = catalog._store
        with store.writing():
            store.run("UPDATE measurements SET state = 'running'")
            store.run("UPDATE shots SET end_frame = 100 WHERE shot = 1")
            store.run("UPDATE shots SET shot = 7, _shot = 7 WHERE shot = 2")
            store.run("DELETE FROM entries WHERE shot = 2")
            store.run(
                "INSERT INTO entries (measurement, shot, still) SELECT measurement, 7, 0 "
                "FROM entries WHERE shot = 0"
            )
            store.run("DELETE FROM frames WHERE _shot = 2")
            store.run("DELETE FROM people WHERE _shot = 2")
    measure([rushes / "a.clip"], out)
    measure([rushes / "a.clip"], tmp_path / "straight")
    assert tables_in(out) == tables_in(tmp_path / "straight")
    assert is_sound(out / "framecheck.sqlite")


def test_readers_are_ahead_of_the_measuring_by_a_few_shots_alone(rushes, tmp_path, marks):
    """Memory must not grow with the length of a clip."""
    clip = write_clip(rushes / "b.clip", [[24, 10 + n, "slow"] for n in range(12)])
    ahead = []

    def look(_state):
        # each shot shows a figure of another size
        ahead.append(len(noted("read")) - len(set(noted("measured"))))

    from framecheck.pipeline.order import Watcher

    watcher = Watcher(moved=look, ended=lambda row, s: None, told=lambda words: None)
    measure([clip], tmp_path / "out", watcher=watcher, limits={"workers": 1})
    window = RunLimits(workers=1).for_reading().window
    # the bars hold back up to three; one more is in the hands of the reader
    assert 2 <= max(ahead) <= window + 4
