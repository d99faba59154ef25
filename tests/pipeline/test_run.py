"""Stills from inputs to tables: the same bytes however it is done, and nothing lost on the way."""

import json
import os
import shutil
import signal

import pytest

from framecheck.errors import ConfigError, ExportError
from framecheck.export import atomic
from framecheck.pipeline.order import RunState, Watcher
from framecheck.pipeline.run import measure_to_tables
from framecheck.records.judged import FileStatus
from tests.pipeline.obedient import noted
from tests.pipeline.runs import (
    count_entered,
    files_in,
    is_sound,
    measure,
    order_for,
    rows_in,
    start_run,
    tables_in,
    wait_for_entries,
)


@pytest.fixture
def stills(tmp_path):
    folder = tmp_path / "stills"
    folder.mkdir()
    for number in range(8):
        (folder / f"{number}.fake").write_text(str(5 + 4 * number), "utf-8")
    return folder


def test_one_worker_and_three_write_the_same_bytes(stills, tmp_path):
    (stills / "0.fake").write_text("slow 0.5", "utf-8")  # so that the order of ending differs
    measure([stills], tmp_path / "one", limits={"workers": 1})
    measure([stills], tmp_path / "three", limits={"workers": 3})
    assert tables_in(tmp_path / "one") == tables_in(tmp_path / "three")
    names = [row["file"] for row in rows_in(tmp_path / "one", "frames")]
    assert names == [f"{n}.fake" for n in range(8)]


def test_every_input_has_one_row_that_says_how_it_fared(stills, tmp_path):
    (stills / "1.fake").write_text("torn", "utf-8")
    (stills / "2.fake").write_text("die", "utf-8")
    (stills / "3.fake").write_text("slow 60", "utf-8")
    (stills / "4.fake").write_text("odd", "utf-8")
    summary = measure(
        [stills, tmp_path / "absent"], tmp_path / "out", limits={"workers": 2, "task_s": 1.0}
    )
    told = files_in(tmp_path / "out")
    assert len(summary.files) == len(told) == 9
    assert told["0.fake"] == ("measured", "", "")
    assert told["1.fake"] == ("failed", "the data ends too early", "reading")
    assert told["2.fake"] == ("failed", "the worker ended with exit code 7, 2 times", "worker")
    assert told["3.fake"] == ("failed", "took longer than 1 s", "worker")
    assert told["4.fake"][1] == "unexpected KeyError: 'surprise'"
    assert told["4.fake"][2].startswith("reading (fakes.py:")
    assert told["absent"] == ("failed", "no such file", "finding")
    assert summary.count(FileStatus.MEASURED) == 4
    assert len(summary.stills) == 4
    assert is_sound(tmp_path / "out" / "framecheck.sqlite")


def test_a_worker_that_is_killed_once_costs_nothing(stills, tmp_path):
    (stills / "2.fake").write_text("once", "utf-8")
    summary = measure([stills], tmp_path / "out", limits={"workers": 2})
    assert summary.count(FileStatus.MEASURED) == 8
    assert len(noted("still")) == 8


def test_a_second_run_takes_over_what_is_unchanged_and_writes_the_same_bytes(stills, tmp_path):
    out = tmp_path / "out"
    measure([stills], out)
    first = tables_in(out)
    again = measure([stills], out)
    assert again.taken_over == 8
    assert tables_in(out) == first
    assert len(noted("still")) == 8
    (stills / "3.fake").write_text("12", "utf-8")
    changed = measure([stills], out)
    assert changed.taken_over == 7
    assert tables_in(out)["frames.csv"] != first["frames.csv"]


def test_what_was_moved_or_copied_is_not_measured_again_and_has_its_new_name(stills, tmp_path):
    out = tmp_path / "out"
    measure([stills], out)
    shutil.copy(stills / "1.fake", stills / "9 copy of 1.fake")
    moved = stills.rename(tmp_path / "other drive")
    summary = measure([moved], out)
    assert (summary.taken_over, len(noted("still"))) == (9, 8)
    rows = {row["file"]: row for row in rows_in(out, "frames")}
    assert rows["9 copy of 1.fake"] == {**rows["1.fake"], "file": "9 copy of 1.fake"}


def test_the_same_content_twice_in_one_run_is_measured_once(stills, tmp_path):
    for name in ("8.fake", "9.fake"):
        shutil.copy(stills / "7.fake", stills / name)
    summary = measure([stills], tmp_path / "out", limits={"workers": 2})
    assert (summary.count(FileStatus.MEASURED), len(noted("still"))) == (10, 8)
    assert len(rows_in(tmp_path / "out", "frames")) == 10


def test_a_shared_catalog_serves_other_output_folders(stills, tmp_path):
    shared = tmp_path / "shared.sqlite"
    measure([stills], tmp_path / "one", catalog=shared)
    summary = measure([stills], tmp_path / "two", catalog=shared)
    assert summary.taken_over == 8
    assert tables_in(tmp_path / "one") == tables_in(tmp_path / "two")
    assert not (tmp_path / "two" / "framecheck.sqlite").exists()


def test_other_settings_or_afresh_take_nothing_over(stills, tmp_path):
    out = tmp_path / "out"
    measure([stills], out)
    assert measure([stills], out, vocabularies=("nine-class",)).taken_over == 0
    assert measure([stills], out, vocabularies=("nine-class",), afresh=True).taken_over == 0
    assert len(noted("still")) == 24
    assert measure([stills], out).taken_over == 8  # what the first settings gave is still there


def test_two_vocabularies_and_then_one_share_a_catalog(stills, tmp_path):
    out = tmp_path / "out"
    measure([stills], out)
    one = tables_in(out)
    measure([stills], out, vocabularies=("trade", "nine-class"))
    assert rows_in(out, "frames")[0]["vocabulary_2"] == "nine-class"
    assert measure([stills], out).taken_over == 8
    assert tables_in(out) == one


def test_what_failed_is_tried_again(stills, tmp_path):
    out = tmp_path / "out"
    (stills / "3.fake").write_text("die", "utf-8")
    assert measure([stills], out).count(FileStatus.FAILED) == 1
    again = measure([stills], out)
    assert (again.taken_over, again.count(FileStatus.FAILED)) == (7, 1)


def test_a_still_that_changes_while_it_is_measured_says_so_and_is_measured_next_time(
    stills, tmp_path
):
    out = tmp_path / "out"
    (stills / "3.fake").write_text("growing", "utf-8")
    measure([stills], out)
    status, why, _ = files_in(out)["3.fake"]
    assert status == "failed"
    assert "changed while it was measured" in why
    assert "3.fake" not in {row["file"] for row in rows_in(out, "frames")}
    (stills / "3.fake").write_text("17", "utf-8")
    again = measure([stills], out)
    assert (again.taken_over, again.count(FileStatus.FAILED)) == (7, 0)


def test_a_lost_annotated_copy_is_drawn_again(stills, tmp_path):
    out = tmp_path / "out"
    first = measure([stills], out, overlays=True)
    drawn = sorted((out / "overlays").glob("*.jpg"))
    assert len(drawn) == 8
    assert [row["overlay"] for row in first.files] == [f"overlays/{n}.fake.jpg" for n in range(8)]
    before = tables_in(out)
    drawn[2].unlink()
    again = measure([stills], out, overlays=True)
    assert again.taken_over == 7
    assert sorted((out / "overlays").glob("*.jpg")) == drawn
    assert tables_in(out) == before


def test_annotated_copies_asked_for_later_are_drawn_and_follow_the_still(stills, tmp_path):
    out = tmp_path / "out"
    measure([stills], out)
    assert measure([stills], out, overlays=True).taken_over == 0
    one = (out / "overlays" / "1.fake.jpg").read_bytes()
    shutil.copy(stills / "2.fake", stills / "1.fake")
    shutil.copy(stills / "2.fake", stills / "9.fake")
    measure([stills], out, overlays=True)
    two = (out / "overlays" / "2.fake.jpg").read_bytes()
    assert one != two
    for name in ("1.fake.jpg", "9.fake.jpg"):
        assert (out / "overlays" / name).read_bytes() == two


def test_a_copy_that_cannot_be_drawn_does_not_cost_the_measurement(stills, tmp_path):
    out = tmp_path / "out"
    (out / "overlays" / "3.fake.jpg").mkdir(parents=True)  # in the way
    summary = measure([stills], out, overlays=True)
    assert summary.count(FileStatus.FAILED) == 1
    assert files_in(out)["3.fake"][2] == "overlay"
    assert len(rows_in(out, "frames")) == 8
    (out / "overlays" / "3.fake.jpg").rmdir()
    assert measure([stills], out).taken_over == 8


def test_annotated_copies_of_an_earlier_run_are_no_inputs(stills, tmp_path):
    out = stills / "measured"
    measure([stills / "0.fake"], out, overlays=True)
    measure([stills / "0.fake", out / "overlays" / "0.fake.jpg"], out, overlays=True)
    told = files_in(out)
    assert told["0.fake"] == ("measured", "", "")
    assert told["0.fake.jpg"] == ("skipped", "an annotated copy of an earlier run", "finding")


def test_what_a_run_with_other_inputs_measured_is_still_known(stills, tmp_path):
    out = tmp_path / "out"
    measure([stills / "0.fake", stills / "1.fake"], out)
    assert measure([stills / "2.fake"], out).taken_over == 0
    assert len(rows_in(out, "files")) == 1
    assert measure([stills], out).taken_over == 3


def make_slow(stills):
    """Every file takes a while, and differs from the others."""
    for number, file in enumerate(sorted(stills.iterdir())):
        file.write_text(f"slow 0.15 {number}", "utf-8")


def test_kill_9_loses_at_most_the_file_in_hand(stills, tmp_path):
    out = tmp_path / "out"
    make_slow(stills)
    process = start_run([stills], out, workers=1)
    wait_for_entries(out, 3, process)
    process.kill()
    process.wait()
    process.communicate()
    assert not (out / "frames.csv").exists()
    done = count_entered(out / "framecheck.sqlite")
    assert is_sound(out / "framecheck.sqlite")
    before = len(noted("still"))
    measure([stills], out)
    assert done >= 3
    assert len(noted("still")) - before == 8 - done  # nothing measured twice but the file in hand
    measure([stills], tmp_path / "straight")
    assert tables_in(out) == tables_in(tmp_path / "straight")


def test_ctrl_c_writes_the_tables_of_what_is_done(stills, tmp_path):
    out = tmp_path / "out"
    make_slow(stills)
    process = start_run([stills], out, workers=1)
    wait_for_entries(out, 2, process)
    os.killpg(process.pid, signal.SIGINT)  # as a terminal does: parent and workers alike
    words, trouble = process.communicate(timeout=20)
    interrupted, left, rows = words.split()
    assert interrupted == "True", trouble
    assert int(left) + int(rows) == 8
    assert int(left) > 0
    assert trouble == ""
    assert len(rows_in(out, "files")) == int(rows)
    summary = measure([stills], out)
    assert summary.taken_over >= int(rows)
    measure([stills], tmp_path / "straight")
    assert tables_in(out) == tables_in(tmp_path / "straight")


def test_a_full_disk_is_told_and_leaves_the_old_tables(stills, tmp_path, monkeypatch):
    out = tmp_path / "out"
    measure([stills], out)
    before = tables_in(out)
    (stills / "0.fake").write_text("33", "utf-8")

    def full(descriptor):
        raise OSError(28, "No space left on device")

    order = order_for([stills], out)
    monkeypatch.setattr(atomic.os, "fsync", full)
    with pytest.raises(ExportError, match="No space left on device"):
        measure_to_tables(order)
    assert tables_in(out) == before
    assert [path.name for path in out.iterdir() if path.name.startswith(".")] == []


def test_an_output_folder_that_is_a_file_is_a_wrong_option(stills, tmp_path):
    (tmp_path / "out").write_text("taken", "utf-8")
    with pytest.raises(ConfigError, match="cannot use"):
        measure([stills], tmp_path / "out")


def test_jsonl_and_csv_hold_the_same_pictures(stills, tmp_path):
    measure([stills], tmp_path / "out", format_name="jsonl")
    rows = [json.loads(line) for line in (tmp_path / "out" / "frames.jsonl").open("rb")]
    assert [row["file"] for row in rows] == [f"{n}.fake" for n in range(8)]
    assert all(row["vocabulary"] == "trade" for row in rows)


def test_the_originals_stay_as_they_were(stills, tmp_path):
    copy = shutil.copytree(stills, tmp_path / "copy")
    measure([stills], stills / "out", overlays=True)
    for file in copy.iterdir():
        assert (stills / file.name).read_bytes() == file.read_bytes()


def test_the_watcher_hears_of_every_input_and_how_far_the_run_is(stills, tmp_path):
    ended, states = [], []
    watcher = Watcher(
        moved=states.append,
        ended=lambda row, seconds: ended.append((row["file"], row["status"], seconds >= 0)),
        told=lambda words: None,
    )
    (stills / "2.fake").write_text("torn", "utf-8")
    measure([stills], tmp_path / "out", watcher=watcher)
    statuses = {f"{n}.fake": "failed" if n == 2 else "measured" for n in range(8)}
    assert {file: status for file, status, _ in ended} == statuses
    assert len(ended) == 8
    assert all(isinstance(state, RunState) and state.total == 8 for state in states)
    shares = [state.share for state in states]
    assert shares == sorted(shares)
