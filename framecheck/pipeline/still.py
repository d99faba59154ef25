"""One still: read, seen, measured, judged and, when asked for, drawn."""

from __future__ import annotations

import time
import traceback
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Protocol, TypeAlias

from framecheck.errors import FramecheckError
from framecheck.measure.corrector import Corrector
from framecheck.measure.frame import measure_frame
from framecheck.pipeline.settings import Judging
from framecheck.records.framing import FrameMeasurement
from framecheck.records.judged import FileReport, FileStatus, FrameResult
from framecheck.records.picture import Picture

if TYPE_CHECKING:
    from framecheck.pose.estimator import Estimator

ReadPicture: TypeAlias = Callable[[Path], Picture]
WriteOverlay: TypeAlias = Callable[[Picture, FrameResult, Path], object]


class Measurer(Protocol):
    """Anything that turns a decoded picture into a measurement."""

    def measure(self, picture: Picture) -> FrameMeasurement:
        """The measurement of one picture."""
        ...


OpenMeasurer: TypeAlias = Callable[[], Measurer]


class StillMeasurer:
    """Measures decoded pictures with one loaded estimator."""

    def __init__(self, estimator: Estimator, corrector: Corrector) -> None:
        self._estimator = estimator
        self._corrector = corrector

    def measure(self, picture: Picture) -> FrameMeasurement:
        """The measurement of one picture, its reading notes carried along."""
        height_px, width_px = picture.rgb.shape[:2]
        seen = self._estimator.see(picture)
        return measure_frame(
            (width_px, height_px), picture.active, seen, self._corrector, notes=picture.notes
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class StillTask:
    """One still to measure.

    Attributes:
        file: its name for the tables.
        path: where it lies.
        overlay: where the annotated copy goes; None for none.
    """

    file: str
    path: Path
    overlay: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FileOutcome:
    """What came of one input."""

    report: FileReport
    results: tuple[FrameResult, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenStillWork:
    """Loads the networks in a worker, and returns the function that measures one still.

    Attributes:
        open_measurer: called once in each worker; picklable, and its repr tells the models, as
            results are taken over from an earlier run only when that is the same.
        read_picture: path to picture; picklable.
        write_overlay: draws and writes an annotated copy; picklable.
        judging: the opinions of the run.
    """

    open_measurer: OpenMeasurer
    read_picture: ReadPicture
    write_overlay: WriteOverlay
    judging: Judging

    def __call__(self) -> Callable[[StillTask], FileOutcome]:
        """Load, and return the worker's function."""
        return _StillWork(measurer=self.open_measurer(), parts=self)


@dataclass(slots=True, kw_only=True)
class _StillWork:
    measurer: Measurer
    parts: OpenStillWork
    stage: str = field(default="", init=False)

    def __call__(self, task: StillTask) -> FileOutcome:
        """Measure one still; whatever goes wrong becomes its report."""
        started = time.monotonic()
        try:
            result = self._measure(task)
        except FramecheckError as error:
            return self._failed(task, started, (str(error), self.stage))
        except MemoryError:
            return self._failed(task, started, ("not enough memory", self.stage))
        except Exception as error:  # one bad file must not end the batch
            return self._failed(task, started, _unexpected(error, self.stage))
        seconds = time.monotonic() - started
        report = FileReport(
            file=task.file, status=FileStatus.MEASURED, frames=1, seconds=round(seconds, 3)
        )
        return FileOutcome(report=report, results=(result,))

    def _measure(self, task: StillTask) -> FrameResult:
        self.stage = "reading"
        picture = self.parts.read_picture(task.path)
        self.stage = "measuring"
        measurement = self.measurer.measure(picture)
        self.stage = "judging"
        result = FrameResult(
            file=task.file, measurement=measurement, judgement=self.parts.judging.judge(measurement)
        )
        if task.overlay is not None:
            self.stage = "overlay"
            self.parts.write_overlay(picture, result, task.overlay)
        return result

    def _failed(self, task: StillTask, started: float, trouble: tuple[str, str]) -> FileOutcome:
        why, where = trouble
        report = FileReport(
            file=task.file,
            status=FileStatus.FAILED,
            why=_one_line(why),
            where=where,
            seconds=round(time.monotonic() - started, 3),
        )
        return FileOutcome(report=report)


def _unexpected(error: Exception, stage: str) -> tuple[str, str]:
    frames = traceback.extract_tb(error.__traceback__)
    place = f"{Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else ""
    return (f"unexpected {type(error).__name__}: {error}", f"{stage} ({place})")


def _one_line(text: str) -> str:
    return " ".join(text.split())
