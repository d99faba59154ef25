"""A run from inputs to tables: the same bytes however it is done, and nothing lost on the way."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from framecheck.errors import ConfigError, ExportError
from framecheck.export import atomic
from framecheck.pipeline.pool import PoolLimits
from framecheck.pipeline.run import measure_to_tables
from framecheck.pipeline.settings import Settings
from framecheck.pipeline.stills import plan_order
from framecheck.records.judged import FileStatus
from tests.pipeline.conftest import ROOT
from tests.pipeline.fakes import FAKE_TOOLS

TABLES = ("frames.csv", "people.csv", "files.csv")


@pytest.fixture
def stills(tmp_path):
    folder = tmp_path / "stills"
    folder.mkdir()
    for number in range(8):
        (folder / f"{number}.fake").write_text(str(5 + 4 * number), "utf-8")
    return folder


def order_for(paths, out, *, workers=1, task_s=30.0, afresh=False, format_name="csv", **settings):
    order = plan_order([str(path) for path in paths], out, Settings(**settings), FAKE_TOOLS)
    limits = PoolLimits(workers=workers, task_s=task_s)
    return order.with_handling(limits=limits, format_name=format_name, afresh=afresh)


def measure(paths, out, **options):
    return measure_to_tables(order_for(paths, out, **options))


def tables_in(out):
    return {name: (out / name).read_bytes() for name in TABLES}


def test_one_worker_and_three_write_the_same_bytes(stills, tmp_path):
    (stills / "0.fake").write_text("slow 0.5", "utf-8")  # so that the order of ending differs
    measure([stills], tmp_path / "one", workers=1)
    measure([stills], tmp_path / "three", workers=3)
    assert tables_in(tmp_path / "one") == tables_in(tmp_path / "three")
    lines = (tmp_path / "one" / "frames.csv").read_text("utf-8").splitlines()
    assert [line.split(",")[0] for line in lines[1:]] == [f"{n}.fake" for n in range(8)]


def test_every_input_has_one_row_that_says_how_it_fared(stills, tmp_path):
    (stills / "1.fake").write_text("torn", "utf-8")
    (stills / "2.fake").write_text("die", "utf-8")
    (stills / "3.fake").write_text("slow 60", "utf-8")
    (stills / "4.fake").write_text("odd", "utf-8")
    summary = measure([stills, tmp_path / "absent"], tmp_path / "out", workers=2, task_s=2.0)
    rows = {row["file"]: row for row in summary.files}
    assert len(summary.files) == len(rows) == 9
    told = {name: (row["status"], row["why"], row["where"]) for name, row in rows.items()}
    assert told["0.fake"] == ("measured", "", "")
    assert told["1.fake"] == ("failed", "the data ends too early", "reading")
    assert told["2.fake"] == ("failed", "the worker ended with exit code 7", "worker")
    assert told["3.fake"] == ("failed", "took longer than 2 s", "worker")
    assert told["4.fake"][1] == "unexpected KeyError: 'surprise'"
    assert told["4.fake"][2].startswith("reading (fakes.py:")
    assert told["absent"] == ("failed", "no such file", "finding")
    assert summary.count(FileStatus.MEASURED) == 4
    assert len(summary.frames) == 4


def test_a_second_run_takes_over_what_is_unchanged_and_writes_the_same_bytes(stills, tmp_path):
    out = tmp_path / "out"
    measure([stills], out)
    first = tables_in(out)
    again = measure([stills], out)
    assert again.taken_over == 8
    assert tables_in(out) == first
    (stills / "3.fake").write_text("12", "utf-8")
    changed = measure([stills], out)
    assert changed.taken_over == 7
    assert tables_in(out)["frames.csv"] != first["frames.csv"]


def test_other_settings_or_afresh_take_nothing_over(stills, tmp_path):
    out = tmp_path / "out"
    measure([stills], out)
    assert measure([stills], out, vocabularies=("nine-class",)).taken_over == 0
    assert measure([stills], out, vocabularies=("nine-class",), afresh=True).taken_over == 0


def test_what_failed_is_tried_again(stills, tmp_path):
    out = tmp_path / "out"
    (stills / "3.fake").write_text("die", "utf-8")
    assert measure([stills], out).count(FileStatus.FAILED) == 1
    again = measure([stills], out)
    assert (again.taken_over, again.count(FileStatus.FAILED)) == (7, 1)


def test_a_lost_annotated_copy_is_drawn_again(stills, tmp_path):
    out = tmp_path / "out"
    measure([stills], out, overlays=True)
    drawn = sorted((out / "overlays").iterdir())
    assert len(drawn) == 8
    drawn[2].unlink()
    again = measure([stills], out, overlays=True)
    assert again.taken_over == 7
    assert sorted((out / "overlays").iterdir()) == drawn


def test_annotated_copies_of_an_earlier_run_are_no_inputs(stills, tmp_path):
    out = stills / "measured"
    measure([stills / "0.fake"], out, overlays=True)
    summary = measure([stills / "0.fake", out / "overlays"], out, overlays=True)
    rows = {row["file"]: row for row in summary.files}
    assert rows["0.fake"]["status"] == "measured"
    assert rows["0.fake.jpg"]["status"] == "skipped"
    assert rows["0.fake.jpg"]["why"] == "an annotated copy of an earlier run"


def test_a_torn_last_line_of_the_journal_costs_that_entry_alone(stills, tmp_path):
    out = tmp_path / "out"
    measure([stills], out)
    whole = tables_in(out)
    journal = out / "progress.jsonl"
    journal.write_bytes(journal.read_bytes()[:-40])
    assert measure([stills], out).taken_over == 7
    assert tables_in(out) == whole


def test_what_a_run_with_other_inputs_measured_is_still_known(stills, tmp_path):
    out = tmp_path / "out"
    measure([stills / "0.fake", stills / "1.fake"], out)
    assert measure([stills / "2.fake"], out).taken_over == 0
    assert len((out / "files.csv").read_text("utf-8").splitlines()) == 2
    assert measure([stills], out).taken_over == 3


def _start(stills, out):
    """A run in a process of its own, one worker, every file taking a while."""
    for file in stills.iterdir():
        file.write_text("slow 0.3", "utf-8")
    code = (
        "import signal, sys; sys.path.insert(0, sys.argv[1])\n"
        "from tests.pipeline.test_run import measure\n"
        "if __name__ == '__main__':\n"
        # whoever starts the tests in the background has made their children deaf to Ctrl-C
        "    signal.signal(signal.SIGINT, signal.default_int_handler)\n"
        "    from pathlib import Path\n"
        "    summary = measure([Path(sys.argv[2])], Path(sys.argv[3]))\n"
        "    print(summary.interrupted, summary.left, len(summary.files))\n"
    )
    return subprocess.Popen(
        [sys.executable, "-c", code, ROOT, str(stills), str(out)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def _wait_for_lines(journal, count, process):
    deadline = time.monotonic() + 30
    while time.monotonic() < deadline and process.poll() is None:
        if journal.exists() and journal.read_bytes().count(b"\n") >= count:
            return
        time.sleep(0.02)
    raise AssertionError(f"no {count} lines in the journal: {process.communicate()}")


def test_kill_9_loses_at_most_the_file_in_hand(stills, tmp_path):
    out = tmp_path / "out"
    process = _start(stills, out)
    _wait_for_lines(out / "progress.jsonl", 3, process)
    process.kill()
    process.wait()
    process.communicate()
    done = (out / "progress.jsonl").read_bytes().count(b"\n")
    assert not (out / "frames.csv").exists()
    summary = measure([stills], out)
    assert summary.taken_over == done >= 3
    measure([stills], tmp_path / "straight")
    assert tables_in(out) == tables_in(tmp_path / "straight")


def test_ctrl_c_writes_the_tables_of_what_is_done(stills, tmp_path):
    out = tmp_path / "out"
    process = _start(stills, out)
    _wait_for_lines(out / "progress.jsonl", 2, process)
    os.killpg(process.pid, signal.SIGINT)  # as a terminal does: parent and workers alike
    words, trouble = process.communicate(timeout=20)
    interrupted, left, rows = words.split()
    assert interrupted == "True", trouble
    assert int(left) + int(rows) == 8
    assert int(left) > 0
    assert trouble == ""
    assert len((out / "files.csv").read_text("utf-8").splitlines()) == int(rows) + 1
    assert measure([stills], out).taken_over == int(rows)


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


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_journal_on_a_full_disk_is_told(stills, tmp_path):
    from framecheck.pipeline.journal import Entry, Journal

    journal = Journal(tmp_path)
    with journal.open([]), Path("/dev/full").open("ab", buffering=0) as full:
        journal._file.close()
        journal._file = full
        with pytest.raises(ExportError, match="No space left on device"):
            journal.add(Entry(key="k", file_row={}))


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
