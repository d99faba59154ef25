"""Runs that are killed, that work side by side, that find the disk full: with real processes."""

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import pytest

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.measurements import State
from framecheck.catalog.search import FindQuery
from tests.catalog.builders import LAYOUT, a_frame, a_person, a_shot, lay_down, measure
from tests.catalog.runner import SHOTS

ROOT = Path(__file__).resolve().parents[2]


def start(*words, **options):
    return subprocess.Popen(
        [sys.executable, "-m", "tests.catalog.runner", *map(str, words)],
        stdout=subprocess.PIPE, cwd=ROOT, text=True, **options,
    )  # fmt: skip


def numbers(lines, word):
    return [int(line.split()[1]) for line in lines if line.startswith(f"{word} ")]


def test_kill_in_the_middle_of_writing_loses_nothing_and_measures_nothing_twice(tmp_path) -> None:
    path = tmp_path / "a.sqlite"
    dice = random.Random(3)
    measured: Counter[int] = Counter()
    entered: set[int] = set()
    for blow in range(5):
        lines, code = run_until(path, dice.randint(8, 24), dice.random() * 0.004)
        assert code == -signal.SIGKILL
        assert not set(numbers(lines, "measuring")) & entered, "measured again what was entered"
        measured.update(numbers(lines, "measuring"))
        entered |= set(numbers(lines, "entered"))
        check_whole(copy_of(path, tmp_path / f"copy {blow}"), entered)
    lines, code = run_until(path, None, 0.0)
    assert (code, lines[-1]) == (0, "finished\n")
    measured.update(numbers(lines, "measuring"))
    check_whole(path, set(range(SHOTS)))
    assert set(measured) == set(range(SHOTS))
    # Each blow costs the shot in hand at most.
    assert sum(measured.values()) - SHOTS <= 5


def run_until(path: Path, last_words: int | None, delay_s: float) -> tuple[list[str], int]:
    """What a run says, and its end: by itself, or killed a moment after so many lines."""
    run = start("measure-slowly", path)
    lines = []
    for line in run.stdout:
        lines.append(line)
        if len(lines) == last_words:
            # A moment later, so that the blow falls anywhere in the making of an entry.
            time.sleep(delay_s)
            run.kill()
    return lines, run.wait()


def copy_of(path: Path, folder: Path) -> Path:
    """The files as the killed run left them, before anything opens and mends them."""
    folder.mkdir()
    for file in path.parent.glob(f"{path.name}*"):
        shutil.copy(file, folder)
    return folder / path.name


def check_whole(path: Path, entered: set[int]) -> None:
    """SQLite finds no fault, what was entered is there, and every shot is there whole."""
    raw = sqlite3.connect(path)
    assert raw.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert raw.execute("PRAGMA foreign_key_check").fetchall() == []
    raw.close()
    with Catalog.open_to_read(path) as catalog:
        number = catalog.lookup("content", "settings").id
        done = catalog.shots_done(number)
        assert entered <= done
        rows = catalog.rows(number)
    assert {row["shot"] for row in rows.shots} == done
    assert Counter(row["shot"] for row in rows.frames) == dict.fromkeys(done, 5)
    assert len(rows.people) == 4 * len(done)
    assert all(row["crop_level"] == row["shot"] + row["frame"] / 1000 for row in rows.frames)


def test_a_killed_run_is_taken_over_at_once_and_a_live_one_is_not(tmp_path) -> None:
    path = tmp_path / "a.sqlite"
    run = start("hold", path, stdin=subprocess.PIPE)
    assert run.stdout.readline().startswith("begun ")
    with Catalog.open(path, layout=LAYOUT) as catalog:
        assert catalog.begin("content", "settings", "clip", "{}") is None
        there = catalog.lookup("content", "settings")
        assert (there.state, there.busy) == (State.RUNNING, True)
        os.kill(run.pid, signal.SIGKILL)
        deadline = time.monotonic() + 10
        # Not waited for yet: it is dead, but the system still lists it.
        while catalog.lookup("content", "settings").busy and time.monotonic() < deadline:
            time.sleep(0.01)
        assert catalog.begin("content", "settings", "clip", "{}") == there.id
        assert catalog.lookup("content", "settings").attempts == 2
    run.communicate()


def test_runs_side_by_side_measure_everything_once(tmp_path) -> None:
    path = tmp_path / "a.sqlite"
    contents = 60
    start_s = time.time() + 1.0
    runs = [start("measure-together", path, contents, seed, start_s) for seed in range(3)]
    told = [run.communicate(timeout=60)[0].splitlines() for run in runs]
    assert [run.returncode for run in runs] == [0, 0, 0]
    assert all(lines[-1] == "ended" for lines in told)
    measured = Counter(line for lines in told for line in lines if line != "ended")
    assert len(measured) == contents
    assert set(measured.values()) == {1}
    # A test in which one run did it all would show nothing.
    assert sum(len(lines) > 1 for lines in told) >= 2
    with Catalog.open_to_read(path) as catalog:
        assert catalog.counts() == {State.MEASURED: contents}
        assert catalog.check() == ()
        number = catalog.lookup("content 7", "settings").id
        assert [row["shot"] for row in catalog.rows(number).shots] == [0, 1, 2]


def test_several_runs_make_the_same_new_catalog(tmp_path) -> None:
    path = tmp_path / "deep" / "a.sqlite"
    start_s = time.time() + 1.0
    runs = [start("make-anew", path, start_s) for _ in range(4)]
    assert [run.communicate(timeout=60)[0] for run in runs] == ["made\n"] * 4
    with Catalog.open_to_read(path) as catalog:
        assert catalog.counts() == {State.MEASURED: 4}
        assert catalog.check() == ()


def test_a_full_disk_is_told_and_loses_nothing(tmp_path) -> None:
    path = tmp_path / "a.sqlite"
    run = start("fill-the-disk", path, 2_000_000)
    lines = run.communicate(timeout=60)[0].splitlines()
    assert run.returncode == 0
    (entered,) = numbers(lines, "entered")
    assert entered > 10
    assert "space" in lines[-1]
    assert str(path) in lines[-1]
    # With room again, the next run goes on.
    with Catalog.open(path, layout=LAYOUT) as catalog:
        assert catalog.check() == ()
        number = catalog.begin("content", "settings", "clip", "{}")
        assert catalog.shots_done(number) == set(range(entered))
        catalog.add_shot(number, a_shot(entered), [a_frame(entered)], [])


@pytest.fixture
def open_folder():
    """A folder that every user can enter, unlike those of pytest."""
    folder = Path(tempfile.mkdtemp())
    folder.chmod(0o755)
    yield folder
    folder.chmod(0o755)
    shutil.rmtree(folder)


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_a_folder_that_may_only_be_read(open_folder) -> None:
    path = open_folder / "a.sqlite"
    with Catalog.open(path, layout=LAYOUT) as catalog:
        measure(catalog, lay_down(open_folder, "a.mov", b"a"), [(a_shot(), [a_person()])])
    path.chmod(0o444)
    open_folder.chmod(0o555)
    before = path.read_bytes()
    lines = start("read-without-rights", path).communicate(timeout=60)[0].splitlines()
    assert lines[:2] == ["found 1 wrong 0", "shots 0"]
    assert lines[2].startswith("error ")
    assert "may only be read" in lines[2]
    assert "permissions" in lines[3]
    assert path.read_bytes() == before
    assert sorted(file.name for file in open_folder.iterdir()) == ["a.mov", "a.sqlite"]


@pytest.mark.skipif(os.name != "posix", reason="permissions of POSIX")
def test_a_folder_that_may_only_be_read_after_a_kill(open_folder) -> None:
    """What was entered last lies in the log beside the file, and is read from there."""
    path = open_folder / "a.sqlite"
    run = start("measure-slowly", path)
    for line in run.stdout:
        if line == "entered 9\n":
            run.kill()
    run.wait()
    assert path.with_name("a.sqlite-wal").stat().st_size > 0
    for file in open_folder.iterdir():
        file.chmod(0o444)
    open_folder.chmod(0o555)
    lines = start("read-without-rights", path).communicate(timeout=60)[0].splitlines()
    assert lines[0] == "found 0 wrong 0"  # nobody noted where the content lies
    assert 10 <= int(lines[1].removeprefix("shots ")) < SHOTS
    assert "may only be read" in lines[2]


def test_a_search_while_a_run_writes(tmp_path) -> None:
    path = tmp_path / "a.sqlite"
    run = start("measure-slowly", path)
    while not run.stdout.readline().startswith("entered 5"):
        pass
    with Catalog.open_to_read(path) as catalog:
        catalog.remember_place("content", tmp_path / "a.mov", 1, 1)
        assert 5 < len(catalog.find(FindQuery())) <= SHOTS
    assert "finished" in run.communicate(timeout=60)[0]
