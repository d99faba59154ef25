"""What a run has to deliver, and what it delivered."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import Enum
from fractions import Fraction
from pathlib import Path

from framecheck.export.rows import Row
from framecheck.pipeline.clip import OpenClipWork
from framecheck.pipeline.measuring import OpenMeasuring
from framecheck.pipeline.pool import PoolLimits
from framecheck.records.judged import FileStatus

FINDING = "finding"
"""The stage of a trouble that lies in what the user named."""

READER_BYTES = 4 * 1024**3
"""A reader that asks for more memory is given up; 8K frames of 10 bit take about 1 GB."""
KEPT_READER_BYTES = 1024**3
"""A reader that holds more after a clip is replaced."""
IDENTIFY_S = 120.0
"""Time to read 64 MiB of a file; and as many seconds more as an input has files."""


class MediaKind(str, Enum):
    """What an input is."""

    STILL = "still"
    CLIP = "clip"
    FRAMES = "frames"


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One input.

    Attributes:
        file: its name for the tables. path: where it lies.
        problem: why it cannot be measured; "" when nothing is known against it.
        kind: still, clip, or numbered frames that are one clip.
        frames: the files of numbered frames, in order.
        rate: frames a second of numbered frames; None for what says it itself.
    """

    file: str
    path: Path
    problem: str = ""
    kind: MediaKind = MediaKind.STILL
    frames: tuple[Path, ...] = ()
    rate: Fraction | None = None

    @property
    def files(self) -> tuple[Path, ...]:
        """All files that it consists of."""
        return self.frames or (self.path,)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunLimits:
    """How many processes a run takes, and how long they may take.

    Attributes:
        workers: that measure.
        readers: that decode clips. threads: of the decoder in each of them.
        task_s: wall clock for one still or one frame of a shot; a clip fails when it gives no
            frame for so long.
        log: file for what the libraries in the workers say; None throws it away.
    """

    workers: int
    readers: int = 1
    threads: int = 1
    task_s: float = 60.0
    log: Path | None = None

    def for_measuring(self) -> PoolLimits:
        """Of the measuring workers."""
        return PoolLimits(workers=self.workers, task_s=self.task_s, log=self.log)

    def for_reading(self) -> PoolLimits:
        """Of the readers. Together they are about one shot ahead of each measuring worker."""
        return PoolLimits(
            workers=self.readers,
            task_s=self.task_s,
            memory_bytes=KEPT_READER_BYTES,
            hard_memory_bytes=READER_BYTES,
            retries=0,  # what it has delivered need not be read again, which the pool cannot know
            window=1 + -(-self.workers // self.readers),
            log=self.log,
        )

    def for_identifying(self) -> PoolLimits:
        """Of the one process that tells contents."""
        return PoolLimits(workers=1, task_s=IDENTIFY_S, log=self.log)


@dataclass(frozen=True, slots=True, kw_only=True)
class Order:
    """What a run has to deliver.

    Attributes:
        inputs: in the order of the tables.
        out: the output folder, made when it is not there.
        catalog: the results database.
        measuring: how stills and shots are measured. reading: how clips are read.
        limits: of the processes.
        fingerprint: of the settings, models and version; described: the same in words (JSON).
        overlays: draw annotated copies of stills.
        format_name: of the tables.
        afresh: measure everything again, whatever an earlier run left.
        place: where the work is done, see `executor`.
    """

    inputs: tuple[Input, ...]
    out: Path
    catalog: Path
    measuring: OpenMeasuring
    reading: OpenClipWork
    limits: RunLimits
    fingerprint: str
    described: str = ""
    overlays: bool = False
    format_name: str = "csv"
    afresh: bool = False
    place: str = "local"

    def with_handling(
        self,
        *,
        limits: RunLimits,
        format_name: str,
        afresh: bool,
        catalog: Path | None = None,
        place: str = "local",
    ) -> Order:
        """The same order with other wishes that do not change its results."""
        return replace(
            self,
            limits=limits,
            format_name=format_name,
            afresh=afresh,
            catalog=catalog or self.catalog,
            place=place,
        )

    @property
    def clip_count(self) -> int:
        """How many inputs are clips."""
        return sum(item.kind is not MediaKind.STILL for item in self.inputs)

    @property
    def further(self) -> int:
        """How many vocabularies there are beyond the first."""
        return max(0, len(self.measuring.judging.vocabularies) - 1)


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSummary:
    """What a run delivered.

    Attributes:
        files: one row an input that was dealt with, in the order of the inputs.
        stills: one row of frames a still. shots: one row a shot. Of each at most `MOST_KEPT`.
        sizes: how many shots each clip has of each size, by file and abbreviation.
        tables: the files written.
        taken_over: inputs whose results an earlier run had left.
        flagged_stills, flagged_shots: how many carry a flag. shot_count: how many there are.
        interrupted: True when Ctrl-C ended it. left: inputs that this left undone.
    """

    files: tuple[Row, ...]
    stills: tuple[Row, ...]
    shots: tuple[Row, ...]
    sizes: Mapping[str, Mapping[str, int]]
    tables: tuple[Path, ...]
    taken_over: int
    flagged_stills: int
    flagged_shots: int
    shot_count: int
    interrupted: bool
    left: int

    def count(self, status: FileStatus) -> int:
        """How many inputs fared so."""
        return sum(row["status"] == status.value for row in self.files)

    @property
    def flagged(self) -> int:
        """How many stills and shots carry a flag."""
        return self.flagged_stills + self.flagged_shots


MOST_KEPT = 2000
"""Rows that a summary holds; the tables hold them all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipState:
    """A clip in hand, and the share of it that is read; None when its length is not known."""

    file: str
    share: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RunState:
    """How far a run is.

    Attributes:
        done, total: inputs.
        share: 0..1 of the work, measured in frames.
        left_s: time left; None while too little is known.
        clips: those that are being read.
    """

    done: int
    total: int
    share: float
    left_s: float | None
    clips: tuple[ClipState, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Watcher:
    """Who wants to hear of a run while it goes on.

    Attributes:
        moved: hears how far it is, a few times a second.
        ended: hears the row of each input that was dealt with in this run, and its seconds.
        told: hears what the user should know, in plain words.
    """

    moved: Callable[[RunState], None]
    ended: Callable[[Row, float], None]
    told: Callable[[str], None]


def nobody() -> Watcher:
    """No one wants to hear anything."""
    return Watcher(moved=lambda _: None, ended=lambda _row, _s: None, told=lambda _: None)
