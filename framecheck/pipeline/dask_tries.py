"""How often a task was tried, told to the scheduler before each try.

A clip can take its process with it. What a process knows is gone then, and a scheduler counts dead
workers also against the tasks that only waited there, up to a number that its owner has set. So
each try is told as an event before it begins; a worker that is handed a task which was tried
often enough refuses it.
"""

from __future__ import annotations

import contextlib
import pickle
from collections.abc import Iterator
from typing import Any

from framecheck.pipeline.clip import ClipProgress

MOST_TRIES = 2
"""So often may a task take its process with it."""
TOPICS = 1024
"""A scheduler keeps the last thousand events of each topic; so a task's are always among them."""


class Refused(Exception):  # noqa: N818
    """The task is not to be done, or not any more; the message says why."""


class Tries:
    """What the scheduler knows of the tries of one task.

    Args of the constructor: Dask's client and worker of this process, the name of the run, and the
    number of the task in it.
    """

    def __init__(self, client: Any, worker: Any, run: str, number: int) -> None:  # noqa: ANN401
        self._client, self._worker, self._number = client, worker, number
        self._topic, self._progress = topic_of(run, number), topic_of(run)

    @contextlib.contextmanager
    def counted(self) -> Iterator[None]:
        """One more try; what ends here, well or not, has not taken the worker with it.

        Raises:
            Refused: it was tried often enough, or took too long.
        """
        self._check()
        self._client.log_event(self._topic, self._message("began"))  # and wait until it is there
        try:
            yield
        finally:
            self._worker.log_event(self._topic, self._message("ended"))

    def late(self, why: str) -> None:
        """Tell why this worker is about to be ended."""
        self._client.log_event(self._topic, {**self._message("late"), "why": why})

    def moved(self, progress: ClipProgress) -> None:
        """Tell how far a clip is."""
        message = {"number": self._number, "progress": pickle.dumps(progress)}
        self._worker.log_event(self._progress, message)

    def _check(self) -> None:
        told = [message for _time, message in self._client.get_events(self._topic)]
        ours = [message for message in told if message["number"] == self._number]
        for message in ours:
            if message["did"] == "late":
                raise Refused(str(message["why"]))
        tries = sum({"began": 1, "ended": -1}.get(message["did"], 0) for message in ours)
        if tries >= MOST_TRIES:
            raise Refused(lost_words(tries))

    def _message(self, did: str) -> dict[str, Any]:
        return {"number": self._number, "did": did}


def topic_of(run: str, number: int | None = None) -> str:
    """Where the tries of a task are told; without a number, how far clips are."""
    return f"framecheck-{run}" if number is None else f"framecheck-{run}-{number % TOPICS}"


def lost_words(times: int) -> str:
    """Why a task is not tried again whose workers were lost."""
    return (
        f"the worker of the cluster that had it was lost, {times} times; "
        "perhaps it crashes the decoder, or needs more memory than a worker may take"
    )
