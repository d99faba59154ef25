"""Verdicts on single cuts."""

import pytest

from framecheck.coverage.cuts import Side, judge_cuts
from framecheck.records.coverage import CutThresholds, Direction, Verdict
from framecheck.records.framing import Role
from framecheck.records.values import NotMeasured
from tests.coverage.builders import ANNE, BERT, shown

LIMITS = CutThresholds()


def judge_cut(before, after, limits):
    (cut,) = judge_cuts([(before, after)], limits)
    return cut


def side(*people, groups=None):
    return Side(people=people, groups=groups if groups is not None else [0] * len(people))


def judge(before, after, groups=((0,), (0,)), limits=LIMITS):
    return judge_cut(side(before, groups=groups[0]), side(after, groups=groups[1]), limits)


@pytest.mark.parametrize(
    ("ratio", "turn", "verdict"),
    [
        (1.0, 0, Verdict.TOO_SIMILAR),
        (1.15, 25, Verdict.TOO_SIMILAR),
        (1 / 1.15, -25, Verdict.TOO_SIMILAR),
        (1.25, 0, Verdict.COMFORTABLE),  # the 20 % rule
        (1 / 1.25, 0, Verdict.COMFORTABLE),
        (1.0, 35, Verdict.COMFORTABLE),  # the 30-degree rule
        (3.4, 0, Verdict.COMFORTABLE),
        (3.6, 0, Verdict.VERY_LARGE),
        (1 / 3.6, 60, Verdict.VERY_LARGE),
    ],
)
def test_verdicts_on_one_person(ratio, turn, verdict) -> None:
    cut = judge(shown(head=0.25, yaw=-10), shown(head=0.25 * ratio, yaw=-10 + turn))
    assert cut.likeness.same is True
    assert cut.size_ratio == pytest.approx(ratio)
    assert cut.angle_deg == pytest.approx(abs(turn), abs=1e-6)
    assert cut.verdict is verdict


def test_a_cut_to_somebody_else_is_no_jump() -> None:
    cut = judge(shown(ANNE), shown(BERT), groups=((0,), (1,)))
    assert cut.likeness.same is False
    assert cut.likeness.confidence > 0.9
    assert cut.verdict is Verdict.COMFORTABLE
    assert (cut.person_from, cut.person_to) == ("A", "B")
    assert cut.angle_deg == NotMeasured(reason="another person")


def test_the_same_thresholds_decide_that_the_user_sets() -> None:
    lax = CutThresholds(size_ratio_min=1.05, angle_min_deg=10)
    before, after = shown(head=0.25), shown(head=0.28)
    assert judge(before, after).verdict is Verdict.TOO_SIMILAR
    assert judge(before, after, limits=lax).verdict is Verdict.COMFORTABLE


def test_the_advice_says_how_far_it_is_to_a_limit() -> None:
    """0.25 to 0.26 is 1.04 times: to 1.2 it takes 15 % more; to 1 / 1.2 it takes 20 % less."""
    cut = judge(shown(head=0.25, yaw=0), shown(head=0.26, yaw=10))
    assert "15 % tighter or 20 % wider" in cut.advice
    assert "20 degrees farther round" in cut.advice


def test_the_change_of_place_is_signed() -> None:
    cut = judge(shown(x=0.3, eyes=0.3), shown(x=0.7, eyes=0.2, head=0.5))
    assert cut.place_change_wfrac == pytest.approx(0.4)
    assert cut.height_change_frac == pytest.approx(-0.1)


def test_somebody_shared_is_compared_even_when_not_the_main_subject() -> None:
    """A jump from one two-shot to nearly the same one, in which the other one is nearer."""
    second = {"person": 1, "role": Role.BACKGROUND}
    before = side(shown(ANNE), shown(BERT, **second), groups=[0, 1])
    after = side(shown(BERT), shown(ANNE, **second), groups=[1, 0])
    cut = judge_cut(before, after, LIMITS)
    assert cut.likeness.same is True
    assert cut.verdict is Verdict.TOO_SIMILAR


def test_a_back_in_the_foreground_is_not_compared() -> None:
    """Over one shoulder and over the other: both people are in both, and it is no jump."""
    near = {"person": 1, "role": Role.FOREGROUND}
    before = side(shown(ANNE), shown(BERT, yaw=160, **near), groups=[0, 1])
    after = side(shown(BERT, yaw=-20), shown(ANNE, yaw=-160, **near), groups=[1, 0])
    cut = judge_cut(before, after, LIMITS)
    assert (cut.person_from, cut.person_to) == ("A", "B")
    assert cut.verdict is Verdict.COMFORTABLE


def test_nobody_on_one_side_is_not_judged() -> None:
    cut = judge_cut(side(shown()), side(), LIMITS)
    assert cut.verdict is Verdict.NOT_JUDGED
    assert cut.likeness.same is None
    assert isinstance(cut.size_ratio, NotMeasured)
    assert "after the cut" in cut.why
    assert cut.looks_from is Direction.RIGHT
    assert judge_cut(side(), side(), LIMITS).why == "nobody on either side"


def test_people_who_cannot_be_compared_are_not_called_the_same() -> None:
    cut = judge(shown(None), shown(None), groups=((-1,), (-1,)))
    assert cut.likeness.same is None
    assert cut.person_from == "?"
    assert cut.verdict is Verdict.COMFORTABLE
    assert "cannot be compared" in cut.why


def test_a_size_that_is_not_known_is_not_judged() -> None:
    cut = judge(shown(), shown(head=None, figure_frac=None))
    assert cut.verdict is Verdict.NOT_JUDGED
    assert cut.why == "no head and no body could be measured"
