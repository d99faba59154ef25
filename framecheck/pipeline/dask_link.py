"""The connection of a run to a Dask cluster: what is handed in comes back, whatever happens there.

Workers that die are Dask's business. A scheduler that goes away takes all that it knew with it;
when it is back, what is still wanted is handed in again.
"""

from __future__ import annotations

import pickle
import queue
import threading
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

from framecheck.errors import WorkerError
from framecheck.pipeline.clip import ClipProgress
from framecheck.pipeline.dask_client import (
    RUNNING,
    cluster_words,
    count_workers,
    leave,
    open_client,
    route_words,
)
from framecheck.pipeline.dask_fetch import Fetcher, News
from framecheck.pipeline.dask_tries import lost_words, topic_of
from framecheck.pipeline.dask_worker import Done, GivenUp, Unfit, carry_out
from framecheck.pipeline.site import SiteOrder, SiteTask

if TYPE_CHECKING:
    from distributed import Client, Future

ANSWER_S = 10.0
"""How long a scheduler may take to answer at first."""
RETRY_S = 2.0
"""The same when it had been there before; nothing else goes on meanwhile."""
PATIENCE_S = 600.0
"""How long a scheduler is waited for that went away."""
COUNT_S = 2.0
"""How often it is asked how many workers there are."""
FAREWELL_S = 5.0
FAILURES = 3
"""So often a task may fail for no fault of its own: when Dask counts dead workers against it that
had another task in hand, or the connection breaks."""

LinkAnswer: TypeAlias = Done | GivenUp | ClipProgress


@dataclass(slots=True, kw_only=True)
class _Wanted:
    """A task that is not done yet, and its latest submission; no future while it was not sent."""

    task: SiteTask
    kind: str
    failures: int = 0
    submission: int = -1
    future: Future | None = field(default=None)


class Link:
    """Tasks to a cluster, answers from it."""

    def __init__(
        self, address: str, order: SiteOrder, told: Callable[[str], None], log: Path | None
    ) -> None:
        self._address, self._run, self._told = address, order.run, told
        self._order = pickle.dumps(order, protocol=5)
        self._wanted: dict[int, _Wanted] = {}
        self._news: queue.SimpleQueue[News | tuple[int, ClipProgress]] = queue.SimpleQueue()
        self._unfit: dict[str, str] = {}
        self._noted: set[tuple[str, tuple[str, ...]]] = set()
        self._submissions = 0
        self._workers: Mapping[str, int] = {}
        self._counted_s = self._gone_s = 0.0
        route_words(log)
        self._client = self._connect(ANSWER_S)
        self._fetcher = Fetcher(self._news.put)
        self._count()

    @property
    def wanted(self) -> int:
        """Tasks that have no answer yet."""
        return len(self._wanted)

    @property
    def threads(self) -> int:
        """How many tasks the cluster can have in hand at once; 1 at least."""
        return max(1, sum(self._workers.values()))

    def submit(self, number: int, kind: str, task: SiteTask) -> None:
        """Hand in a task.

        Args:
            number: each used once.
            kind: for the names that Dask shows, and what it expects of the time it takes.
            task: what to do.

        Raises:
            WorkerError: no worker can take part.
        """
        self._wanted[number] = _Wanted(task=task, kind=kind)
        self._send(number)

    def wait(self, most_s: float) -> list[tuple[int, LinkAnswer]]:
        """What has come in, after waiting for it if there is nothing yet.

        Raises:
            WorkerError: no worker can take part, or the scheduler stays away.
        """
        self._mend()
        self._count()
        answers: list[tuple[int, LinkAnswer]] = []
        try:
            answers += self._hear(self._news.get(timeout=most_s))
            while True:
                answers += self._hear(self._news.get_nowait())
        except queue.Empty:
            return answers

    def close(self) -> None:
        """Give up what is not done, and leave."""
        self._fetcher.close()
        stopped = self._run if self._wanted else ""
        self._wanted.clear()
        farewell = threading.Thread(target=leave, args=(self._client, stopped), daemon=True)
        farewell.start()
        farewell.join(FAREWELL_S)

    def _send(self, number: int) -> None:
        wanted = self._wanted[number]
        self._submissions += 1
        wanted.submission, wanted.future = self._submissions, None
        if self._client.status != RUNNING:
            return
        workers = self._fit_workers()
        try:
            wanted.future = self._client.submit(
                carry_out, self._order, number, wanted.task, pure=False, workers=workers,
                key=f"framecheck-{wanted.kind}-{self._run}-{number}-{wanted.submission}",
            )  # fmt: skip
        except (OSError, RuntimeError, ValueError):  # the connection has just broken
            return
        self._fetcher.expect(number, wanted.submission, wanted.future)

    def _fit_workers(self) -> list[str] | None:
        """Those that may be asked; None for all."""
        if not self._unfit:
            return None
        there = count_workers(self._client) or self._workers
        fit = [worker for worker in there if worker not in self._unfit]
        if not fit:
            why = "; ".join(sorted(set(self._unfit.values())))
            raise WorkerError(f"no worker of the cluster can take part: {why}")
        return fit

    def _hear(self, news: News | tuple[int, ClipProgress]) -> list[tuple[int, LinkAnswer]]:
        if isinstance(news, tuple):
            return [news] if news[0] in self._wanted else []
        wanted = self._wanted.get(news.number)
        if wanted is None or wanted.submission != news.submission:
            return []  # of an earlier submission
        answer = self._settle(news, wanted)
        if answer is None:
            self._send(news.number)
            return []
        del self._wanted[news.number]
        return [(news.number, answer)]

    def _settle(self, news: News, wanted: _Wanted) -> Done | GivenUp | None:
        """The answer; None when the task is to be handed in once more."""
        if news.error is not None:
            return _judge(news.error, wanted)
        if isinstance(news.answer, Unfit):
            self._shun(news.answer)
            return None
        if isinstance(news.answer, Done):
            self._note(news.answer)
        return news.answer if isinstance(news.answer, Done | GivenUp) else None

    def _shun(self, unfit: Unfit) -> None:
        if unfit.worker not in self._unfit:
            self._unfit[unfit.worker] = f"{unfit.host}: {unfit.why}"
            self._told(f"worker {unfit.worker} on {unfit.host} is not used: {unfit.why}")

    def _note(self, done: Done) -> None:
        if done.notes and (done.host, done.notes) not in self._noted:
            self._noted.add((done.host, done.notes))
            self._told(f"worker {done.worker} on {done.host}: {'; '.join(done.notes)}")

    def _on_event(self, event: tuple[float, dict[str, Any]]) -> None:
        message = event[1]
        self._news.put((int(message["number"]), pickle.loads(message["progress"])))

    def _mend(self) -> None:
        """See to the connection, and to what could not be sent.

        Raises:
            WorkerError: the scheduler stays away.
        """
        if self._client.status != RUNNING and not self._gone_s:
            self._gone_s = time.monotonic()
            self._told(f"the scheduler at {self._address} has gone away; waiting for it")
        if self._gone_s and not self._return():
            return
        for number in [n for n, wanted in self._wanted.items() if wanted.future is None]:
            self._send(number)

    def _return(self) -> bool:
        """True when the scheduler is back; it knows nothing of what was handed in."""
        try:
            client = self._connect(RETRY_S)
        except WorkerError:
            if time.monotonic() - self._gone_s > PATIENCE_S:
                raise
            return False
        threading.Thread(target=leave, args=(self._client,), daemon=True).start()
        self._client, self._gone_s = client, 0.0
        self._unfit.clear()
        for wanted in self._wanted.values():
            wanted.future = None
        self._told(f"the scheduler is back; {len(self._wanted)} tasks are handed in again")
        return True

    def _connect(self, limit_s: float) -> Client:
        client = open_client(self._address, limit_s)
        client.subscribe_topic(topic_of(self._run), self._on_event)
        return client

    def _count(self) -> None:
        now_s = time.monotonic()
        if now_s - self._counted_s < COUNT_S:
            return
        workers = count_workers(self._client)
        if workers is None:
            return
        if self._counted_s == 0:
            self._told(cluster_words(workers))
        self._counted_s, self._workers = now_s, workers


def _judge(error: BaseException, wanted: _Wanted) -> GivenUp | None:
    """What an error that Dask reports means; None for another try."""
    from distributed import KilledWorker

    if isinstance(error, KilledWorker | OSError) and wanted.failures + 1 < FAILURES:
        wanted.failures += 1
        return None
    if isinstance(error, KilledWorker):
        return GivenUp(why=lost_words(FAILURES))
    if isinstance(error, ImportError | AttributeError | pickle.UnpicklingError):
        raise WorkerError(
            f"the workers of the cluster cannot load framecheck ({error}); install the same "
            "version there, with its extra: pip install 'framecheck[cluster]'"
        ) from error
    return GivenUp(why=f"unexpected {type(error).__name__} on the cluster: {error}")
