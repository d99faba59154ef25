"""One clip, read in a process of its own: decoded once, cut into shots, some frames kept."""

from __future__ import annotations

import time
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, field, replace
from fractions import Fraction
from pathlib import Path
from typing import Any, Protocol, TypeAlias

from framecheck.errors import CannotDecode
from framecheck.pipeline.clip_bars import ClipBars, FindActive
from framecheck.pipeline.signature import CHANGED, Signature, what_happened
from framecheck.pipeline.trouble import Trouble, trouble_of
from framecheck.pipeline.worker import Beat
from framecheck.records.clips import ClipHeader, ShotTake

BEAT_S = 0.5
"""How often a reader gives a sign of life, while frames come."""


class Frames(Protocol):
    """An opened clip."""

    @property
    def header(self) -> ClipHeader:
        """What it says of itself."""
        ...

    @property
    def late_notes(self) -> tuple[str, ...]:
        """What came out while decoding; whole after the last frame."""
        ...

    def frames(self) -> Iterable[Any]:
        """All its frames, in order; each is valid until the next one is asked for."""
        ...


class Collector(Protocol):
    """Cuts frames into shots and keeps some of each."""

    def push(self, frame: Any) -> Sequence[ShotTake]:  # noqa: ANN401  # the adapter's own frame
        """Take the next frame in, and give out the shots that have ended."""
        ...

    def finish(self) -> Sequence[ShotTake]:
        """The shots that are left, when no more frames will come."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipTask:
    """One clip to read.

    Attributes:
        file: its name for the tables.
        path: where it lies. files: all its files; more than one for numbered frames.
        rate: of numbered frames; None for a clip, which says it itself.
        signature: of the files when the clip was identified.
        done: shots that are measured already, with their start and end frame.
        threads: of the decoder.
    """

    file: str
    path: Path
    files: tuple[Path, ...]
    signature: Signature
    rate: Fraction | None = None
    done: Mapping[int, tuple[int, int]] = field(default_factory=dict)
    threads: int = 1


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipProgress:
    """How far a reader is; the header as soon as it is known."""

    header: ClipHeader | None
    frames: int


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipEnd:
    """How the reading of a clip ended.

    Attributes:
        header: None when it could not be opened.
        frames, shots: how many there were. duration_s: of them.
        trouble: what broke it off; None when it was read to its end.
        changed: True when it is no longer the file that was identified, so that nothing holds.
    """

    header: ClipHeader | None
    frames: int
    shots: int
    duration_s: Fraction
    trouble: Trouble | None = None
    changed: bool = False


OpenFrames: TypeAlias = Callable[[ClipTask], AbstractContextManager[Frames]]
Collect: TypeAlias = Callable[[ClipHeader], Collector]
Reading: TypeAlias = Generator[ShotTake | Beat, None, ClipEnd]


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenClipWork:
    """Gives the function that reads one clip; picklable, and so are its parts.

    Attributes:
        open_frames: opens a clip.
        collect: a new collector for a clip with that header.
        find_active: the active picture of a frame.
    """

    open_frames: OpenFrames
    collect: Collect
    find_active: FindActive

    def __call__(self) -> Callable[[ClipTask], Reading]:
        """The reader's function."""
        return self._read

    def _read(self, task: ClipTask) -> Reading:
        return _Reader(task, self).read()


class _Reader:
    """The reading of one clip."""

    def __init__(self, task: ClipTask, parts: OpenClipWork) -> None:
        self._task, self._parts = task, parts
        self._bars = ClipBars(parts.find_active)
        self._header: ClipHeader | None = None
        self._broken: Exception | None = None
        self._frames = self._shots = 0
        self._end_s = Fraction(0)
        self._stage = "opening"
        self._beaten_s = 0.0

    def read(self) -> Reading:
        """Yield the shots that are to be measured, and signs of life."""
        trouble = None
        try:
            with self._parts.open_frames(self._task) as clip:
                self._header = clip.header
                yield self._beat()
                yield from self._decode(clip)
                self._header = _with_notes(clip.header, clip.late_notes)
        except Exception as error:  # one bad file must not end the run
            trouble = trouble_of(error, self._stage)
        happened = self._what_happened()
        if happened:
            trouble = Trouble(why=happened, where=trouble.where if trouble else self._stage)
        return ClipEnd(
            header=self._header,
            frames=self._frames,
            shots=self._shots,
            duration_s=self._end_s,
            trouble=trouble,
            changed=happened == CHANGED,
        )

    def _decode(self, clip: Frames) -> Iterator[ShotTake | Beat]:
        self._stage = "decoding"
        collector = self._parts.collect(clip.header)
        for frame in self._good_frames(clip):
            self._frames += 1
            yield from self._ready(collector.push(frame))
            if time.monotonic() - self._beaten_s >= BEAT_S:
                yield self._beat()
        # The last shot of a clip that breaks off is good as far as it goes; but when the drive or
        # the file went away, what was read says nothing of where the shot ends. (Some containers
        # take a drive that is gone for the end of the file.)
        if not self._what_happened():
            yield from self._ready(collector.finish() if self._frames else ())
            yield from self._news(self._bars.finish())
        if self._broken is not None:
            raise self._broken
        if self._frames == 0:
            raise CannotDecode(f"{self._task.file} holds no frame; copy or export it again")

    def _good_frames(self, clip: Frames) -> Iterator[Any]:
        """The frames up to where the clip breaks off, if it does."""
        try:
            yield from clip.frames()
        except Exception as error:  # what was decoded before is good
            self._broken = error

    def _ready(self, takes: Sequence[ShotTake]) -> Iterator[ShotTake]:
        for take in takes:
            self._shots, self._end_s = take.span.shot + 1, take.span.end_s
            yield from self._news(self._bars.push(take))

    def _news(self, takes: Sequence[ShotTake]) -> Iterator[ShotTake]:
        """Those that are not measured yet; one whose borders are new is measured again."""
        for take in takes:
            borders = (take.span.start_frame, take.span.end_frame)
            if self._task.done.get(take.span.shot) != borders:
                yield take

    def _beat(self) -> Beat:
        self._beaten_s = time.monotonic()
        return Beat(about=ClipProgress(header=self._header, frames=self._frames))

    def _what_happened(self) -> str:
        return what_happened(self._task.files, self._task.signature)


def _with_notes(header: ClipHeader, notes: tuple[str, ...]) -> ClipHeader:
    return replace(header, notes=(*header.notes, *notes)) if notes else header
