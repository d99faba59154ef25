"""A cluster as the executor of a run: whole clips and stills go out, records come back."""

from __future__ import annotations

import os
import time
import uuid
from collections.abc import Callable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import replace
from fractions import Fraction
from itertools import count
from pathlib import Path
from typing import Any, TypeAlias, TypeVar

from framecheck.export.atomic import write_atomically
from framecheck.media.address import RemotePath
from framecheck.media.names import shown_name
from framecheck.pipeline.clip import ClipEnd, ClipProgress, ClipTask
from framecheck.pipeline.dask_link import Link, LinkAnswer
from framecheck.pipeline.dask_worker import Done, GivenUp
from framecheck.pipeline.identify import Identity
from framecheck.pipeline.measured_clip import MeasuredClip, MeasuredTake
from framecheck.pipeline.order import Order
from framecheck.pipeline.pool import Ended, Event, Lost, Part, SignOfLife
from framecheck.pipeline.shot import ShotOutcome, ShotTask
from framecheck.pipeline.site import DrawnStill, SiteOrder, SiteResult, own_libraries
from framecheck.pipeline.still import StillOutcome, StillTask
from framecheck.pipeline.trouble import Trouble, trouble_of

WAITING_EACH = 4
"""Tasks that wait for each thread of the cluster: what can be moved when one of them is slow."""
TOGETHER_S = 0.25
"""Results of so long are entered at once; a flush to the disk takes longer than entering a shot."""
_CLUSTER = "cluster"

_Hear: TypeAlias = Callable[[LinkAnswer], None]
_T = TypeVar("_T")


class DaskExecutor:
    """See `Executor`."""

    def __init__(
        self,
        order: Order,
        scheduler: str,
        told: Callable[[str], None],
        together: Callable[[], AbstractContextManager[None]] = nullcontext,
    ) -> None:
        self._together = together
        self._hear: dict[int, _Hear] = {}
        self._numbers = count()
        self._link = Link(scheduler, _site_order(order), told, order.limits.log)

    @property
    def idle(self) -> bool:
        """True when nothing is in hand."""
        return self._link.wanted == 0

    def has_room(self) -> bool:
        """True when there may soon be a worker without work."""
        return self._link.wanted < (1 + WAITING_EACH) * self._link.threads

    def expect_clip(self) -> None:
        """A cluster is ready, or is not."""

    def identify(self, files: tuple[Path, ...], then: Callable[[Identity | Lost], None]) -> None:
        """Tell the content of an input."""
        names = _Names(files)

        def hear(answer: LinkAnswer) -> None:
            result = _result(answer, Identity)
            then(result if isinstance(result, Lost) else names.in_identity(result))

        self._submit("identify", names.seen_from_anywhere, hear)

    def read(self, task: ClipTask, hear: Callable[[Event], None]) -> None:
        """Read a clip and measure it; `hear` gets it all when it is done, and how far it is."""
        names, key = _Names(task.files), next(self._numbers)

        def pass_on(answer: LinkAnswer) -> None:
            if isinstance(answer, ClipProgress):
                hear(SignOfLife(key=key, about=answer))
            else:
                _hand_out(names.in_clip(_clip_of(answer)), key, hear)

        path = _from_anywhere(task.path)
        sent = replace(task, path=path, files=names.seen_from_anywhere, threads=1)
        self._submit("clip", sent, pass_on)

    def measure_still(self, task: StillTask, then: Callable[[StillOutcome | Lost], None]) -> None:
        """Measure a still; its annotated copy is written here."""
        names = _Names((task.path,))

        def hear(answer: LinkAnswer) -> None:
            result = _result(answer, DrawnStill)
            then(result if isinstance(result, Lost) else _keep(names.in_still(result), task))

        self._submit("still", replace(task, path=names.seen_from_anywhere[0]), hear)

    def measure_shot(self, task: ShotTask, then: Callable[[ShotOutcome | Lost], None]) -> None:
        """Shots come measured."""
        if not isinstance(task.take, MeasuredTake):
            raise TypeError("a shot of another executor")
        then(task.take.outcome)

    def turn(self, most_s: float) -> None:
        """Wait for something to happen, and tell those who wait for it."""
        answers = iter(self._link.wait(most_s))
        for first in answers:
            with self._together():
                began_s = time.monotonic()
                self._pass_on(*first)
                while time.monotonic() - began_s < TOGETHER_S and (more := next(answers, None)):
                    self._pass_on(*more)

    def close(self) -> None:
        """End all work, whatever is in hand."""
        self._link.close()
        self._hear.clear()

    def _pass_on(self, number: int, answer: LinkAnswer) -> None:
        moved = isinstance(answer, ClipProgress)
        (self._hear[number] if moved else self._hear.pop(number))(answer)

    def _submit(self, kind: str, task: Any, hear: _Hear) -> None:  # noqa: ANN401
        number = next(self._numbers)
        self._hear[number] = hear
        self._link.submit(number, kind, task)


class _Names:
    """The files of a task as they were named, and as every machine can reach them."""

    def __init__(self, files: tuple[Path, ...]) -> None:
        self.seen_from_anywhere = tuple(map(_from_anywhere, files))
        self._named = [
            (shown_name(there), shown_name(here))
            for there, here in zip(self.seen_from_anywhere, files, strict=True)
            if there != here
        ]

    def in_identity(self, identity: Identity) -> Identity:
        """The same in the words of the one who named the files."""
        return replace(identity, trouble=self._in_trouble(identity.trouble))

    def in_still(self, still: DrawnStill) -> DrawnStill:
        """The same in the words of the one who named the files."""
        outcome = replace(still.outcome, trouble=self._in_trouble(still.outcome.trouble))
        return replace(still, outcome=outcome)

    def in_clip(self, clip: MeasuredClip) -> MeasuredClip:
        """The same in the words of the one who named the files."""
        return replace(clip, end=replace(clip.end, trouble=self._in_trouble(clip.end.trouble)))

    def _in_trouble(self, trouble: Trouble | None) -> Trouble | None:
        if trouble is None:
            return None
        why = trouble.why
        for there, here in self._named:
            why = why.replace(there, here)
        return replace(trouble, why=why)


def _from_anywhere(path: Path) -> Path:
    if isinstance(path, RemotePath):
        return path
    return Path(os.path.abspath(path))  # noqa: PTH100  # resolves no links


def _site_order(order: Order) -> SiteOrder:
    measuring = order.measuring
    return SiteOrder(
        run=uuid.uuid4().hex[:12],
        open_measurer=measuring.open_measurer.elsewhere(),
        read_picture=measuring.read_picture,
        write_overlay=measuring.write_overlay,
        judging=measuring.judging,
        reading=order.reading,
        fingerprint=order.fingerprint,
        libraries=own_libraries(),
        task_s=order.limits.task_s,
    )


def _result(answer: LinkAnswer, kind: type[_T]) -> _T | Lost:
    """The result of a task that tells nothing on its way."""
    if isinstance(answer, GivenUp):
        return Lost(why=answer.why, seconds=0.0, killed=False)
    result: SiteResult | None = answer.result if isinstance(answer, Done) else None
    if not isinstance(result, kind):
        raise TypeError(f"a task of another kind came back: {type(result).__name__}")
    return result


def _clip_of(answer: LinkAnswer) -> MeasuredClip:
    result = _result(answer, MeasuredClip)
    if isinstance(result, MeasuredClip):
        return result
    trouble = Trouble(why=result.why, where=_CLUSTER)
    end = ClipEnd(header=None, frames=0, shots=0, duration_s=Fraction(0), trouble=trouble)
    return MeasuredClip(takes=(), end=end)


def _hand_out(clip: MeasuredClip, key: int, hear: Callable[[Event], None]) -> None:
    """All of a clip, as if it came bit by bit."""
    end = clip.end
    hear(SignOfLife(key=key, about=ClipProgress(header=end.header, frames=end.frames)))
    for take in clip.takes:
        hear(Part(key=key, content=take, release=lambda: None))
    hear(Ended(key=key, result=end))


def _keep(still: DrawnStill, task: StillTask) -> StillOutcome:
    if still.drawing is None or task.overlay is None:
        return still.outcome
    try:
        write_atomically(task.overlay, still.drawing)
    except Exception as error:  # one copy that cannot be written must not end the run
        return replace(still.outcome, trouble=trouble_of(error, "overlay"))
    return still.outcome
