"""Measurements: begun, entered, ended, taken over."""

import os

import pytest

from framecheck.catalog import lease, measurements
from framecheck.catalog.catalog import Catalog
from framecheck.catalog.layout import Layout
from framecheck.catalog.lease import LEASE_S, Owner, is_live, this_owner
from framecheck.catalog.measurements import State
from framecheck.catalog.search import FindQuery
from framecheck.errors import LeaseLost
from tests.catalog.builders import (
    LAYOUT,
    a_file_row,
    a_frame,
    a_person,
    a_shot,
    lay_down,
    measure,
    measure_still,
    note,
)


def begin(catalog, content="content", **options):
    return catalog.begin(content, "settings", "clip", '{"rate": "25"}', **options)


def state_of(catalog, content="content"):
    return catalog.lookup(content, "settings").state


def test_from_begin_to_finish(catalog) -> None:
    assert catalog.lookup("content", "settings") is None
    number = begin(catalog)
    there = catalog.lookup("content", "settings")
    assert (there.id, there.state, there.busy) == (number, State.RUNNING, True)
    assert (there.kind, there.header_json) == ("clip", '{"rate": "25"}')
    assert catalog.shots_done(number) == set()
    assert begin(catalog) is None, "it is in hand already"
    catalog.add_shot(number, a_shot(0), [a_frame(0, 7)], [a_person()])
    catalog.add_shot(number, a_shot(1), [a_frame(1, 8), a_frame(1, 9)], [])
    assert catalog.shots_done(number) == {0, 1}
    catalog.finish(number, a_file_row())
    there = catalog.lookup("content", "settings")
    assert (there.state, there.busy, there.attempts) == (State.MEASURED, False, 1)
    assert begin(catalog) is None, "it is measured"
    assert catalog.counts() == {State.MEASURED: 1}


def test_other_settings_are_another_measurement(catalog) -> None:
    one = catalog.begin("content", "settings", "clip", "{}")
    other = catalog.begin("content", "other settings", "clip", "{}")
    assert None not in {one, other}
    assert one != other
    catalog.describe_settings("settings", '{"vocabulary": "trade"}')
    catalog.describe_settings("settings", '{"vocabulary": "trade"}')


def test_rows_come_back_as_they_went_in(catalog) -> None:
    number = begin(catalog)
    shots = [
        a_shot(2),
        a_shot(10, duration_s=0.1 + 0.2, notes="z\udce9\n\x00\u202e 'x'"),
        a_shot(0),
    ]
    frames = {
        shot["shot"]: [a_frame(shot["shot"], n, crop_level=n / 7) for n in (9, 3, 5)]
        for shot in shots
    }
    for shot in shots:
        catalog.add_shot(number, shot, frames[shot["shot"]], [a_person(1), a_person(0)])
    catalog.finish(number, a_file_row())
    rows = catalog.rows(number)
    assert rows.file == a_file_row()
    assert list(rows.shots) == [shots[2], shots[0], shots[1]]
    assert list(rows.frames) == [*frames[0], *frames[2], *frames[10]]
    assert [row["person"] for row in rows.people] == [1, 0] * 3
    assert list(rows.shots[0]) == [name for name, _ in LAYOUT.shots]
    assert rows.place is None


@pytest.mark.parametrize(
    "value", [None, 0.1 + 0.2, -0.1, 1e-300, 1.7976931348623157e308, 5, float("inf")]
)
def test_numbers_keep_their_full_precision(catalog, value) -> None:
    number = begin(catalog)
    catalog.add_shot(number, None, [a_frame(crop_level=value)], [])
    (row,) = catalog.rows(number).frames
    assert repr(row["crop_level"]) == repr(None if value is None else float(value))


def test_a_cell_that_is_no_number_is_refused_and_nothing_entered(catalog) -> None:
    number = begin(catalog)
    with pytest.raises(ValueError, match="NaN"):
        catalog.add_shot(number, a_shot(), [a_frame(), a_frame(crop_level=float("nan"))], [])
    assert catalog.shots_done(number) == set()
    assert catalog.rows(number).shots == ()


@pytest.mark.parametrize(
    ("shot", "people"), [(a_shot(sise="x"), []), (a_shot(), [a_person(yaw=1.0)])]
)
def test_a_column_without_a_place_is_refused_and_nothing_entered(catalog, shot, people) -> None:
    number = begin(catalog)
    with pytest.raises(ValueError, match="no column"):
        catalog.add_shot(number, shot, [a_frame()], people)
    assert catalog.shots_done(number) == set()


@pytest.mark.parametrize("shot", [None, "1", -1])
def test_a_shot_row_needs_its_number(catalog, shot) -> None:
    with pytest.raises(ValueError, match="number"):
        catalog.add_shot(
            begin(catalog),
            a_shot(shot, frame=0) if shot == -1 else {**a_shot(), "shot": shot},
            [],
            [],
        )


@pytest.mark.parametrize("name", ["size; DROP TABLE shots", 'a"b', "Size", "_shot", "", "1a"])
def test_column_names_are_plain_words(name) -> None:
    with pytest.raises(ValueError, match="plain name"):
        Layout(shots=((name, "text"),))


def test_entering_a_shot_again_replaces_it(catalog) -> None:
    number = begin(catalog)
    catalog.add_shot(
        number, a_shot(flags="knee; chin"), [a_frame(0, 1), a_frame(0, 2)], [a_person()]
    )
    catalog.add_shot(number, a_shot(flags="crown"), [a_frame(0, 3)], [])
    rows = catalog.rows(number)
    assert [row["flags"] for row in rows.shots] == ["crown"]
    assert [row["frame"] for row in rows.frames] == [3]
    assert rows.people == ()
    assert catalog.flagged_parts() == ["crown"]


def test_the_name_of_this_run_stands_in_the_rows(catalog) -> None:
    number = begin(catalog)
    catalog.add_shot(number, a_shot(), [a_frame()], [a_person()])
    catalog.finish(number, a_file_row())
    rows = catalog.rows(number, file="elsewhere/b.mov")
    files = {row["file"] for row in (rows.file, *rows.shots, *rows.frames, *rows.people)}
    assert files == {"elsewhere/b.mov"}


def test_what_failed_is_tried_again_and_keeps_its_shots(catalog) -> None:
    number = begin(catalog)
    catalog.add_shot(number, a_shot(0), [a_frame()], [])
    catalog.add_shot(number, a_shot(1), [a_frame()], [])
    catalog.fail(number, "broken", "frame 812 (00:00:32:12)", a_file_row(status="failed"))
    there = catalog.lookup("content", "settings")
    assert (there.state, there.why, there.where) == (
        State.FAILED,
        "broken",
        "frame 812 (00:00:32:12)",
    )
    assert catalog.rows(number).file["status"] == "failed"
    assert begin(catalog) == number
    assert state_of(catalog) is State.RUNNING
    assert catalog.lookup("content", "settings").attempts == 2
    assert catalog.shots_done(number) == {0, 1}
    catalog.forget_shots(number, 1)
    assert catalog.shots_done(number) == {0}
    assert [row["shot"] for row in catalog.rows(number).shots] == [0]
    catalog.finish(number, a_file_row())
    assert state_of(catalog) is State.MEASURED
    assert catalog.lookup("content", "settings").why == ""


def test_what_was_skipped_says_why(catalog) -> None:
    number = begin(catalog)
    catalog.skip(number, "an annotated copy of an earlier run", "finding")
    there = catalog.lookup("content", "settings")
    assert (there.state, there.why, there.busy) == (
        State.SKIPPED, "an annotated copy of an earlier run", False,
    )  # fmt: skip


def test_afresh_forgets_what_was_measured(catalog) -> None:
    number = begin(catalog)
    catalog.add_shot(number, a_shot(), [a_frame()], [a_person()])
    catalog.finish(number, a_file_row())
    assert begin(catalog, afresh=True) == number
    assert catalog.shots_done(number) == set()
    rows = catalog.rows(number)
    assert (rows.file, rows.shots, rows.frames, rows.people) == (None, (), (), ())


def test_a_still_has_no_shot(tmp_path, catalog) -> None:
    number = measure_still(
        catalog, lay_down(tmp_path, "a.jpg", b"a"), a_frame(shot=None, frame=None)
    )
    assert catalog.shots_done(number) == {0}
    rows = catalog.rows(number)
    assert rows.shots == ()
    assert [row["shot"] for row in rows.frames] == [None]


def test_leaving_gives_up_what_is_not_ended(tmp_path) -> None:
    path = tmp_path / "a.sqlite"
    with Catalog.open(path, layout=LAYOUT) as one, Catalog.open(path, layout=LAYOUT) as other:
        number = begin(one)
        assert begin(other) is None
        one.close()
        assert begin(other) == number


def test_a_run_that_lost_its_lease_may_not_write(tmp_path, monkeypatch) -> None:
    path = tmp_path / "a.sqlite"
    with Catalog.open(path, layout=LAYOUT) as one, Catalog.open(path, layout=LAYOUT) as other:
        number = begin(one)
        one.add_shot(number, a_shot(0), [a_frame()], [])
        real = measurements.time.time
        monkeypatch.setattr(measurements.time, "time", lambda: real() + LEASE_S + 1)
        assert begin(other) == number
        monkeypatch.undo()
        for call in (
            lambda: one.add_shot(number, a_shot(1), [], []),
            lambda: one.finish(number, a_file_row()),
            lambda: one.fail(number, "x", "y"),
            lambda: one.skip(number, "x", "y"),
            lambda: one.forget_shots(number, 0),
        ):
            with pytest.raises(LeaseLost, match="another run has taken over"):
                call()
        assert other.shots_done(number) == {0}
        one.close()
        assert other.lookup("content", "settings").busy, "closing gives up one's own alone"
        other.finish(number, a_file_row())


def test_signs_of_life_keep_the_lease_and_are_written_now_and_then(tmp_path, monkeypatch) -> None:
    path = tmp_path / "a.sqlite"
    with Catalog.open(path, layout=LAYOUT) as one, Catalog.open(path, layout=LAYOUT) as other:
        begin(one)
        real = measurements.time.time
        monkeypatch.setattr(measurements.time, "time", lambda: real() + LEASE_S - 1)
        one.heartbeat()
        monkeypatch.setattr(measurements.time, "time", lambda: real() + 1.5 * LEASE_S)
        assert begin(other) is None
        one.heartbeat()  # too soon after the last one to be written
        monkeypatch.setattr(measurements.time, "time", lambda: real() + 2.5 * LEASE_S)
        assert begin(other) is not None


HERE = this_owner()


def an_owner(**changes):
    parts = {"token": "t", "host": HERE.host, "pid": os.getppid(), "start_s": 0.0, **changes}
    if "start_s" not in changes:
        parts["start_s"] = lease_start(parts["pid"])
    return Owner(**parts)


def lease_start(pid):
    import psutil

    return psutil.Process(pid).create_time()


@pytest.mark.parametrize(
    ("owner", "silent_s", "live"),
    [
        (an_owner(), 10 * LEASE_S, True),
        (an_owner(start_s=1.0), 0.0, False),
        (an_owner(pid=2**22 + 1, start_s=1.0), 0.0, False),
        (an_owner(pid=HERE.pid), 1.0, True),
        (an_owner(pid=HERE.pid), LEASE_S + 1, False),
        (an_owner(pid=HERE.pid, start_s=1.0), 1.0, False),
        (an_owner(host="elsewhere"), LEASE_S - 1, True),
        (an_owner(host="elsewhere"), LEASE_S + 1, False),
        (an_owner(host="elsewhere"), -LEASE_S - 1, False),
        (an_owner(host="elsewhere"), 1 - LEASE_S, True),
    ],
    ids=[
        "live here", "number given to another process", "dead here", "another opening here",
        "forgotten opening here", "our number, an earlier process", "elsewhere",
        "silent elsewhere", "clock far ahead elsewhere", "clock a little ahead elsewhere",
    ],
)  # fmt: skip
def test_who_counts_as_alive(owner, silent_s, live) -> None:
    assert is_live(owner, silent_s, HERE) is live


def test_a_process_that_may_not_be_looked_at_counts_as_alive(monkeypatch) -> None:
    import psutil

    def refuse(pid):
        raise psutil.AccessDenied(pid)

    monkeypatch.setattr(psutil, "Process", refuse)
    assert lease._runs(an_owner(start_s=1.0))


def test_searches_show_what_was_asked_for_last(tmp_path, catalog) -> None:
    file = lay_down(tmp_path, "a.mov", b"a")

    def shown():
        return [row["size"] for row in catalog.find(FindQuery())]

    trade = measure(catalog, file, [(a_shot(), [])], "trade")
    assert shown() == ["medium"]
    content = note(catalog, file)
    textbook = catalog.begin(content, "textbook", "clip", "{}")
    catalog.add_shot(textbook, a_shot(size="mid-shot"), [a_frame()], [])
    assert shown() == ["medium"], "a part does not replace a whole"
    catalog.finish(textbook, a_file_row())
    assert shown() == ["mid-shot"]
    catalog.show(trade)
    assert shown() == ["medium"]
    catalog.show(trade)
    third = catalog.begin(content, "third", "clip", "{}")
    catalog.fail(third, "x", "y")
    assert shown() == ["medium"]


def test_searches_show_what_there_is_of_an_unfinished_measurement(tmp_path, catalog) -> None:
    content = note(catalog, lay_down(tmp_path, "a.mov", b"a"))
    number = begin(catalog, content)
    assert catalog.find(FindQuery()) == []
    catalog.add_shot(number, a_shot(0), [a_frame()], [])
    assert len(catalog.find(FindQuery())) == 1
    catalog.fail(number, "x", "y")
    assert len(catalog.find(FindQuery())) == 1
