"""What one process of a cluster must have before it may work on a run, and the work itself.

Nothing here knows which library runs the cluster.
"""

from __future__ import annotations

import contextlib
import socket
import tempfile
import threading
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import TypeAlias

from framecheck.errors import FramecheckError, WorkerError
from framecheck.media.address import RemotePath
from framecheck.pipeline.clip import ClipTask, OpenClipWork
from framecheck.pipeline.identify import Identity, identify
from framecheck.pipeline.measured_clip import MeasuredClip, measure_clip
from framecheck.pipeline.measurer import Measurer, OpenMeasurer
from framecheck.pipeline.settings import Judging, settings_fingerprint
from framecheck.pipeline.shot import ShotWork
from framecheck.pipeline.still import ReadPicture, StillOutcome, StillTask, StillWork, WriteOverlay
from framecheck.pipeline.worker import Beat
from framecheck.records.framing import FrameMeasurement
from framecheck.records.picture import Picture

LIBRARIES = ("av", "mediapipe", "numpy", "onnxruntime", "opencv-contrib-python", "pillow")
"""Decode or measure; another version may give other digits."""

Files: TypeAlias = tuple[Path, ...]
SiteTask: TypeAlias = Files | StillTask | ClipTask


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteOrder:
    """What every process of a cluster is told of a run.

    Attributes:
        run: its name, different for each run.
        open_measurer: as on a machine with files of its own.
        read_picture, write_overlay, judging: see `OpenMeasuring`.
        reading: how clips are read.
        fingerprint: what the process must come to as well.
        libraries: versions where the run was started.
        task_s: the limit for one picture, and for the silence of a clip.
    """

    run: str
    open_measurer: OpenMeasurer
    read_picture: ReadPicture
    write_overlay: WriteOverlay
    judging: Judging
    reading: OpenClipWork
    fingerprint: str
    libraries: Mapping[str, str]
    task_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnStill:
    """What came of a still, and its annotated copy as a file's content."""

    outcome: StillOutcome
    drawing: bytes | None = None


SiteResult: TypeAlias = Identity | DrawnStill | MeasuredClip


class Site:
    """One process that has shown that it can take part, with its networks loaded.

    Attributes:
        notes: what the user should know of it.
    """

    def __init__(self, order: SiteOrder) -> None:
        self._order = order
        self._check_code()
        self._measurer = _OneAtATime(order.open_measurer())
        self.notes = _other_versions(order.libraries)

    def carry_out(self, task: SiteTask, beat: Callable[[Beat], None]) -> SiteResult:
        """Do one task; `beat` gets its signs of life."""
        if isinstance(task, StillTask):
            return self._measure_still(task)
        if isinstance(task, ClipTask):
            return self._measure_clip(task, beat)
        return identify(task)

    def _measure_still(self, task: StillTask) -> DrawnStill:
        order = self._order
        work = StillWork(
            measurer=self._measurer,
            read_picture=order.read_picture,
            write_overlay=order.write_overlay,
            judging=order.judging,
        )
        if task.overlay is None:
            return DrawnStill(outcome=work(task))
        with tempfile.TemporaryDirectory(prefix="framecheck-") as folder:
            drawn = Path(folder) / "drawn.jpg"
            outcome = work(replace(task, overlay=drawn))
            return DrawnStill(
                outcome=outcome, drawing=drawn.read_bytes() if drawn.exists() else None
            )

    def _measure_clip(self, task: ClipTask, beat: Callable[[Beat], None]) -> MeasuredClip:
        shots = ShotWork(measurer=self._measurer, judging=self._order.judging)
        working = measure_clip(task, self._order.reading(), shots)
        while True:
            try:
                beat(next(working))
            except StopIteration as stop:
                result: MeasuredClip = stop.value
                return result

    def _check_code(self) -> None:
        order = self._order
        if settings_fingerprint(order.judging, order.open_measurer.version) != order.fingerprint:
            raise WorkerError(
                "another version of framecheck is installed there; install the same one"
            )


class Sites:
    """The sites of this process, one for each run, opened when they are first needed."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._site: tuple[str, Site] | None = None

    def open(self, order: SiteOrder) -> Site:
        """The site for that run; what another run had loaded is let go.

        Raises:
            WorkerError, ModelError: this process cannot take part.
        """
        with self._lock:
            if self._site is None or self._site[0] != order.run:
                self._site = None
                self._site = (order.run, _open(order))
            return self._site[1]


def own_libraries() -> dict[str, str]:
    """The versions that are installed here."""
    found = {}
    for name in LIBRARIES:
        with contextlib.suppress(PackageNotFoundError):
            found[name] = version(name)
    return found


def blind_to(files: Files) -> str:
    """Why this machine cannot see files that the one with the order sees; "" when it can."""
    for file in files:
        if not isinstance(file, RemotePath) and not file.parent.is_dir():
            return f"it does not see the folder {file.parent}: is the drive mounted there, too?"
    return ""


def files_of(task: SiteTask) -> Files:
    """The files of a task."""
    if isinstance(task, StillTask):
        return (task.path,)
    return task.files if isinstance(task, ClipTask) else task


def host_name() -> str:
    """Of this machine, for messages."""
    return socket.gethostname()


def _open(order: SiteOrder) -> Site:
    try:
        return Site(order)
    except FramecheckError:
        raise
    except Exception as error:  # whatever a library raises while it loads
        raise WorkerError(f"it cannot load: {type(error).__name__}: {error}") from error


def _other_versions(there: Mapping[str, str]) -> tuple[str, ...]:
    here = own_libraries()
    return tuple(
        f"it has {name} {here.get(name, 'not at all')}, the run was started with {number}; "
        "the last digits may differ"
        for name, number in there.items()
        if here.get(name) != number
    )


class _OneAtATime:
    """One set of networks for a process, whatever number of threads its cluster gives it."""

    def __init__(self, measurer: Measurer) -> None:
        self._measurer, self._lock = measurer, threading.Lock()

    def measure(self, picture: Picture) -> FrameMeasurement:
        with self._lock:
            return self._measurer.measure(picture)
