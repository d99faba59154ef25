"""One still: read, seen, measured, judged and, when asked for, drawn."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeAlias

from framecheck.pipeline.measurer import Measurer
from framecheck.pipeline.settings import Judging
from framecheck.pipeline.signature import CHANGED, Signature, what_happened
from framecheck.pipeline.trouble import Trouble, trouble_of
from framecheck.records.judged import FrameResult
from framecheck.records.picture import Picture

ReadPicture: TypeAlias = Callable[[Path], Picture]
WriteOverlay: TypeAlias = Callable[[Picture, FrameResult, Path], object]


@dataclass(frozen=True, slots=True, kw_only=True)
class StillTask:
    """One still to measure.

    Attributes:
        file: its name for the tables.
        path: where it lies.
        overlay: where the annotated copy goes; None for none.
        signature: of the file when it was identified; None when that does not matter.
    """

    file: str
    path: Path
    overlay: Path | None = None
    signature: Signature | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class StillOutcome:
    """What came of one still.

    Attributes:
        result: None when it could not be measured.
        trouble: what went wrong, if anything; with a result, only its annotated copy failed.
    """

    result: FrameResult | None
    trouble: Trouble | None = None


@dataclass(slots=True, kw_only=True)
class StillWork:
    """Measures stills, one after the other.

    Attributes:
        measurer: with its networks loaded.
        read_picture: path to picture.
        write_overlay: draws and writes an annotated copy.
        judging: the opinions of the run.
    """

    measurer: Measurer
    read_picture: ReadPicture
    write_overlay: WriteOverlay
    judging: Judging
    _stage: str = field(default="", init=False)

    def __call__(self, task: StillTask) -> StillOutcome:
        """Measure one still; whatever goes wrong becomes its trouble."""
        result, trouble = None, None
        try:
            picture, measured = self._measure(task)
            if task.signature and what_happened([task.path], task.signature) == CHANGED:
                trouble = Trouble(why=CHANGED, where=self._stage)
            else:
                result = measured
                self._draw(task, picture, measured)
        except Exception as error:  # one bad file must not end the batch
            trouble = trouble_of(error, self._stage)
        return StillOutcome(result=result, trouble=trouble)

    def _measure(self, task: StillTask) -> tuple[Picture, FrameResult]:
        self._stage = "reading"
        picture = self.read_picture(task.path)
        self._stage = "measuring"
        measurement = self.measurer.measure(picture)
        self._stage = "judging"
        judgement = self.judging.judge(measurement)
        result = FrameResult(file=task.file, measurement=measurement, judgement=judgement)
        return picture, result

    def _draw(self, task: StillTask, picture: Picture, result: FrameResult) -> None:
        if task.overlay is not None:
            self._stage = "overlay"
            self.write_overlay(picture, result, task.overlay)
