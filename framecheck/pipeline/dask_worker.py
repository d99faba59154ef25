"""The inside of a Dask worker: one task after the other, with one set of networks."""

from __future__ import annotations

import os
import pickle
import threading
import time
from dataclasses import dataclass
from typing import TypeAlias

from framecheck.errors import FramecheckError, WorkerError
from framecheck.pipeline.clip import ClipProgress, ClipTask
from framecheck.pipeline.dask_tries import Refused, Tries
from framecheck.pipeline.noise import ask_for_quiet
from framecheck.pipeline.order import IDENTIFY_S
from framecheck.pipeline.site import (
    Site,
    SiteOrder,
    SiteResult,
    Sites,
    SiteTask,
    blind_to,
    files_of,
    host_name,
)
from framecheck.pipeline.still import StillTask
from framecheck.pipeline.trouble import trouble_of
from framecheck.pipeline.worker import Beat

TELL_S = 2.0
"""How often it is told how far a clip is."""
FAREWELL_S = 10.0
"""How long it may take to tell why a worker is ended."""
EXIT_LATE = 75

_SITES = Sites()
_STOPPED: set[str] = set()


@dataclass(frozen=True, slots=True, kw_only=True)
class Done:
    """What came of a task, on which worker, and what the user should know of that one."""

    worker: str
    host: str
    result: SiteResult
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Unfit:
    """This worker cannot take part; another one may."""

    worker: str
    host: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenUp:
    """Nobody is to try the task again."""

    why: str


Answer: TypeAlias = Done | Unfit | GivenUp


def carry_out(order: bytes, number: int, task: SiteTask) -> Answer:
    """One task on this worker.

    Args:
        order: a pickled `SiteOrder`, the same for all tasks of a run.
        number: of the task in the run.
        task: what to do.
    """
    from distributed import get_client, get_worker

    told: SiteOrder = pickle.loads(order)
    worker, host = get_worker(), host_name()
    try:
        site = _enter(told, task)
    except FramecheckError as error:
        return Unfit(worker=worker.address, host=host, why=str(error))
    tries = Tries(get_client(), worker, told.run, number)
    try:
        with tries.counted(), _Watch(tries, told.run, _limit_s(told, task)) as watch:
            result = _try(site, task, watch)
    except Refused as refused:
        return GivenUp(why=str(refused))
    return Done(worker=worker.address, host=host, result=result, notes=site.notes)


def _try(site: Site, task: SiteTask, watch: _Watch) -> SiteResult:
    try:
        return site.carry_out(task, watch.beat)
    except Refused:
        raise
    except Exception as error:  # a bad file is seen to inside; this is the worker's own trouble
        raise Refused(trouble_of(error, "cluster").why) from error


def stop_run(run: str) -> None:
    """Called on every worker when a run is over: clips in hand are let go."""
    _STOPPED.add(run)


def _enter(told: SiteOrder, task: SiteTask) -> Site:
    """This process as a site of the run, if it can be one and sees what is to be measured."""
    ask_for_quiet()
    site = _SITES.open(told)
    blind = blind_to(files_of(task))
    if blind:
        raise WorkerError(blind)
    return site


class _Watch:
    """Ends this process when a task is silent for too long: native code cannot be broken off."""

    def __init__(self, tries: Tries, run: str, limit_s: float) -> None:
        self._tries, self._run, self._limit_s = tries, run, limit_s
        self._news = threading.Condition()
        self._beat_s, self._told_s, self._over = time.monotonic(), 0.0, False
        self._thread = threading.Thread(target=self._watch, daemon=True)

    def __enter__(self) -> _Watch:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        with self._news:
            self._over = True
            self._news.notify()

    def beat(self, beat: Beat) -> None:
        """A sign of life.

        Raises:
            Refused: nobody wants the result any more.
        """
        if self._run in _STOPPED:
            raise Refused("the run is over")
        self._beat_s = now_s = time.monotonic()
        if isinstance(beat.about, ClipProgress) and now_s - self._told_s >= TELL_S:
            self._told_s = now_s
            self._tries.moved(beat.about)

    def _watch(self) -> None:
        with self._news:
            while not self._over:
                left_s = self._beat_s + self._limit_s - time.monotonic()
                if left_s <= 0:
                    self._end_process()
                self._news.wait(left_s)

    def _end_process(self) -> None:
        in_any_case = threading.Timer(FAREWELL_S, os._exit, (EXIT_LATE,))
        in_any_case.daemon = True
        in_any_case.start()  # the scheduler may be silent, too
        try:
            self._tries.late(f"took longer than {self._limit_s:g} s")
        finally:
            os._exit(EXIT_LATE)


def _limit_s(order: SiteOrder, task: SiteTask) -> float:
    if isinstance(task, StillTask | ClipTask):
        return order.task_s
    return IDENTIFY_S + len(task)
