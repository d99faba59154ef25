"""The mutation check itself: it finds what is not tested, and what is tested counts as noticed."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

pytest.importorskip("mutmut", reason="mutmut needs a system that forks")

from tests.mutation.constants import find_nudges, run_nudges
from tests.mutation.parts import PARTS, ROOT
from tests.mutation.sandbox import MutationError, Sandbox, make_sandbox
from tests.mutation.score import (
    PartScore,
    Tally,
    change_of,
    function_of,
    module_of,
    read_known,
    score_part,
    write_result,
)

TOY = """
def larger(one, other):
    return one if one > other else other


def twice(value):
    return 2 * value


def half(value):
    return value / 2
"""
TOY_TESTS = """
from toy.arith import larger, twice


def test_larger():
    assert [larger(3, 5), larger(5, 3), larger(4, 4)] == [5, 5, 4]


def test_twice_without_a_look_at_the_result():
    twice(3)
"""


def a_toy(folder: Path, tests: str) -> Sandbox:
    project = folder / "project"
    (project / "toy").mkdir(parents=True)
    (project / "tests").mkdir()
    (project / "toy" / "__init__.py").write_text("", encoding="utf-8")
    (project / "toy" / "arith.py").write_text(TOY, encoding="utf-8")
    (project / "tests" / "test_arith.py").write_text(tests, encoding="utf-8")
    (project / "pyproject.toml").write_text(
        '[tool.pytest.ini_options]\npythonpath = ["."]\n', encoding="utf-8"
    )
    return make_sandbox(project, folder / "box", sources=["toy/*"], tests=["tests"], package="toy")


def test_what_no_test_looks_at_survives(tmp_path) -> None:
    """The check can fail: a mutant without a test, and one whose test asserts nothing, are told."""
    box = a_toy(tmp_path, TOY_TESTS)
    found = box.run([])
    told = {name: {found[m] for m in found if f"x_{name}__" in m} for name in ("half", "twice")}
    assert told == {"half": {"no tests"}, "twice": {"survived"}}
    lived = [mutant for mutant, status in found.items() if status != "killed"]
    score = score_part(found, box.diffs(lived), {})
    assert score.total.untested == sum("half" in mutant for mutant in found) >= 2
    assert score.total.survived >= sum("twice" in mutant for mutant in found) >= 2
    changes = {survivor.change for survivor in score.survivors}
    assert "- return value / 2\n+ return value * 2" in changes
    assert "- return 2 * value\n+ return 3 * value" in changes
    # Of two equal numbers either is the larger one: the one change that makes no difference.
    same = "- return one if one > other else other\n+ return one if one >= other else other"
    assert {change for change in changes if "other" in change} == {same}
    known = score_part(found, box.diffs(lived), {("arith.larger", same): "equal numbers"})
    assert known.total.equivalent == 1
    assert known.total.share > score.total.share


LIMITS = """
KNOWN = 5
TABLE = {"a": 0.5, "é": (1, 2.0)}


class Wide:
    most: float = 3.0
    name = "x"

    def twice(self, value=7):
        return 2 * value
"""


def test_numbers_outside_of_functions_are_nudged_one_by_one() -> None:
    nudges = find_nudges(LIMITS, "toy.limits")
    assert [nudge.becomes for nudge in nudges] == [
        "KNOWN = 6",
        'TABLE = {"a": 0.55, "é": (1, 2.0)}',
        'TABLE = {"a": 0.5, "é": (2, 2.0)}',
        'TABLE = {"a": 0.5, "é": (1, 2.2)}',
        "most: float = 3.3",
    ]
    assert [nudge.name[-1] for nudge in nudges] == list("12345")
    for nudge in nudges:
        assert nudge.source == LIMITS.replace(nudge.was, nudge.becomes)


def test_a_number_that_no_test_knows_survives(tmp_path) -> None:
    (tmp_path / "limits.py").write_text("KNOWN = 5\nFREE = 5\n", encoding="utf-8")
    (tmp_path / "test_limits.py").write_text(
        "import limits\n\n\ndef test_it():\n    assert limits.KNOWN == 5\n", encoding="utf-8"
    )
    nudges = find_nudges("KNOWN = 5\nFREE = 5\n", "limits")
    found = run_nudges(tmp_path, Path("limits.py"), nudges, ["test_limits.py"])
    assert list(found.values()) == ["killed", "survived"]
    assert (tmp_path / "limits.py").read_text(encoding="utf-8") == "KNOWN = 5\nFREE = 5\n"


def test_tests_that_fail_anyway_prove_nothing(tmp_path) -> None:
    box = a_toy(tmp_path, TOY_TESTS + "\n\ndef test_wrong():\n    assert larger(1, 2) == 1\n")
    with pytest.raises(MutationError, match="test_wrong"):
        box.run([])


def test_dozens_of_mutants_of_the_package_are_noticed(tmp_path) -> None:
    box = make_sandbox(
        ROOT, tmp_path / "box", package="framecheck", tests=["tests/geometry/test_set_ups.py"],
        sources=["framecheck/geometry/set_ups.py"],
    )  # fmt: skip
    found = box.run(["framecheck.geometry.set_ups.x__lens_row__*"])
    assert len(found) >= 24
    assert set(found.values()) == {"killed"}


def test_every_part_is_there() -> None:
    for part in PARTS.values():
        for source in part.sources:
            assert list(ROOT.glob(source)), source
        for tests in part.tests:
            assert (ROOT / tests).exists(), tests


def test_names_of_mutants_tell_where_they_are() -> None:
    name = "framecheck.classify.advice.xǁ_Searchǁclears__mutmut_2"
    assert (module_of(name), function_of(name)) == (
        "classify.advice", "classify.advice._Search.clears",
    )  # fmt: skip
    assert function_of("framecheck.units.x__check_rate__mutmut_11") == "units._check_rate"
    assert function_of("framecheck.units.x_can_drop__mutmut_1") == "units.can_drop"


def test_a_change_is_what_is_taken_away_and_put_in() -> None:
    diff = "--- a\n+++ b\n@@ -1,3 +1,3 @@\n def f():\n-    return 1\n+    return 2\n"
    assert change_of(diff) == "- return 1\n+ return 2"


def test_known_changes_have_a_reason_and_are_of_the_code_as_it_is() -> None:
    """A line that has been rewritten since is no longer known."""
    for (function, change), reason in read_known().items():
        assert len(reason) > 10, function
        module, _, name = function.rpartition(".")
        file = ROOT / "framecheck" / f"{module.replace('.', '/')}.py"
        while not file.exists():
            module = module.rpartition(".")[0]
            file = ROOT / "framecheck" / f"{module.replace('.', '/')}.py"
        text = file.read_text(encoding="utf-8")
        assert f"def {name}(" in text, function
        was = change.splitlines()[0].removeprefix("- ")
        assert was in {line.strip() for line in text.splitlines()}, (function, was)


def test_results_are_written_with_what_they_were_made_with(tmp_path) -> None:
    path = tmp_path / "r.json"
    score = PartScore(modules={"a": Tally(killed=3, survived=2, equivalent=1)}, survivors=())
    write_result(path, "part", score, "147")
    write_result(
        path, "other", PartScore(modules={"b": Tally(killed=1)}, survivors=()), "0123456789"
    )
    told = json.loads(path.read_text(encoding="utf-8"))
    assert told["part"]["mutants"] == "number ends with one of 147"
    assert told["other"]["mutants"] == "all"
    assert told["part"]["total"]["share"] == 0.75
    assert told["part"]["date"][:2] == "20"
    assert told["part"]["mutmut"].startswith("3.")
