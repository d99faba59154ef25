"""Where work is done, and the parts of a cluster's work that need no cluster."""

import pickle
import sys
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from framecheck.errors import ConfigError, ModelBroken, WorkerError
from framecheck.media.address import RemotePath
from framecheck.pipeline import dask_executor, site
from framecheck.pipeline.clip import ClipEnd, ClipTask
from framecheck.pipeline.dask_tries import MOST_TRIES, Refused, Tries
from framecheck.pipeline.dask_worker import Done, GivenUp, Unfit
from framecheck.pipeline.elsewhere import ProvideMediaPipe
from framecheck.pipeline.executor import check_place, open_executor, scheduler_of
from framecheck.pipeline.measured_clip import measure_clip
from framecheck.pipeline.shot import ShotWork
from framecheck.pipeline.signature import sign
from framecheck.pipeline.site import Site, Sites, blind_to
from framecheck.pipeline.trouble import Trouble
from framecheck.pipeline.workshop import Workshop
from tests.pipeline.fakes import FakeMeasurer
from tests.pipeline.runs import order_for, write_clip


@pytest.mark.parametrize(
    ("place", "scheduler"),
    [
        ("local", None),
        ("dask://head:8786", "head:8786"),
        ("dask://10.0.0.7:1", "10.0.0.7:1"),
        ("dask://[fd00::1]:8786", "[fd00::1]:8786"),
    ],
)
def test_places(place, scheduler):
    check_place(place)
    assert scheduler_of(place) == scheduler


@pytest.mark.parametrize(
    "place",
    ["", "Local", "dask", "dask://", "dask://head", "dask://head:0", "dask://head:70000",
     "tcp://head:8786", "dask://me:pw@head:8786", "dask://head:8786/x", "dask://head:8786\n"],
)  # fmt: skip
def test_what_is_no_place_is_said_so(place):
    with pytest.raises(ConfigError, match="takes local or dask://HOST:PORT"):
        check_place(place)


def test_workers_of_this_machine_do_not_go_with_a_cluster():
    check_place("local", 4)
    with pytest.raises(ConfigError, match="--workers goes with --on local"):
        check_place("dask://head:8786", 4)


def test_the_processes_of_this_machine_are_one_executor(tmp_path):
    executor = open_executor(order_for([], tmp_path), print)
    assert isinstance(executor, Workshop)
    executor.close()


def test_dask_is_named_when_it_is_missing(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    order = replace(order_for([], tmp_path), place="dask://head:8786")
    with pytest.raises(ConfigError, match=r"pip install 'framecheck\[cluster\]'"):
        open_executor(order, print)


class FakeScheduler:
    """Keeps events by topic, for a client and a worker at once."""

    def __init__(self):
        self.topics, self.dead = {}, []

    def log_event(self, topic, message):
        self.topics.setdefault(topic, []).append((0.0, message))

    def get_events(self, topic):
        return tuple(self.topics.get(topic, ()))

    def tries(self, number):
        return Tries(self, self, "run", number)

    def die(self, number):
        """A try that never ends: nobody is left to say so."""
        self.dead.append(self.tries(number).counted())
        self.dead[-1].__enter__()


def test_a_task_whose_worker_was_lost_is_tried_twice_and_refused_then():
    scheduler = FakeScheduler()
    for _ in range(MOST_TRIES):
        scheduler.die(7)
    with pytest.raises(Refused, match="was lost, 2 times"), scheduler.tries(7).counted():
        raise AssertionError("it was tried once more")


def test_tries_that_came_to_an_end_do_not_count_and_those_of_others_neither():
    """Results can be lost with their worker, and are then made anew."""
    scheduler, done = FakeScheduler(), []
    scheduler.die(7 + 1024)  # of the same topic
    scheduler.die(7 + 1024)
    for _ in range(5):
        with scheduler.tries(7).counted():
            done.append(7)
    scheduler.die(7)
    with scheduler.tries(7).counted():
        done.append(7)
    assert len(done) == 6


def test_a_task_that_took_too_long_is_not_tried_again():
    scheduler = FakeScheduler()
    scheduler.tries(7).late("took longer than 60 s")
    with pytest.raises(Refused, match="took longer than 60 s"), scheduler.tries(7).counted():
        raise AssertionError("it was tried once more")


def a_site_order(tmp_path, **changes):
    return replace(dask_executor._site_order(order_for([], tmp_path)), **changes)


def test_a_process_with_the_same_framecheck_takes_part_and_says_what_else_differs(tmp_path):
    there = {
        name: "0.1" if name == "av" else number for name, number in site.own_libraries().items()
    }
    order = pickle.loads(pickle.dumps(a_site_order(tmp_path, libraries=there)))
    (note,) = Site(order).notes
    assert "it has av " in note
    assert "the run was started with 0.1" in note
    assert Site(a_site_order(tmp_path)).notes == ()


def test_a_process_with_another_framecheck_takes_no_part(tmp_path):
    with pytest.raises(WorkerError, match="another version of framecheck is installed there"):
        Site(a_site_order(tmp_path, fingerprint="other"))


def test_networks_are_loaded_once_for_all_tasks_of_a_run(tmp_path):
    loads = []

    class Counting:
        version = "fake"

        def __call__(self):
            loads.append(1)
            return FakeMeasurer()

    sites, order = Sites(), a_site_order(tmp_path, open_measurer=Counting())
    assert sites.open(order) is sites.open(order)
    assert len(loads) == 1
    sites.open(replace(order, run="another"))
    assert len(loads) == 2


def test_a_process_that_cannot_load_says_why(tmp_path):
    def fail():
        raise RuntimeError("no such instruction")

    fail.version = "fake"
    with pytest.raises(WorkerError, match="it cannot load: RuntimeError: no such instruction"):
        Sites().open(a_site_order(tmp_path, open_measurer=fail))


def test_a_machine_without_the_drive_is_told_from_a_file_that_is_gone(tmp_path):
    assert "does not see the folder" in blind_to((tmp_path / "drive" / "a.mov",))
    assert blind_to((tmp_path / "gone.mov", RemotePath("s3://rushes/a.mov"))) == ""


@pytest.mark.model
def test_other_models_than_those_of_the_run_are_refused():
    with pytest.raises(ModelBroken, match="not those that the run was started with"):
        ProvideMediaPipe(version="other", source=Path("/not/there"))()


def test_a_clip_in_one_process_gives_its_shots_in_order_and_its_end(tmp_path):
    clip = write_clip(tmp_path / "a.clip", [[24, 20], [24, 12, "odd"], [24, 8]], at={"60": "torn"})
    order = order_for([clip], tmp_path / "out")
    task = ClipTask(
        file="a.clip", path=clip, files=(clip,), signature=sign((clip,)), done={0: (0, 24)}
    )
    shots = ShotWork(measurer=FakeMeasurer(), judging=order.measuring.judging)
    working, beats = measure_clip(task, order.reading(), shots), 0
    try:
        while True:
            next(working)
            beats += 1
    except StopIteration as stop:
        clip = stop.value
    assert [take.span.shot for take in clip.takes] == [1, 2]
    assert clip.takes[0].outcome.trouble.where.startswith("shot 1, frame 24")
    assert clip.takes[1].outcome.result.span.end_frame == 60
    assert clip.end.trouble.where.startswith("frame 60")
    assert beats >= 2
    assert len(pickle.dumps(clip)) < 20_000  # no pictures


def test_names_in_messages_are_those_that_were_given(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    names = dask_executor._Names((Path("in/a\nb.jpg"),))
    (there,) = names.seen_from_anywhere
    assert there == tmp_path / "in" / "a\nb.jpg"
    trouble = Trouble(why=f"{tmp_path}/in/a\\nb.jpg is broken", where="reading")
    assert names._in_trouble(trouble).why == "in/a\\nb.jpg is broken"
    remote = RemotePath("https://host/a.jpg?sig=1")
    assert dask_executor._Names((remote,)).seen_from_anywhere == (remote,)


def test_what_nobody_could_do_becomes_the_failure_of_its_clip():
    clip = dask_executor._clip_of(GivenUp(why="lost, 2 times"))
    assert clip.takes == ()
    assert clip.end == ClipEnd(
        header=None, frames=0, shots=0, duration_s=Fraction(0),
        trouble=Trouble(why="lost, 2 times", where="cluster"),
    )  # fmt: skip


class FakeClient:
    """A cluster that gives prepared answers, in the same moment."""

    def __init__(self, answers):
        self.status, self.answers, self.asked = "running", list(answers), []

    def subscribe_topic(self, topic, handler):
        pass

    def nthreads(self):
        return {"tcp://a": 1, "tcp://b": 1}

    def submit(self, function, *arguments, key, workers, pure):
        self.asked.append((key, workers))
        answer = self.answers.pop(0)
        return FakeFuture(self, answer)

    def gather(self, futures):
        return [future.answer for future in futures]

    def run(self, *_, **__):
        pass

    def close(self, timeout=None):
        self.status = "closed"


class FakeFuture:
    def __init__(self, client, answer):
        self.client, self.answer = client, answer
        bad = isinstance(answer, BaseException)
        self.status = "error" if bad else "cancelled" if answer is None else "finished"

    def add_done_callback(self, callback):
        callback(self)

    def result(self, timeout):
        raise self.answer


DONE = Done(worker="tcp://b", host="b", result=None, notes=("it is old",))


@pytest.fixture
def link_to(tmp_path, monkeypatch):
    """A link to a cluster that answers so, and what the user is told."""
    pytest.importorskip("distributed")
    from framecheck.pipeline import dask_link

    links = []

    def link(*answers):
        client, told = FakeClient(answers), []
        monkeypatch.setattr(dask_link, "open_client", lambda address, limit_s: client)
        links.append(dask_link.Link("head:1", a_site_order(tmp_path), told.append, None))
        return links[-1], client, told

    yield link
    for each in links:
        each.close()


def settle(link):
    link.submit(0, "clip", (Path("a"),))
    answers = []
    while not answers:
        answers = link.wait(5.0)
    assert link.wanted == 0
    return answers[0][1]


def test_a_worker_that_cannot_take_part_is_told_once_and_shunned(link_to):
    link, client, told = link_to(Unfit(worker="tcp://a", host="a", why="too old"), DONE, DONE)
    assert settle(link) is DONE
    assert settle(link) is DONE
    assert [workers for _key, workers in client.asked] == [None, ["tcp://b"], ["tcp://b"]]
    assert len({key for key, _workers in client.asked}) == 3
    assert told == [
        "the cluster has 2 workers",
        "worker tcp://a on a is not used: too old",
        "worker tcp://b on b: it is old",
    ]


def test_a_task_that_dask_gave_up_for_the_sake_of_others_is_handed_in_again(link_to):
    from distributed import KilledWorker

    killed = KilledWorker("a", None, 3)
    link, client, _told = link_to(killed, None, killed, DONE)
    assert settle(link) is DONE
    assert len(client.asked) == 4
    link, client, _told = link_to(killed, killed, killed)
    assert "was lost, 3 times" in settle(link).why


def test_workers_without_framecheck_end_the_run_with_the_way_to_mend_it(link_to):
    link, _client, _told = link_to(ModuleNotFoundError("No module named 'framecheck'"))
    with pytest.raises(WorkerError, match=r"cannot load framecheck .* 'framecheck\[cluster\]'"):
        settle(link)


def test_what_nobody_expected_fails_one_file_alone(link_to):
    link, _client, _told = link_to(ZeroDivisionError("surprise"))
    assert settle(link) == GivenUp(why="unexpected ZeroDivisionError on the cluster: surprise")


def test_a_scheduler_that_stays_away_ends_the_run(link_to, monkeypatch):
    from framecheck.pipeline import dask_link

    def nobody(address, limit_s):
        raise WorkerError("does not answer")

    link, client, told = link_to()
    client.status = "closed"
    monkeypatch.setattr(dask_link, "open_client", nobody)
    link.submit(0, "clip", (Path("a"),))
    assert link.wait(0.01) == []
    assert "has gone away" in told[-1]
    monkeypatch.setattr(dask_link, "PATIENCE_S", -1.0)
    with pytest.raises(WorkerError, match="does not answer"):
        link.wait(0.01)
