"""The cache of built models: where it is, whether it is whole, and how files get into it.

Nothing half-written is ever under a final name: files are written beside it, synced and renamed,
and the receipt with their checksums comes last. The lock is the operating system's, so that it
goes with the process that held it, however that process ends.
"""

from __future__ import annotations

import contextlib
import errno
import hashlib
import json
import logging
import os
import shutil
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from enum import Enum
from pathlib import Path
from typing import IO

from framecheck.errors import ModelMissing
from framecheck.pose.manifest import Manifest

LOG = logging.getLogger(__name__)
RECEIPT = "receipt.json"
LOCK_WAIT_S = 900.0  # a slow line needs minutes for the package that another process fetches
LOCK_POLL_S = 0.2
TEMP_PREFIX = "tmp-"
CACHE_VARIABLE = "FRAMECHECK_CACHE"


class ModelState(str, Enum):
    """How a model file in the cache fares."""

    PRESENT = "present"
    MISSING = "missing"
    BROKEN = "broken"


def models_folder(manifest: Manifest) -> Path:
    """Where the built models of this manifest lie, or will lie."""
    named = os.environ.get(CACHE_VARIABLE, "")
    if named:
        base = Path(named).expanduser().absolute()
    else:
        import platformdirs

        base = Path(platformdirs.user_cache_dir("framecheck", appauthor=False))
    return base / "models" / manifest.version


def check_models(folder: Path, manifest: Manifest) -> dict[str, ModelState]:
    """The state of every built model in the folder, judged by its checksum in the receipt."""
    known = _read_receipt(folder, manifest)
    return {model.name: _state(folder / model.name, known) for model in manifest.built}


def sha256_of(path: Path) -> str:
    """The checksum of a file, lower-case hex.

    Raises:
        OSError: the file cannot be read.
    """
    digest = hashlib.sha256()
    with path.open("rb") as source:
        while chunk := source.read(1 << 20):
            digest.update(chunk)
    return digest.hexdigest()


def write_models(folder: Path, manifest: Manifest, files: Mapping[str, bytes]) -> None:
    """Puts the built files into the folder, each atomically, and the receipt last.

    Raises:
        OSError: a write failed; no half-written file is left.
    """
    folder.mkdir(parents=True, exist_ok=True)
    receipt = {
        "recipe": _recipe(manifest),
        "files": {
            name: {"size_bytes": len(data), "sha256": hashlib.sha256(data).hexdigest()}
            for name, data in files.items()
        },
    }
    with temp_folder(folder.parent) as temp:
        for name, data in files.items():
            _write_atomic(temp, folder / name, data)
        text = json.dumps(receipt, indent=1, sort_keys=True) + "\n"
        _write_atomic(temp, folder / RECEIPT, text.encode())


@contextlib.contextmanager
def temp_folder(parent: Path) -> Iterator[Path]:
    """A folder on the same disk as the cache, gone at the end."""
    parent.mkdir(parents=True, exist_ok=True)
    path = Path(tempfile.mkdtemp(prefix=TEMP_PREFIX, dir=parent))
    try:
        yield path
    finally:
        shutil.rmtree(path, ignore_errors=True)


@contextlib.contextmanager
def only_one(parent: Path, waiting: Callable[[], None]) -> Iterator[None]:
    """Holds the cache's lock, and first removes what killed runs have left.

    Args:
        parent: the folder of all versions.
        waiting: called once when another process holds the lock.

    Raises:
        ModelMissing: the other process did not come to an end within 15 minutes.
        OSError: the folder cannot be written.
    """
    parent.mkdir(parents=True, exist_ok=True)
    with (parent / "lock").open("a+b") as handle:
        if _wait_for_lock(handle, waiting):
            _remove_leftovers(parent)
        # closing the file gives the lock back
        yield


def _remove_leftovers(parent: Path) -> None:
    for left in parent.glob(TEMP_PREFIX + "*"):
        shutil.rmtree(left, ignore_errors=True)


def _wait_for_lock(handle: IO[bytes], waiting: Callable[[], None]) -> bool:
    """True when locked; False when the disk knows no locks (renames still keep files whole)."""
    until = time.monotonic() + LOCK_WAIT_S
    told = False
    while True:
        try:
            _lock(handle)
        except OSError as error:
            if error.errno not in {errno.EACCES, errno.EAGAIN, errno.EDEADLK}:
                LOG.warning("the models folder cannot be locked (%s); going on without", error)
                return False
        else:
            return True
        if time.monotonic() > until:
            raise ModelMissing(
                "another framecheck has been providing the models for 15 minutes; "
                "end it, or wait and start again",
                where=str(handle.name),
            )
        if not told:
            told = True
            waiting()
        time.sleep(LOCK_POLL_S)


def _lock(handle: IO[bytes]) -> None:
    if os.name == "nt":
        _lock_windows(handle)
    else:
        import fcntl

        fcntl.flock(handle.fileno(), fcntl.LOCK_EX | fcntl.LOCK_NB)


def _lock_windows(handle: IO[bytes]) -> None:
    import importlib

    msvcrt = importlib.import_module("msvcrt")  # typed only on Windows
    handle.seek(0)
    msvcrt.locking(handle.fileno(), msvcrt.LK_NBLCK, 1)


def _write_atomic(temp: Path, target: Path, data: bytes) -> None:
    part = temp / target.name
    with part.open("wb") as out:
        out.write(data)
        out.flush()
        os.fsync(out.fileno())
    part.replace(target)
    _sync_folder(target.parent)


def _sync_folder(folder: Path) -> None:
    if os.name == "nt":
        return
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    except OSError as error:  # some network disks cannot; the rename itself has been done
        LOG.debug("cannot sync %s: %s", folder, error)
    finally:
        os.close(descriptor)


def _recipe(manifest: Manifest) -> str:
    """Tells files built from other weights, or in another way, from those wanted."""
    return hashlib.sha256(repr((manifest.weights, manifest.built)).encode()).hexdigest()


def _read_receipt(folder: Path, manifest: Manifest) -> dict[str, tuple[int, str]]:
    """Size and checksum by name; empty when there is no receipt for this very recipe."""
    try:
        receipt = json.loads((folder / RECEIPT).read_text("utf-8"))
        if receipt["recipe"] != _recipe(manifest):
            return {}
        return {
            str(name): (int(row["size_bytes"]), str(row["sha256"]))
            for name, row in receipt["files"].items()
        }
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _state(path: Path, known: Mapping[str, tuple[int, str]]) -> ModelState:
    try:
        size_bytes = path.stat().st_size
        if path.name not in known:
            return ModelState.BROKEN  # there, but nothing vouches for it
        whole = known[path.name] == (size_bytes, sha256_of(path))
    except (FileNotFoundError, NotADirectoryError):
        return ModelState.MISSING
    except OSError:
        return ModelState.BROKEN
    return ModelState.PRESENT if whole else ModelState.BROKEN
