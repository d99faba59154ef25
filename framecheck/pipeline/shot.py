"""One shot: as many of its kept frames as it takes to tell it, measured, judged and summarised."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, field, replace
from typing import TypeAlias

from framecheck.classify.shot_sampling import is_still, needs_more
from framecheck.classify.shot_summary import summarise_shot
from framecheck.pipeline.looks import reduce_picture
from framecheck.pipeline.measurer import Measurer
from framecheck.pipeline.scaling import in_file_pixels
from framecheck.pipeline.settings import Judging
from framecheck.pipeline.timecodes import timecode_track
from framecheck.pipeline.trouble import Trouble, trouble_of
from framecheck.pipeline.worker import Beat
from framecheck.records.clips import ClipHeader, SampledFrame, ShotResult, ShotSummary, ShotTake
from framecheck.records.judged import FrameResult


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotTask:
    """One shot to measure.

    Attributes:
        file: its clip's name for the tables.
        header: of the clip.
        take: where the shot lies, and frames of it.
    """

    file: str
    header: ClipHeader
    take: ShotTake


@dataclass(frozen=True, slots=True, kw_only=True)
class ShotOutcome:
    """What came of one shot: its result, or what went wrong."""

    result: ShotResult | None
    trouble: Trouble | None = None


Measuring: TypeAlias = Generator[Beat, None, ShotOutcome]
"""A sign of life after each frame, so that the time limit is that of a frame; then the outcome."""


@dataclass(slots=True, kw_only=True)
class ShotWork:
    """Measures shots, one after the other.

    Attributes:
        measurer: with its networks loaded.
        judging: the opinions of the run.
    """

    measurer: Measurer
    judging: Judging
    _stage: str = field(default="", init=False)

    def __call__(self, task: ShotTask) -> Measuring:
        """Measure one shot; whatever goes wrong becomes its trouble."""
        try:
            frames = yield from self._measure_frames(task)
            return ShotOutcome(result=self._sum_up(task, frames))
        except Exception as error:  # one bad shot must not end the run
            return ShotOutcome(result=None, trouble=trouble_of(error, self._stage))

    def _measure_frames(self, task: ShotTask) -> Generator[Beat, None, tuple[FrameResult, ...]]:
        samples = task.take.samples
        times_s = [sample.time_s for sample in samples]
        looks = [reduce_picture(sample.picture) for sample in samples]
        measured: dict[int, FrameResult] = {}
        while more := needs_more(times_s, measured, looks):
            for index in more:
                measured[index] = self._measure_frame(task, samples[index])
                yield Beat()
        return tuple(measured[index] for index in sorted(measured))

    def _sum_up(self, task: ShotTask, frames: tuple[FrameResult, ...]) -> ShotResult:
        span, track = task.take.span, timecode_track(task.header)
        self._stage = f"shot {span.shot}"
        return ShotResult(
            file=task.file,
            span=span,
            start_timecode=track.at(span.start_s),
            end_timecode=track.at(span.end_s),
            frames=frames,
            summary=_with_stillness(summarise_shot(span, frames), task.take),
        )

    def _measure_frame(self, task: ShotTask, sample: SampledFrame) -> FrameResult:
        self._stage = f"shot {task.take.span.shot}, frame {sample.frame}"
        scaled = self.measurer.measure(sample.picture)
        header = task.header
        measurement = in_file_pixels(scaled, (header.width_px, header.height_px))
        return FrameResult(
            file=task.file,
            measurement=measurement,
            judgement=self.judging.judge(measurement),
            shot=task.take.span.shot,
            frame=sample.frame,
            time_s=float(sample.time_s),
            timecode=timecode_track(header).at(sample.time_s),
        )


def _with_stillness(summary: ShotSummary, take: ShotTake) -> ShotSummary:
    """One frame of several in which nothing moves tells that the subject does not."""
    still = summary.samples == 1 and summary.people > 0
    if not still or not is_still([reduce_picture(sample.picture) for sample in take.samples]):
        return summary
    return replace(summary, subject_moves=False, notes=(*summary.notes, "nothing moves"))
