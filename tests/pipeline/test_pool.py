"""Faults of the worker pool: workers that hang, die, crash at the start or grow."""

import os
import time

import psutil
import pytest

from framecheck.errors import ModelBroken, WorkerError
from framecheck.pipeline.pool import Lost, PoolLimits, WorkerPool
from tests.pipeline.fakes import OpenAndDie, OpenNothing, OpenObedientWork


def run(tasks, workers=1, **limits):
    pool = WorkerPool(OpenObedientWork(), PoolLimits(workers=workers, **limits))
    return dict(pool.run(tasks))


def test_every_task_gets_its_own_result_whatever_the_order_of_ending():
    tasks = ["nap 0.4", "say b", "say c", "say d"]
    pool = WorkerPool(OpenObedientWork(), PoolLimits(workers=2))
    pairs = list(pool.run(tasks))
    assert dict(pairs) == dict(enumerate(tasks))
    assert [index for index, _ in pairs][-1] == 0  # the nap ended last, and held up nobody


def test_a_hanging_task_is_lost_at_its_limit_and_the_next_goes_on():
    started = time.monotonic()
    results = run(["hang", "say b"], task_s=0.5)
    assert results[0].why == "took longer than 0.5 s"
    assert results[1] == "say b"
    assert time.monotonic() - started < 30


def test_a_task_just_inside_its_limit_is_kept():
    assert run(["nap 0.2"], task_s=5.0) == {0: "nap 0.2"}


@pytest.mark.parametrize(
    ("order", "words"),
    [("die", "ended with exit code 7"), ("kill", "ended by signal 9 SIGKILL")],
)
def test_a_dying_worker_loses_its_own_task_alone(order, words):
    results = run(["say a", order, "say c"], workers=1)
    assert results[0] == "say a"
    assert isinstance(results[1], Lost)
    assert words in results[1].why
    assert results[2] == "say c"


def test_every_task_may_kill_its_worker():
    results = run(["die"] * 4, workers=2)
    assert len(results) == 4
    assert all(isinstance(result, Lost) for result in results.values())


def test_a_worker_that_grew_is_replaced_and_one_that_did_not_is_kept():
    plain = run(["who 1", "who 2"])
    assert plain[0].split()[-1] == plain[1].split()[-1]
    grown = run(["who 1", "eat 400", "who 2"], memory_bytes=300 * 1024**2)
    assert grown[1] == "eat 400"
    assert grown[0].split()[-1] != grown[2].split()[-1]


def test_the_error_of_opening_reaches_the_caller_as_it_was():
    with pytest.raises(ModelBroken, match="torn") as caught:
        list(WorkerPool(OpenNothing(), PoolLimits(workers=2)).run(["say a"]))
    assert caught.value.where == "pose.task"


def test_workers_that_crash_at_the_start_end_the_run():
    with pytest.raises(WorkerError, match="cannot be started: the last one ended with exit code 9"):
        list(WorkerPool(OpenAndDie(), PoolLimits(workers=1)).run(["say a"]))


def test_no_worker_survives_a_run_that_is_given_up():
    before = {child.pid for child in psutil.Process().children()}
    pool = WorkerPool(OpenObedientWork(), PoolLimits(workers=2))
    results = pool.run(["say a", "hang", "hang"])
    next(results)
    results.close()
    time.sleep(0.2)
    left = [
        child
        for child in psutil.Process().children()
        if child.pid not in before and "resource_tracker" not in " ".join(child.cmdline())
    ]
    assert left == []


def test_no_tasks_start_no_workers():
    pool = WorkerPool(OpenAndDie(), PoolLimits(workers=2))
    assert list(pool.run([])) == []


def test_workers_are_processes_of_their_own():
    assert run(["who 1"])[0].split()[-1] != str(os.getpid())
