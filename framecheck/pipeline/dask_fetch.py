"""Fetches what came of submissions, many at once, while the rest of the program goes on."""

from __future__ import annotations

import queue
import threading
from asyncio import CancelledError
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, TypeAlias

if TYPE_CHECKING:
    from distributed import Future

FETCH_S = 300.0
"""How long one result may be on its way."""
TOGETHER = 64
"""Results fetched at once."""
FETCHERS = 2
"""So that one result that must be made anew, as its worker has died, holds up no others."""


@dataclass(frozen=True, slots=True, kw_only=True)
class News:
    """What became of a submission: an answer, an error, or neither when it was lost.

    Attributes:
        number: of the task. submission: which of its submissions.
    """

    number: int
    submission: int
    answer: Any = None
    error: BaseException | None = None


_Ended: TypeAlias = "tuple[int, int, Future]"


class Fetcher:
    """Threads that wait for results, so that nobody else does."""

    def __init__(self, hear: Callable[[News], None]) -> None:
        self._hear = hear
        self._ended: queue.SimpleQueue[_Ended | None] = queue.SimpleQueue()
        for _ in range(FETCHERS):
            threading.Thread(target=self._run, daemon=True).start()

    def expect(self, number: int, submission: int, future: Future) -> None:
        """Fetch what comes of it, when it is at its end."""
        future.add_done_callback(partial(self._note, number, submission))

    def close(self) -> None:
        """Let the threads go."""
        for _ in range(FETCHERS):
            self._ended.put(None)

    def _note(self, number: int, submission: int, future: Future) -> None:
        self._ended.put((number, submission, future))

    def _run(self) -> None:
        while (first := self._ended.get()) is not None:
            batch: list[_Ended | None] = [first]
            while len(batch) < TOGETHER and batch[-1] is not None:
                try:
                    batch.append(self._ended.get_nowait())
                except queue.Empty:
                    break
            for news in fetch([ended for ended in batch if ended is not None]):
                self._hear(news)
            if batch[-1] is None:
                return


def fetch(ended: Sequence[_Ended]) -> list[News]:
    """What came of submissions that are at their end."""
    good = [each for each in ended if each[2].status == "finished"]
    try:
        answers = good[0][2].client.gather([future for _, _, future in good]) if good else []
    except (Exception, CancelledError):  # one of them was lost on its way
        return [_fetch_one(*each) for each in ended]
    news = [
        News(number=number, submission=submission, answer=answer)
        for (number, submission, _), answer in zip(good, answers, strict=True)
    ]
    return [*news, *(_fetch_one(*each) for each in ended if each not in good)]


def _fetch_one(number: int, submission: int, future: Future) -> News:
    known = partial(News, number=number, submission=submission)
    if future.status in {"cancelled", "lost"}:
        return known()
    try:
        return known(answer=future.result(timeout=FETCH_S))
    except CancelledError:
        return known()
    except Exception as error:  # whatever it was that failed, there or on the way
        return known(error=error) if future.status == "error" else known()
