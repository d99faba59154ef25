"""A clip read and measured in one process: what a worker of a cluster does with it."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass
from typing import TypeAlias

from framecheck.pipeline.clip import ClipEnd, ClipTask, Reading
from framecheck.pipeline.shot import Measuring, ShotOutcome, ShotTask
from framecheck.pipeline.worker import Beat
from framecheck.records.clips import ClipHeader, ShotTake


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredTake(ShotTake):
    """A shot that is measured already; its pictures stayed where they were.

    Attributes:
        outcome: of measuring it.
    """

    outcome: ShotOutcome


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasuredClip:
    """All that came of one clip, as small as its rows.

    Attributes:
        takes: its shots, but those that were measured before.
        end: how its reading ended.
    """

    takes: tuple[MeasuredTake, ...]
    end: ClipEnd


Measured: TypeAlias = Generator[Beat, None, MeasuredClip]


def measure_clip(
    task: ClipTask,
    read: Callable[[ClipTask], Reading],
    measure: Callable[[ShotTask], Measuring],
) -> Measured:
    """Read a clip and measure its shots as they come, with signs of life in between.

    Args:
        task: the clip.
        read: reads it, see `OpenClipWork`.
        measure: measures a shot, see `ShotWork`.
    """
    reading, header = read(task), None
    takes: list[MeasuredTake] = []
    while True:
        try:
            item = next(reading)
        except StopIteration as stop:
            return MeasuredClip(takes=tuple(takes), end=stop.value)
        if isinstance(item, Beat):
            header = item.about.header or header
            yield item
        else:
            takes.append((yield from _measure_take(task, header, item, measure)))


def _measure_take(
    task: ClipTask,
    header: ClipHeader | None,
    take: ShotTake,
    measure: Callable[[ShotTask], Measuring],
) -> Generator[Beat, None, MeasuredTake]:
    if header is None:
        raise ValueError("a reader gives the header before the first shot")
    outcome = yield from measure(ShotTask(file=task.file, header=header, take=take))
    return MeasuredTake(span=take.span, samples=(), outcome=outcome)
