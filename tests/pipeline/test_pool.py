"""Faults of the worker pool: workers that hang, die, crash at the start or grow."""

import os
import time

import psutil
import pytest

from framecheck.errors import ModelBroken, WorkerError
from framecheck.pipeline.pool import (
    Ended,
    Lost,
    Part,
    PoolLimits,
    SignOfLife,
    WorkerPool,
    wait_for,
)
from tests.pipeline.obedient import OpenAndDie, OpenNothing, OpenObedientWork, OpenTalker


def run(tasks, workers=1, **limits):
    pool = WorkerPool(OpenObedientWork(), PoolLimits(workers=workers, **limits))
    return dict(pool.run(tasks))


def test_every_task_gets_its_own_result_whatever_the_order_of_ending():
    tasks = ["nap 0.4", "say b", "say c", "say d"]
    pool = WorkerPool(OpenObedientWork(), PoolLimits(workers=2))
    pairs = list(pool.run(tasks))
    assert dict(pairs) == dict(enumerate(tasks))
    assert [index for index, _ in pairs][-1] == 0  # the nap ended last, and held up nobody


@pytest.mark.parametrize(("asked", "started"), [((), 0), ((1,), 1), ((1, 9), 3), ((None, 1), 3)])
def test_workers_are_started_ahead_as_asked_and_never_more_than_allowed(asked, started):
    pool = WorkerPool(OpenObedientWork(), PoolLimits(workers=3))
    try:
        for count in asked:
            pool.prepare(count)
        pool.staff()
        assert len(pool.handles()) == 2 * started  # of each its pipe and its end
    finally:
        pool.close()


def test_a_hanging_task_is_lost_at_its_limit_and_the_next_goes_on():
    started = time.monotonic()
    results = run(["hang", "say b"], task_s=0.5)
    assert results[0].why == "took longer than 0.5 s"
    assert not results[0].killed
    assert results[1] == "say b"
    assert time.monotonic() - started < 30


def test_a_task_just_inside_its_limit_is_kept():
    assert run(["nap 0.2"], task_s=5.0) == {0: "nap 0.2"}


@pytest.mark.parametrize(
    ("order", "words"),
    [
        ("die", "the worker ended with exit code 7, 2 times"),
        ("kill", "ended by signal 9 SIGKILL, perhaps for want of memory, 2 times"),
    ],
)
def test_a_task_that_kills_its_worker_twice_is_lost_and_no_other_is(order, words):
    results = run(["say a", order, "say c"], workers=1)
    assert results[0] == "say a"
    assert isinstance(results[1], Lost)
    assert words in results[1].why
    assert results[1].killed
    assert results[2] == "say c"


def test_a_task_whose_worker_is_killed_once_is_done_by_another():
    assert run(["say a", "die-once b", "say c"]) == {0: "say a", 1: "die-once b", 2: "say c"}


def test_without_retries_a_killed_worker_loses_its_task_at_once():
    assert run(["die-once a"], retries=0)[0].why == "the worker ended with exit code 7"


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


def talk(tasks, handle=None, **limits):
    """All events of works in parts; each part is released at once unless `handle` does it."""
    pool = WorkerPool(OpenTalker(), PoolLimits(workers=1, **limits))
    for key, task in enumerate(tasks):
        pool.submit(key, task)
    events = []
    try:
        while not pool.idle:
            for event in pool.attend(wait_for([pool], 5.0)):
                events.append(event)
                if handle is not None:
                    handle(event)
                elif isinstance(event, Part):
                    event.release()
    finally:
        pool.close()
    return events


def test_a_work_in_parts_sends_them_in_order_and_whole():
    events = talk(["5", "2"])
    parts = [event for event in events if isinstance(event, Part)]
    assert [(part.key, part.content[0, 0]) for part in parts] == [
        (0, 0), (0, 1), (0, 2), (0, 3), (0, 4), (1, 0), (1, 1),
    ]  # fmt: skip
    assert all((part.content == part.content[0, 0]).all() for part in parts)
    assert parts[0].content.shape == (600, 500)
    ends = [(event.key, event.result) for event in events if isinstance(event, Ended)]
    assert ends == [(0, "5 sent"), (1, "2 sent")]
    assert [e.about for e in events if isinstance(e, SignOfLife) and e.key == 0] == [0, 1, 2, 3, 4]


def test_a_work_in_parts_waits_until_its_parts_are_dealt_with():
    pool = WorkerPool(OpenTalker(), PoolLimits(workers=1, window=2, task_s=0.4))
    pool.submit(0, "4")
    parts = []

    def gather(seconds):
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            for event in pool.attend(wait_for([pool], 0.1)):
                assert not isinstance(event, Ended), event
                if isinstance(event, Part):
                    parts.append(event)

    try:
        while len(parts) < 2:
            gather(0.1)
        gather(1.0)  # longer than the limit of a task: who waits for us is not late
        assert len(parts) == 2
        parts[0].release()
        gather(0.3)
        assert len(parts) == 3
    finally:
        pool.close()


def test_a_work_in_parts_that_falls_silent_is_lost_after_what_it_said():
    events = talk(["5 hang"], task_s=0.5)
    assert [e.content[0, 0] for e in events if isinstance(e, Part)] == [0, 1]
    assert events[-1].result.why == "took longer than 0.5 s"


@pytest.mark.skipif(os.name != "posix", reason="memory is limited by the POSIX system")
def test_a_work_that_asks_for_too_much_memory_is_refused_it():
    assert talk(["1 eat"])[-1].result == "1 sent"
    refused = talk(["1 eat"], hard_memory_bytes=600 * 1024**2)
    assert refused[-1].result == "not enough memory"


def test_a_work_that_has_taken_too_much_memory_is_ended(monkeypatch):
    monkeypatch.setattr("framecheck.pipeline.process.Process.memory_bytes", lambda _: 5 * 1024**3)
    events = talk(["5"], hard_memory_bytes=4 * 1024**3)
    assert events[-1].result.why == "needed more than 4 GB of memory"
    assert not events[-1].result.killed


def test_tasks_may_come_while_others_run():
    pool = WorkerPool(OpenObedientWork(), PoolLimits(workers=2))
    pool.submit(7, "say a")
    results = {}
    try:
        while not pool.idle:
            for event in pool.attend(wait_for([pool], 5.0)):
                results[event.key] = event.result
                if event.key < 9:
                    pool.submit(event.key + 1, f"say {event.key + 1}")
    finally:
        pool.close()
    assert results == {7: "say a", 8: "say 8", 9: "say 9"}


def test_two_pools_are_waited_for_at_once():
    slow = WorkerPool(OpenObedientWork(), PoolLimits(workers=1))
    fast = WorkerPool(OpenObedientWork(), PoolLimits(workers=1))
    slow.submit(0, "hang")
    fast.submit(0, "say a")
    try:
        while not fast.idle:
            spoke = wait_for([slow, fast], 5.0)
            assert list(slow.attend(spoke)) == []
            results = [event.result for event in fast.attend(spoke)]
        assert results == ["say a"]
    finally:
        slow.close()
        fast.close()
