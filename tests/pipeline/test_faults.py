"""What goes wrong in the night: each with its outcome.

Whatever happens, the clip's row says so, nothing measured is lost, nothing is measured twice, and
the catalog passes its integrity check.
"""

import os
import signal
import sqlite3
import subprocess
import sys
import time

import psutil
import pytest

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.measurements import State
from framecheck.errors import CatalogError
from framecheck.pipeline.order import Watcher
from tests.pipeline.conftest import ROOT
from tests.pipeline.obedient import noted
from tests.pipeline.runs import (
    count_entered,
    files_in,
    is_sound,
    measure,
    rows_in,
    start_run,
    tables_in,
    wait_for_entries,
    write_clip,
)

SIZES = (20, 12, 30, 8, 26, 15)
SHOTS = [[24, size] for size in SIZES]
"""Six shots of two frames each to measure, every figure of another size."""


@pytest.fixture
def clip(tmp_path):
    return write_clip(tmp_path / "a.clip", SHOTS)


@pytest.fixture
def slow_clip(tmp_path):
    return write_clip(tmp_path / "a.clip", [[24, size, "slow"] for size in SIZES])


@pytest.fixture
def out(tmp_path):
    return tmp_path / "out"


def check_nothing_lost(paths, out, tmp_path):
    """A further run completes the tables, which are those of a run that nothing befell."""
    catalog = out / "framecheck.sqlite"
    assert is_sound(catalog)
    kept = count_entered(catalog, "shots")
    before = len(noted("measured"))
    measure(paths, out)
    assert is_sound(catalog)
    again = len(noted("measured")) - before
    measure(paths, tmp_path / "straight")
    assert tables_in(out) == tables_in(tmp_path / "straight")
    frames = len(rows_in(out, "frames"))
    shots = len(rows_in(out, "shots"))
    assert again == frames - kept * frames // shots  # only what had not been entered
    return kept


def test_kill_9_of_the_program_in_the_middle_of_a_clip(slow_clip, out, tmp_path):
    process = start_run([slow_clip], out, workers=1)
    wait_for_entries(out, 2, process, "shots")
    workers = psutil.Process(process.pid).children(recursive=True)
    process.kill()
    process.wait()
    process.communicate()
    assert not (out / "shots.csv").exists()
    _gone, alive = psutil.wait_procs(workers, timeout=10)
    assert [p for p in alive if "resource_tracker" not in " ".join(p.cmdline())] == []
    assert 2 <= check_nothing_lost([slow_clip], out, tmp_path) < len(SIZES)


def test_ctrl_c_in_the_middle_of_a_clip(slow_clip, out, tmp_path):
    process = start_run([slow_clip], out, workers=1)
    wait_for_entries(out, 2, process, "shots")
    os.killpg(process.pid, signal.SIGINT)
    words, trouble = process.communicate(timeout=20)
    assert words.split() == ["True", "1", "0"], trouble
    assert trouble == ""
    assert rows_in(out, "files") == []  # what is not whole is left for the next run
    check_nothing_lost([slow_clip], out, tmp_path)


def test_one_measuring_worker_is_killed(clip, out, tmp_path):
    write_clip(clip, [*SHOTS[:2], [24, 30, "die-once"], *SHOTS[3:]])
    measure([clip], out, limits={"workers": 2})
    assert files_in(out)["a.clip"] == ("measured", "", "")
    assert is_sound(out / "framecheck.sqlite")
    measure([clip], tmp_path / "straight")
    assert tables_in(out) == tables_in(tmp_path / "straight")


def test_a_shot_that_kills_its_worker_every_time(clip, out):
    write_clip(clip, [*SHOTS[:2], [24, 30, "die"], *SHOTS[3:]])
    measure([clip], out, limits={"workers": 2})
    assert files_in(out)["a.clip"] == (
        "failed",
        "the worker ended with exit code 7, 2 times",
        "shot 2",
    )
    assert [row["shot"] for row in rows_in(out, "shots")] == ["0", "1", "3", "4", "5"]
    before = len(noted("measured"))
    write_clip(clip, [*SHOTS[:2], [24, 30, "die"], *SHOTS[3:]])
    measure([clip], out)
    assert len(noted("measured")) - before == 2  # that shot alone, twice
    assert is_sound(out / "framecheck.sqlite")


def test_the_reader_is_killed(clip, out, tmp_path):
    write_clip(clip, SHOTS, at={"100": "die-once"})
    measure([clip], out)
    assert files_in(out)["a.clip"] == ("measured", "", "")
    assert len(noted("measured")) == len(rows_in(out, "frames"))
    measure([clip], tmp_path / "straight")
    assert tables_in(out) == tables_in(tmp_path / "straight")


def test_a_clip_that_kills_its_reader_every_time(clip, out):
    write_clip(clip, SHOTS, at={"100": "die"})
    measure([clip], out)
    status, why, where = files_in(out)["a.clip"]
    assert (status, why) == ("failed", "the reader ended with exit code 7, 2 times")
    assert where in {"opening", "after frame 100"} or where.startswith("after frame ")
    # the shots that had ended are kept; of the one in hand nobody knows where it ends
    assert [row["shot"] for row in rows_in(out, "shots")] == ["0", "1", "2", "3"]
    assert len(noted("measured")) == len(rows_in(out, "frames"))
    assert is_sound(out / "framecheck.sqlite")


def test_a_clip_that_hangs_the_decoder(clip, out, tmp_path):
    other = write_clip(tmp_path / "b.clip", [[24, 22]])
    write_clip(clip, SHOTS, at={"100": "hang"})
    started = time.monotonic()
    measure([clip, other], out, limits={"task_s": 1.0})
    assert time.monotonic() - started < 20
    status, why, where = files_in(out)["a.clip"]
    assert (status, why) == ("failed", "no frame came: took longer than 1 s")
    assert where.startswith("after frame ") or where == "opening"
    assert files_in(out)["b.clip"] == ("measured", "", "")
    kept = [row["shot"] for row in rows_in(out, "shots") if row["file"] == "a.clip"]
    assert kept == ["0", "1", "2", "3"]
    assert is_sound(out / "framecheck.sqlite")


def test_a_clip_that_hung_once_goes_on_where_it_was(clip, out, tmp_path):
    write_clip(clip, SHOTS, at={"100": "hang-once"})
    measure([clip], out, limits={"task_s": 1.0})
    assert files_in(out)["a.clip"][0] == "failed"
    assert check_nothing_lost([clip], out, tmp_path) == 4


def test_a_file_that_is_still_being_copied(clip, out):
    write_clip(clip, SHOTS[:3], at={"60": "grow"})
    measure([clip], out)
    status, why, _ = files_in(out)["a.clip"]
    assert status == "failed"
    assert why.startswith("it changed while it was measured")
    assert rows_in(out, "shots") == []  # it was not the file that its content says
    with Catalog.open_to_read(out / "framecheck.sqlite") as catalog:
        assert catalog.counts() == {State.FAILED: 1}
        assert catalog.check() == ()
    write_clip(clip, SHOTS[:3])
    measure([clip], out)
    assert files_in(out)["a.clip"] == ("measured", "", "")
    assert len(rows_in(out, "shots")) == 3


def test_a_drive_that_disappears(clip, out, tmp_path):
    write_clip(clip, SHOTS, at={"100": "vanish"})
    measure([clip, tmp_path / "b.clip"], out)
    status, why, _ = files_in(out)["a.clip"]
    assert status == "failed"
    assert why.startswith("it is no longer there")
    assert [row["shot"] for row in rows_in(out, "shots")] == ["0", "1", "2", "3"]
    measured = len(noted("measured"))
    clip.with_suffix(".gone").rename(clip)  # the drive is back, and stays
    measure([clip], out)
    assert files_in(out)["a.clip"] == ("measured", "", "")
    assert len(noted("measured")) - measured == 4  # the two shots that were missing
    assert is_sound(out / "framecheck.sqlite")


def test_a_drive_that_has_gone_before_its_turn(clip, out, tmp_path):
    others = [write_clip(tmp_path / f"{name}.clip", [[24, 22]]) for name in "bcd"]

    def unplug(row, _seconds):
        if row["file"] == "a.clip":
            for path in others:
                path.unlink(missing_ok=True)

    watcher = Watcher(moved=lambda s: None, ended=unplug, told=lambda w: None)
    write_clip(clip, [[24, 20]])
    many = [write_clip(tmp_path / f"m{n}.clip", [[24, 9 + n]]) for n in range(8)]
    measure([clip, *many, *others], out, watcher=watcher)
    told = files_in(out)
    assert told["a.clip"][0] == "measured"
    assert told["d.clip"][0] == "failed"
    assert "no longer there" in told["d.clip"][1]


def test_a_disk_that_fills_up(clip, out, tmp_path, monkeypatch):
    """The catalog is full in the middle of a clip: one line says so, and what was entered stays."""
    add_shot = Catalog.add_shot

    def add_until_full(self, number, shot_row, frame_rows, people_rows):
        store = self._store
        if shot_row["shot"] == 3:
            pages = store.pragma("page_count")
            store.run(f"PRAGMA max_page_count = {pages}")
            people_rows = [{**row, "notes": "x" * 100_000} for row in people_rows]
        add_shot(self, number, shot_row, frame_rows, people_rows)

    before = worker_processes()  # of other tests: a browser's, say
    with monkeypatch.context() as patch:
        patch.setattr(Catalog, "add_shot", add_until_full)
        with pytest.raises(CatalogError, match="no space left"):
            measure([clip], out)
    assert not (out / "shots.csv").exists()
    assert worker_processes() - before == set()
    assert check_nothing_lost([clip], out, tmp_path) == 3


def worker_processes():
    """Numbers of the processes of this one that are still there."""
    return {
        child.pid
        for child in psutil.Process().children()
        if "resource_tracker" not in " ".join(child.cmdline())
    }


def test_two_runs_at_once_share_the_work(tmp_path):
    """One waits for what the other has in hand; both write the same rows."""
    folder = tmp_path / "rushes"
    folder.mkdir()
    for number, name in enumerate("abc"):
        write_clip(folder / f"{name}.clip", [[24, size + number, "slow"] for size in SIZES[:3]])
    shared = tmp_path / "shared.sqlite"
    code = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from pathlib import Path\n"
        "from tests.pipeline.runs import measure\n"
        "if __name__ == '__main__':\n"
        "    measure([Path(sys.argv[2])], Path(sys.argv[3]), catalog=Path(sys.argv[4]))\n"
    )
    runs = [
        subprocess.Popen([sys.executable, "-c", code, ROOT, folder, tmp_path / out, shared])
        for out in ("one", "two")
    ]
    assert [run.wait(60) for run in runs] == [0, 0]
    assert tables_in(tmp_path / "one") == tables_in(tmp_path / "two")
    assert len(noted("measured")) == len(rows_in(tmp_path / "one", "frames"))
    assert is_sound(shared)


def test_a_run_that_lost_its_work_to_another_takes_over_its_results(slow_clip, out, tmp_path):
    """As when a machine slept through its lease: the other's rows count, none are mixed."""
    stolen = []

    def steal(_state):
        if stolen or count_entered(out / "framecheck.sqlite", "shots") < 2:
            return
        with sqlite3.connect(out / "framecheck.sqlite") as base:
            base.execute("UPDATE measurements SET owner_token = 'another', owner_pid = 1")
        stolen.append(True)

    def hear(words):
        if "waiting for another run" in words:
            with sqlite3.connect(out / "framecheck.sqlite") as base:
                base.execute("UPDATE measurements SET owner_token = NULL")

    watcher = Watcher(moved=steal, ended=lambda r, s: None, told=hear)
    measure([slow_clip], out, watcher=watcher)
    assert stolen
    assert files_in(out)["a.clip"] == ("measured", "", "")
    assert check_nothing_lost([slow_clip], out, tmp_path) == len(SIZES)
