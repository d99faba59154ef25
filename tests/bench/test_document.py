"""A run of the bench to JSON and back, and what moved between two of them."""

import dataclasses
import json
import math

import pytest

from framecheck.bench.document import FORMAT, Run, compare_runs, moved_only, read_run, run_json
from framecheck.bench.figures import Figure, Findings, fit_curve
from framecheck.bench.words import comparison_lines, heading_lines, part_lines
from framecheck.errors import ConfigError

CLIP = Figure(
    name="clip_over_plain_decoding", value=1.32, noise=0.02, aim="<= 1.3", under="120 s, 2 cores"
)
FOUND = Figure(name="subject_found", value=0.978, aim=">= 0.99", under="140 scenes", beside=0.866)
START = Figure(name="help_cold_start_s", value=0.2, noise=0.01, unit="s", aim="<= 0.4")


def a_run(*figures, curves=(), **more):
    machine = {
        "processor": "a processor", "architecture": "x86_64", "cores": 2, "memory_gb": 8.0,
        "system": "a system", "load_before": 0.1,
    }  # fmt: skip
    plain = {"written": "2020-02-02T20:20:20+00:00", "quick": False, "versions": {"Python": "3.x"}}
    findings = {"speed": Findings(figures=figures, curves=curves, notes=("a note",))}
    return Run(**{**plain, "machine": machine, "findings": findings, **more})


def changed(figure, before=None, **more):
    """How the comparison judges the figure beside the one of before."""
    now = a_run(dataclasses.replace(figure, **more))
    return compare_runs(before or a_run(figure), now)[0]


def test_a_run_comes_back_from_its_file(tmp_path) -> None:
    curve = fit_curve("time against frames", "frames", [1, 2, 4], [1, 2, 4.5])
    run = a_run(CLIP, FOUND, START, curves=(curve,))
    path = tmp_path / "run.json"
    path.write_text(run_json(run), "utf-8")
    assert read_run(path) == run
    assert run_json(read_run(path)) == run_json(run)


def test_the_json_says_whether_aims_are_met_and_holds_no_nan() -> None:
    nothing = Figure(name="pitch_class_right", value=math.nan, aim=">= 0.90")
    document = json.loads(run_json(a_run(CLIP, START, nothing)))
    clip, start, empty = document["parts"]["speed"]["figures"]
    assert (clip["met"], start["met"], empty["met"]) == (False, True, None)
    assert empty["value"] is None


@pytest.mark.parametrize(
    ("now", "moved"),
    # Noise of the difference: 0.02 * root 2 = 0.0283; twice that is 0.0566.
    [(1.32, False), (1.375, False), (1.378, True), (1.26, True)],
)
def test_a_timed_figure_moves_from_two_standard_errors_on(now, moved) -> None:
    assert changed(CLIP, value=now).moved is moved


def test_what_is_the_same_in_every_run_moves_by_anything() -> None:
    assert changed(FOUND, value=0.978 + 1e-9).moved is False
    assert changed(FOUND, value=0.9781).moved is True


def test_figures_of_other_scenes_or_another_machine_are_not_compared() -> None:
    assert "other things" in changed(FOUND, under="28 scenes").why
    elsewhere = a_run(CLIP, START)
    elsewhere = dataclasses.replace(elsewhere, machine={**elsewhere.machine, "cores": 16})
    ratio, seconds = compare_runs(elsewhere, a_run(CLIP, START))
    assert (ratio.moved, ratio.why) == (False, "")
    assert (seconds.moved, seconds.why) == (None, "seconds of another machine")


def test_a_figure_that_only_one_run_could_give_is_not_compared() -> None:
    assert changed(FOUND, value=math.nan).why == "not given by both"
    both = compare_runs(*(a_run(dataclasses.replace(FOUND, value=math.nan)) for _ in range(2)))[0]
    assert both.moved is False


def test_only_figures_of_both_runs_are_compared_and_those_that_moved_picked_out() -> None:
    before, now = a_run(CLIP, FOUND), a_run(dataclasses.replace(FOUND, value=0.99), START)
    changes = compare_runs(before, now)
    assert [change.name for change in changes] == ["subject_found"]
    assert moved_only(changes) == changes


def test_exponents_are_compared_as_figures_are() -> None:
    straight = fit_curve("time against frames", "frames", [1, 2, 4], [1, 2, 4])
    bent = fit_curve("time against frames", "frames", [1, 2, 4], [1, 4, 16])
    change = compare_runs(a_run(curves=(straight,)), a_run(curves=(bent,)))[0]
    assert change.name == "exponent of time against frames"
    assert (round(change.before, 6), round(change.now, 6), change.moved) == (1.0, 2.0, True)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "holds no run"),
        ("[]", "holds no run"),
        ('{"format": 1}', "holds no run"),
        ('{"format": 99}', f"of format 99, not {FORMAT}"),
        ('{"format": 1, "parts": 3, "written": 1, "quick": 1, "machine": [], "versions": {}}',
         "holds no run"),
    ],
    ids=["empty", "a list", "no parts", "later format", "wrong kinds"],
)  # fmt: skip
def test_other_files_are_told_apart(tmp_path, text, said) -> None:
    path = tmp_path / "run.json"
    path.write_text(text, "utf-8")
    with pytest.raises(ConfigError, match=said) as caught:
        read_run(path)
    assert caught.value.where == str(path)


def test_a_run_that_is_not_there_is_told(tmp_path) -> None:
    with pytest.raises(ConfigError, match="No such file"):
        read_run(tmp_path / "none.json")


def test_the_lines_say_aims_noise_and_the_baseline() -> None:
    lines = list(part_lines("speed", Findings(figures=(CLIP, FOUND), notes=("a note",))))
    assert lines[1] == "speed: 120 s, 2 cores"
    clip, found = (line.split() for line in lines[3:5])
    assert clip[:3] == ["clip_over_plain_decoding", "1.32", "-"]
    assert clip[-5:] == ["+-0.02", "<=", "1.3", "not", "met"]
    assert found[:3] == ["subject_found", "0.978", "0.866"]
    assert lines[-1] == "  a note"


def test_the_heading_names_machine_and_versions() -> None:
    machine, versions = heading_lines(a_run(CLIP))
    assert machine.startswith("a processor (x86_64), 2 cores, 8.0 GB")
    assert versions == "Python 3.x"


def test_the_comparison_marks_what_moved() -> None:
    before, now = a_run(CLIP, START), a_run(dataclasses.replace(CLIP, value=1.5), START)
    lines = list(comparison_lines(before, compare_runs(before, now)))
    assert lines[3].endswith("moved")
    assert "+0.18" in lines[3]
    assert not lines[4].endswith("moved")
    assert lines[-1] == "1 of 2 figures moved by more than the noise."
