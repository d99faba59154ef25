"""The clock of the stills' bench: parts add up, and timing changes nothing of what is seen."""

from pathlib import Path

import numpy as np
import pytest

from framecheck.bench.growth import BOARD_WH, board
from framecheck.bench.setup import REPOSITORY_SCENES, Bench, in_turns
from framecheck.bench.still_parts import CALLS, Clock, Clocked, split_time
from framecheck.bench.stills import HEIGHT_PX, WARM_UP, _seconds_each, write_stills
from framecheck.errors import ConfigError


def a_bench(folder: Path) -> Bench:
    return Bench(
        scenes=REPOSITORY_SCENES, folder=folder, quick=True, models=None, told=lambda _: None
    )


def test_a_part_within_another_counts_once() -> None:
    """Read at 0, 2, 5, 6, 10 and 11: inner 3 + 4, outer the rest of 11."""
    times_s = iter([0.0, 2.0, 5.0, 6.0, 10.0, 11.0])
    clock = Clock(lambda: next(times_s))
    with clock.part("outer"):
        for _ in range(2):
            with clock.part("inner"):
                pass
    assert clock.spent_s == {"inner": 7.0, "outer": 4.0}


def test_a_part_that_fails_is_counted_as_well() -> None:
    clock = Clock()

    def fail() -> None:
        with clock.part("inner"):
            raise ValueError("broken")

    with clock.part("outer"), pytest.raises(ValueError, match="broken"):
        fail()
    with clock.part("after"):
        pass
    assert set(clock.spent_s) == {"outer", "inner", "after"}


def test_only_the_calls_of_networks_are_timed() -> None:
    class Inner:
        size = 3

        def find_bodies(self, view, found_by):
            return (view, found_by)

        def other(self):
            return 5

    clock = Clock()
    clocked = Clocked(Inner(), clock)
    assert clocked.find_bodies(1, found_by="a") == (1, "a")
    assert (clocked.size, clocked.other()) == (3, 5)
    assert set(clock.spent_s) == {CALLS["find_bodies"]}


def test_the_results_while_workers_load_do_not_count() -> None:
    """Two workers: four results belong to the loading, six came a second after each other."""
    assert WARM_UP == 2
    ended_s = [10.0, 10.1, 10.2, 10.3, 11.3, 12.3, 13.3, 14.3, 15.3, 16.3]
    assert _seconds_each(ended_s, 16.3, 2) == pytest.approx(1.0)


def test_stages_take_turns() -> None:
    order: list[str] = []
    took = in_turns(
        {"a": lambda: order.append("a"), "b": lambda: order.append("b")}, 3, lambda _: None
    )
    assert order == ["a", "b"] * 3
    assert {name: len(seconds) for name, seconds in took.items()} == {"a": 3, "b": 3}


def test_some_frames_are_spread_over_all(tmp_path) -> None:
    bench = a_bench(tmp_path)
    assert len(bench.frames) == 28
    some = bench.some_frames(7)
    assert [bench.frames.index(frame) for frame in some] == [0, 4, 8, 12, 16, 20, 24]
    assert len(bench.some_frames(500)) == len(bench.frames)


def test_scenes_that_are_none_are_told(tmp_path) -> None:
    bench = Bench(scenes=tmp_path, folder=tmp_path, quick=True, models=None, told=print)
    with pytest.raises(ConfigError, match=r"no truth\.json"):
        assert bench.frames
    (tmp_path / "truth.json").write_text('{"frames": [{"file": "gone.jpg"}]}', "utf-8")
    with pytest.raises(ConfigError, match=r"gone\.jpg"):
        assert bench.frames
    (tmp_path / "truth.json").write_text("[]", "utf-8")
    with pytest.raises(ConfigError, match="holds no scenes"):
        assert bench.frames


def test_stills_are_written_with_as_many_lines_as_they_say(tmp_path) -> None:
    bench = a_bench(tmp_path)
    stills = write_stills(bench, tmp_path / "stills", 3)
    for still, frame in zip(stills, bench.some_frames(3), strict=True):
        rgb, before = (bench.tools.read_picture(path).rgb for path in (still, frame.path))
        assert rgb.shape[0] == HEIGHT_PX
        assert rgb.shape[1] / rgb.shape[0] == pytest.approx(before.shape[1] / before.shape[0], 1e-3)


def test_a_board_shows_every_panel_and_keeps_its_shape() -> None:
    panels = [np.full((300, 200, 3), level, np.uint8) for level in (10, 60, 250)]
    picture = board(panels)
    assert picture.shape == (BOARD_WH[1], BOARD_WH[0], 3)
    for level in (10, 60, 250):
        rows, columns = np.nonzero(picture[:, :, 0] == level)
        height, width = np.ptp(rows) + 1, np.ptp(columns) + 1
        assert width == 640
        assert width / height == pytest.approx(200 / 300, rel=0.01)


@pytest.mark.model
def test_the_parts_of_a_still_are_all_timed(tmp_path) -> None:
    bench = a_bench(tmp_path)
    stills = [frame.path for frame in bench.some_frames(2)]
    parts_ms, pass_ms = split_time(bench, stills)
    assert set(CALLS.values()) <= set(parts_ms)
    assert all(ms >= 0 for ms in parts_ms.values())
    assert pass_ms > 0
    assert parts_ms[CALLS["find_bodies"]] > 0.3 * pass_ms
