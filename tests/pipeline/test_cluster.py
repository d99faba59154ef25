"""Runs on a real Dask cluster of several processes: the same bytes, whatever happens to it.

The work is that of the fakes, but for one test with the real networks.
"""

import os
import shutil
import signal
import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

pytest.importorskip("distributed")

from framecheck.errors import WorkerError
from framecheck.pipeline.order import RunLimits, Watcher
from framecheck.pipeline.plan import plan_order, real_tools
from framecheck.pipeline.run import measure_to_tables
from framecheck.pipeline.settings import Settings
from tests.media.clip_builders import Recipe, a_clip
from tests.media.servers import WebServer
from tests.pipeline.clusters import Cluster, free_port, wait_until
from tests.pipeline.conftest import ROOT
from tests.pipeline.fakes import DRAG
from tests.pipeline.obedient import MARKS, noted
from tests.pipeline.runs import (
    files_in,
    measure,
    order_for,
    rows_in,
    tables_in,
    wait_for_entries,
    write_clip,
)

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="workers are killed by signals")

SHOTS = [[24, size] for size in (20, 12, 30, 8)]
LOST = "the worker of the cluster that had it was lost, 2 times"


@pytest.fixture(scope="module")
def cluster(tmp_path_factory):
    """Two workers, and a third one on a slow machine."""
    cluster = Cluster(tmp_path_factory.mktemp("cluster"))
    try:
        cluster.start_scheduler()
        cluster.start_workers(2, "quick")
        cluster.start_workers(1, "slow", **{DRAG: "1.5"})
        cluster.wait_for(3)
        yield cluster
    finally:
        cluster.stop()


@pytest.fixture(autouse=True)
def marks_of_cluster(request, monkeypatch):
    """What the fakes on the workers leave behind, emptied before each test."""
    if "cluster" in request.fixturenames:
        cluster = request.getfixturevalue("cluster")
        cluster.wait_for(3)
        for mark in cluster.marks.iterdir():
            mark.unlink()
        monkeypatch.setenv(MARKS, str(cluster.marks))


def measure_there(cluster, paths, out, *, watcher=None, **options):
    """Run an order over fakes on the cluster."""
    return measure_to_tables(
        replace(order_for(paths, out, **options), place=cluster.place), watcher
    )


def watching(told):
    """A watcher that keeps what it is told."""
    return Watcher(moved=lambda _: None, ended=lambda _row, _s: None, told=told.append)


@pytest.fixture
def inputs(tmp_path):
    """Stills and clips, of which some fail in different ways."""
    folder = tmp_path / "in"
    folder.mkdir()
    texts = ["10", "torn", "odd", "25", "growing", "10"]  # the last one is the first one's copy
    for number, text in enumerate(texts):
        (folder / f"{number}.still").write_text(text, "utf-8")
    write_clip(folder / "a.clip", SHOTS)
    write_clip(folder / "b.clip", [*SHOTS, [24, 30, "odd"]], start="01:00:00:00")
    write_clip(folder / "c.clip", SHOTS, at={"60": "torn"})
    write_clip(folder / "d.clip", SHOTS, at={"60": "grow"})
    (folder / "e.clip").write_text("no clip", "utf-8")
    return folder


def test_the_same_bytes_as_here_failures_included(cluster, inputs, tmp_path, monkeypatch):
    kept = tmp_path / "kept"
    shutil.copytree(inputs, kept, copy_function=shutil.copy2)
    monkeypatch.chdir(tmp_path)  # names in messages are those that were given, not absolute ones
    measure([Path("in")], tmp_path / "here")
    shutil.rmtree(inputs)  # some have changed themselves
    shutil.copytree(kept, inputs, copy_function=shutil.copy2)
    summary = measure_there(cluster, [Path("in")], tmp_path / "there")
    assert tables_in(tmp_path / "there") == tables_in(tmp_path / "here")
    assert summary.shot_count == 4 + 4 + 3
    assert {status for status, _why, _where in files_in(tmp_path / "there").values()} == {
        "measured", "failed",
    }  # fmt: skip


def test_what_was_measured_there_is_taken_over_here_and_the_other_way_round(cluster, tmp_path):
    clip = write_clip(tmp_path / "a.clip", SHOTS)
    assert measure_there(cluster, [clip], tmp_path / "out").taken_over == 0
    assert measure([clip], tmp_path / "out").taken_over == 1
    assert measure_there(cluster, [clip], tmp_path / "out").taken_over == 1
    assert len(noted("measured")) == 2 * len(SHOTS)  # two frames of each, once


def test_annotated_copies_are_written_here(cluster, tmp_path):
    still = tmp_path / "a.still"
    still.write_text("10", "utf-8")
    measure([still], tmp_path / "here", overlays=True)
    measure_there(cluster, [still], tmp_path / "there", overlays=True)
    (drawn,) = (tmp_path / "there" / "overlays").glob("*.jpg")
    assert drawn.read_bytes() == (tmp_path / "here" / "overlays" / drawn.name).read_bytes()


def test_a_worker_is_killed_in_the_middle_of_a_clip(cluster, tmp_path):
    clip = write_clip(tmp_path / "a.clip", SHOTS, at={"60": "hang-once"})
    others = [write_clip(tmp_path / f"{n}.clip", [[24, 10 + n]]) for n in range(4)]

    def kill():
        wait_until((cluster.marks / "read a.clip").exists)
        with cluster.client() as client:
            pids = client.run(os.getpid)
            busy = {at for at, calls in client.call_stack().items() if _hangs(calls)}
            assert len(busy) == 1
            os.kill(pids[busy.pop()], signal.SIGKILL)

    killer = threading.Thread(target=kill)
    killer.start()
    measure_there(cluster, [clip, *others], tmp_path / "out")
    killer.join()
    assert files_in(tmp_path / "out")["a.clip"] == ("measured", "", "")
    measure([clip, *others], tmp_path / "straight")
    assert tables_in(tmp_path / "out") == tables_in(tmp_path / "straight")


def _hangs(calls):
    return any("time.sleep(600)" in frame for frames in calls.values() for frame in frames)


def test_a_clip_that_kills_its_worker_is_quarantined_after_two_tries(cluster, tmp_path):
    poison = write_clip(tmp_path / "poison.clip", SHOTS, at={"60": "die"})
    good = [write_clip(tmp_path / f"{n}.clip", [[24, 10 + n]]) for n in range(6)]
    measure_there(cluster, [good[0], poison, *good[1:]], tmp_path / "out")
    files = files_in(tmp_path / "out")
    status, why, where = files.pop("poison.clip")
    assert (status, where) == ("failed", "cluster")
    assert why.startswith(LOST)
    assert set(files.values()) == {("measured", "", "")}
    assert noted("read").count("1") == 2  # the others have one shot: it was tried twice, no more


def test_a_still_that_kills_its_worker_is_quarantined_and_one_that_does_it_once_is_not(
    cluster, tmp_path
):
    for name in ("die", "once", "10", "20"):
        (tmp_path / f"{name}.still").write_text(name, "utf-8")
    measure_there(cluster, sorted(tmp_path.glob("*.still")), tmp_path / "out")
    files = files_in(tmp_path / "out")
    assert files.pop("die.still")[0] == "failed"
    assert set(files.values()) == {("measured", "", "")}


def test_a_clip_that_falls_silent_is_given_up_at_its_limit(cluster, tmp_path):
    clip = write_clip(tmp_path / "a.clip", SHOTS, at={"60": "hang"})
    measure_there(cluster, [clip], tmp_path / "out", limits={"task_s": 1.0})
    assert files_in(tmp_path / "out")["a.clip"] == ("failed", "took longer than 1 s", "cluster")
    assert noted("read") == ["0", "1"]  # and not tried again


def test_what_waits_at_a_slow_worker_is_done_by_others(cluster, tmp_path):
    stills = []
    for number in range(30):
        still = tmp_path / f"{number:02}.still"
        still.write_text(f"drag {number}", "utf-8")
        stills.append(still)
    measure_there(cluster, stills, tmp_path / "out")
    assert {status for status, _, _ in files_in(tmp_path / "out").values()} == {"measured"}
    assert len(rows_in(tmp_path / "out", "frames")) == 30
    slow = noted("drag").count("slow")
    assert 1 <= slow <= 5  # in the time of these, the quick ones have done the rest
    with cluster.client() as client:
        events = [event for _time, event in client.get_events("stealing")]
    moved = [one for event in events for one in _confirmed(event)]
    assert moved


def _confirmed(event):
    """The tasks that one event of Dask's stealing says were moved."""
    entries = event if isinstance(event, list | tuple) else [event]
    entries = entries if entries and isinstance(entries[0], list | tuple) else [entries]
    return [entry for entry in entries if entry and "confirm" in entry[0]]


def test_ctrl_c_lets_the_workers_go_and_the_next_run_goes_on(cluster, tmp_path):
    quick = write_clip(tmp_path / "a.clip", SHOTS)
    slow = write_clip(tmp_path / "b.clip", [[24, 9, "slow"]] * 60)

    def interrupt(row, seconds):
        raise KeyboardInterrupt

    watcher = Watcher(moved=lambda _: None, ended=interrupt, told=lambda _: None)
    summary = measure_there(cluster, [quick, slow], tmp_path / "out", watcher=watcher)
    assert (summary.interrupted, summary.left) == (True, 1)
    with cluster.client() as client:
        wait_until(lambda: not any(client.processing().values()), 5.0)  # of some 15 s of work
    assert [row["file"] for row in rows_in(tmp_path / "out", "files")] == ["a.clip"]


def test_kill_9_of_the_program_keeps_what_was_entered_and_the_next_run_goes_on(cluster, tmp_path):
    quick = write_clip(tmp_path / "a.clip", SHOTS)
    slow = write_clip(tmp_path / "b.clip", [[24, 9, "slow"]] * 12)
    code = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from dataclasses import replace\n"
        "from pathlib import Path\n"
        "from framecheck.pipeline.run import measure_to_tables\n"
        "from tests.pipeline.runs import order_for\n"
        "order = order_for([Path(path) for path in sys.argv[4:]], Path(sys.argv[2]))\n"
        "measure_to_tables(replace(order, place=sys.argv[3]))\n"
    )
    out = tmp_path / "out"
    words = [ROOT, str(out), cluster.place, str(quick), str(slow)]
    process = subprocess.Popen([sys.executable, "-c", code, *words])
    try:
        wait_for_entries(out, len(SHOTS), process, "shots")
    finally:
        process.kill()
        process.wait()
    assert not (out / "shots.csv").exists()
    assert measure_there(cluster, [quick, slow], out).taken_over == 1
    measure([quick, slow], tmp_path / "straight")
    assert tables_in(out) == tables_in(tmp_path / "straight")


@pytest.fixture
def mortal(tmp_path_factory, monkeypatch):
    """A cluster whose scheduler may be killed."""
    cluster = Cluster(tmp_path_factory.mktemp("mortal"))
    monkeypatch.setenv(MARKS, str(cluster.marks))
    try:
        cluster.start_scheduler()
        cluster.start_workers(2, "first")
        yield cluster
    finally:
        cluster.stop()


def test_a_scheduler_is_killed_and_started_again(mortal, tmp_path):
    clips = [write_clip(tmp_path / f"{n}.clip", [[24, 10 + n, "slow"]] * 3) for n in range(5)]
    told = []

    def restart():
        wait_until(lambda: len(noted("measured")) > 8)  # of six for each clip
        mortal.kill_scheduler()
        mortal.kill_workers()
        wait_until(lambda: any("gone away" in words for words in told))
        mortal.start_scheduler()
        mortal.start_workers(2, "again")

    restarter = threading.Thread(target=restart)
    restarter.start()
    measure_there(mortal, clips, tmp_path / "out", watcher=watching(told))
    restarter.join()
    assert any("is back" in words for words in told), told
    assert {status for status, _, _ in files_in(tmp_path / "out").values()} == {"measured"}
    before = len(noted("measured"))
    assert before < 2 * 5 * 3 * 2  # what was done before was not done again
    measure(clips, tmp_path / "straight")
    assert tables_in(tmp_path / "out") == tables_in(tmp_path / "straight")


def test_a_scheduler_that_is_not_there_is_said_so(tmp_path, monkeypatch):
    monkeypatch.setattr("framecheck.pipeline.dask_link.ANSWER_S", 0.5)
    clip = write_clip(tmp_path / "a.clip", SHOTS)
    order = replace(order_for([clip], tmp_path / "out"), place=f"dask://127.0.0.1:{free_port()}")
    with pytest.raises(WorkerError, match="does not answer; start it with 'dask scheduler'"):
        measure_to_tables(order)


def test_workers_with_another_framecheck_take_no_part(cluster, tmp_path):
    clip = write_clip(tmp_path / "a.clip", SHOTS)
    order = replace(order_for([clip], tmp_path / "out"), place=cluster.place, fingerprint="other")
    told = []
    with pytest.raises(WorkerError, match=r"no worker .* another version of framecheck"):
        measure_to_tables(order, watching(told))
    assert sum("is not used" in words for words in told) == 3
    assert noted("measured") == []


def test_a_folder_that_workers_do_not_see(cluster, tmp_path, monkeypatch):
    clip = write_clip(tmp_path / "a.clip", SHOTS)
    monkeypatch.setattr(
        "framecheck.pipeline.dask_executor._from_anywhere",
        lambda path: Path("/nowhere") / path.name,
    )
    with pytest.raises(WorkerError, match="does not see the folder /nowhere"):
        measure_there(cluster, [clip], tmp_path / "out")


@pytest.mark.model
def test_the_networks_on_workers_measure_addresses_as_a_disk_here(cluster, tmp_path):
    """The real thing: models provided and checked on the workers, files from a web server."""
    pytest.importorskip("aiohttp")
    served = tmp_path / "served"
    served.mkdir()
    sample = Path(ROOT) / "sample_frames" / "09-builder-chest.jpg"
    picture = np.asarray(Image.open(sample).convert("RGB").resize((640, 360)))
    Image.fromarray(picture).save(served / "still.png")
    pictures = lambda number: np.roll(picture, -number, axis=1)  # noqa: E731
    a_clip(served / "talk.mp4", Recipe(wh=(640, 360), frames=12), pictures)
    names = ("still.png", "talk.mp4")
    measure_real([served / name for name in names], tmp_path / "here")
    with WebServer(served) as web:
        prefix = web.at("", signed=False)
        measure_real([web.at(name) for name in names], tmp_path / "there", place=cluster.place)
    assert files_in(tmp_path / "there")[f"{prefix}talk.mp4"] == ("measured", "", "")
    for name, content in tables_in(tmp_path / "there").items():
        same = content.replace(prefix.encode(), f"{served}/".encode())
        assert same == (tmp_path / "here" / name).read_bytes()


def measure_real(paths, out, place="local"):
    """A run with the real adapters."""
    from framecheck.report.overlay_file import write_overlay

    order = plan_order([str(path) for path in paths], out, Settings(), real_tools(write_overlay))
    return measure_to_tables(replace(order, limits=RunLimits(workers=1), place=place))
