"""The work of a measuring worker: stills and shots alike, with one set of networks."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

from framecheck.pipeline.measurer import OpenMeasurer
from framecheck.pipeline.settings import Judging
from framecheck.pipeline.shot import Measuring, ShotTask, ShotWork
from framecheck.pipeline.still import ReadPicture, StillOutcome, StillTask, StillWork, WriteOverlay

MeasuringTask: TypeAlias = StillTask | ShotTask


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenMeasuring:
    """Loads the networks in a worker, and returns the function that measures; picklable.

    Attributes:
        open_measurer: called once in each worker.
        read_picture: path to picture.
        write_overlay: draws and writes an annotated copy.
        judging: the opinions of the run.
    """

    open_measurer: OpenMeasurer
    read_picture: ReadPicture
    write_overlay: WriteOverlay
    judging: Judging

    def __call__(self) -> Callable[[MeasuringTask], StillOutcome | Measuring]:
        """Load, and return the worker's function."""
        measurer = self.open_measurer()
        stills = StillWork(
            measurer=measurer,
            read_picture=self.read_picture,
            write_overlay=self.write_overlay,
            judging=self.judging,
        )
        return _Measuring(stills=stills, shots=ShotWork(measurer=measurer, judging=self.judging))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Measuring:
    stills: StillWork
    shots: ShotWork

    def __call__(self, task: MeasuringTask) -> StillOutcome | Measuring:
        return self.stills(task) if isinstance(task, StillTask) else self.shots(task)
