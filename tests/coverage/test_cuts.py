"""Verdicts on single cuts."""

import math
from dataclasses import replace

import pytest

from framecheck.coverage.cuts import Side, judge_cuts
from framecheck.records.coverage import CutThresholds, Direction, Verdict
from framecheck.records.framing import Role
from framecheck.records.values import NotMeasured
from tests.coverage.builders import ANNE, BERT, CARL, a_look, shown

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


@pytest.mark.parametrize(
    ("ratio", "turn", "why"),
    [
        (3.6, 0, "3.6 times nearer at once"),
        (1 / 3.6, 0, "3.6 times wider at once"),
        (1.5, 0, "size changes by 50 %"),
        (1 / 1.5, 0, "size changes by 50 %"),
        (1.0, 35, "the angle changes by 35 degrees"),
        (1.12, 10, "size changes by 12 % only, the angle by 10 degrees only"),
    ],
)
def test_why_in_one_sentence(ratio, turn, why) -> None:
    cut = judge(shown(head=0.25, yaw=-10), shown(head=0.25 * ratio, yaw=-10 + turn))
    assert cut.why == why
    assert (cut.advice != "") is (cut.verdict in {Verdict.VERY_LARGE, Verdict.TOO_SIMILAR})


def test_the_remedy_is_the_way_to_the_nearest_limits() -> None:
    """From 1.1 times nearer: 1.2 / 1.1 tighter, or to 1 / 1.2 of the first."""
    cut = judge(shown(head=0.25, yaw=0.0), shown(head=0.275, yaw=10.0))
    assert cut.advice == (
        "take the second shot 9 % tighter or 24 % wider, or move the camera 20 degrees farther "
        "round, or put another shot between"
    )


def test_limits_belong_to_what_is_comfortable_or_large() -> None:
    before = shown(head=0.25, yaw=0.0)
    exact = judge(before, shown(head=0.3, yaw=30.0)).size_ratio
    for limit, verdict in ((exact, Verdict.COMFORTABLE), (exact + 1e-9, Verdict.TOO_SIMILAR)):
        limits = CutThresholds(size_ratio_min=limit, angle_min_deg=90.0)
        assert judge(before, shown(head=0.3, yaw=30.0), limits=limits).verdict is verdict
    turned = judge(before, shown(head=0.25, yaw=30.0)).angle_deg
    for limit, verdict in ((turned, Verdict.COMFORTABLE), (turned + 1e-6, Verdict.TOO_SIMILAR)):
        limits = CutThresholds(angle_min_deg=limit)
        assert judge(before, shown(head=0.25, yaw=30.0), limits=limits).verdict is verdict
    for limit, verdict in ((exact, Verdict.VERY_LARGE), (exact + 1e-9, Verdict.COMFORTABLE)):
        limits = CutThresholds(size_ratio_min=1.0, size_ratio_large=limit)
        assert judge(before, shown(head=0.3, yaw=30.0), limits=limits).verdict is verdict


def test_nobody_to_compare_is_said_for_the_side_that_is_empty() -> None:
    full, empty = side(shown(yaw=30.0), groups=[1]), side()
    right, unknown = Direction.RIGHT, Direction.UNKNOWN
    for pair, why, letters, looks in (
        ((full, empty), "nobody in the picture after the cut", ("B", ""), (right, unknown)),
        ((empty, full), "nobody in the picture before the cut", ("", "B"), (unknown, right)),
        ((empty, empty), "nobody on either side", ("", ""), (unknown, unknown)),
    ):
        cut = judge_cut(*pair, LIMITS)
        assert (cut.verdict, cut.why, cut.advice) == (Verdict.NOT_JUDGED, why, "")
        assert (cut.person_from, cut.person_to) == letters
        assert (cut.looks_from, cut.looks_to) == looks
        assert (cut.likeness.same, cut.likeness.confidence, cut.likeness.why) == (None, 0.5, why)
        nobody = NotMeasured(reason="nobody to compare")
        assert {cut.size_ratio, cut.angle_deg, cut.place_change_wfrac, cut.height_change_frac} == {
            nobody
        }


def test_cuts_are_numbered_and_each_is_its_own() -> None:
    pairs = [(side(shown(head=0.2)), side(shown(head=0.2 * ratio))) for ratio in (1.0, 1.5, 4.0)]
    cuts = judge_cuts([*pairs, (side(), side())], LIMITS)
    assert [cut.cut for cut in cuts] == [0, 1, 2, 3]
    assert [cut.verdict for cut in cuts] == [
        Verdict.TOO_SIMILAR, Verdict.COMFORTABLE, Verdict.VERY_LARGE, Verdict.NOT_JUDGED,
    ]  # fmt: skip


def test_what_likeness_rests_on() -> None:
    same = judge(shown(ANNE), shown(ANNE))
    assert same.likeness.why == "hair, face, chest, waist alike"
    other = judge(shown(ANNE), shown(BERT), groups=((0,), (1,)))
    assert other.likeness.why == "hair, face, chest, waist unlike"
    blind = judge(shown(None), shown(ANNE))
    assert (blind.likeness.same, blind.likeness.confidence) == (None, 0.5)
    assert blind.likeness.why == "no colours to compare"
    assert blind.why == "people cannot be compared: no jump"
    assert other.why == "another person: no jump"


def test_groups_place_and_side_weigh_as_they_say() -> None:
    """Log odds of one pair of pictures, with and without each witness: 1.2, 0.5 and 1.2."""
    look = a_look((45.0, 30.0, 40.0), hair=(30.0, 10.0, 10.0))

    def odds(one, other, groups=((-1,), (-1,))):
        found = judge(one, other, groups=groups).likeness
        chance = found.confidence if found.same else 1 - found.confidence
        return math.log(chance / (1 - chance))

    apart = (shown(ANNE, x=0.2, yaw=20.0), shown(look, x=0.8, yaw=20.0))
    bare = odds(*apart)
    assert abs(bare) < 7
    assert odds(*apart, groups=((0,), (0,))) == pytest.approx(bare + 1.2)
    assert odds(*apart, groups=((0,), (1,))) == pytest.approx(bare - 1.2)
    assert odds(*apart, groups=((-1,), (0,))) == pytest.approx(bare)
    turned = (apart[0], shown(look, x=0.8, yaw=-20.0))
    assert odds(*turned) == pytest.approx(bare - 1.2)
    near = (apart[0], shown(look, x=0.27, yaw=20.0))
    assert odds(*near) == pytest.approx(bare + 0.5)
    for x, head in ((0.29, 0.25), (0.2, 0.25 * 1.13), (0.2, 0.25 / 1.13)):
        assert odds(apart[0], shown(look, x=x, head=head, yaw=20.0)) == pytest.approx(bare)


def test_whoever_else_is_there_says_who_it_is_not() -> None:
    """A face in doubt beside the back of the one before: it is the other one's."""
    doubtful = a_look((45.0, 30.0, 40.0), hair=(30.0, 10.0, 10.0))
    unknown = {"groups": [-1]}
    alone = judge_cut(side(shown(ANNE), **unknown), side(shown(doubtful), **unknown), LIMITS)
    back = shown(ANNE, yaw=170.0, person=1, role=Role.FOREGROUND)
    beside = judge_cut(
        side(shown(ANNE), **unknown), side(shown(doubtful), back, groups=[-1, -1]), LIMITS
    )
    assert beside.likeness.same is False
    assert alone.likeness.same or alone.likeness.confidence < beside.likeness.confidence


def test_the_angle_of_another_person_is_not_told() -> None:
    unread = replace(shown(BERT), head_yaw_deg=None, body_yaw_deg=None)
    cut = judge(shown(ANNE), unread, groups=((0,), (1,)))
    assert cut.angle_deg == NotMeasured(reason="no turn of head or body could be measured")
    straight = shown(ANNE, yaw=0.0)
    similar = judge(straight, replace(straight, head_yaw_deg=None, body_yaw_deg=None))
    assert similar.why == "size changes by 0 % only, and the angle could not be measured"


def test_somebody_in_both_pictures_is_compared_however_far_down() -> None:
    """The last of two and the last of two: 0.2 to 0.4 of the height."""
    main, other = shown(ANNE, head=0.3), shown(BERT, head=0.2, person=1, role=Role.BACKGROUND)
    then = shown(CARL, head=0.3), replace(shown(BERT, head=0.4), person=1, role=Role.BACKGROUND)
    cut = judge_cut(side(main, other, groups=[0, 1]), side(*then, groups=[2, 1]), LIMITS)
    assert (cut.person_from, cut.person_to) == ("B", "B")
    assert cut.size_ratio == pytest.approx(2.0)
    back = replace(then[1], role=Role.FOREGROUND)
    cut = judge_cut(side(main, other, groups=[0, 1]), side(then[0], back, groups=[2, 1]), LIMITS)
    assert (cut.person_from, cut.person_to) == ("A", "C")
    first = judge_cut(side(main, groups=[0]), side(*then, groups=[2, 0]), LIMITS)
    assert (first.person_from, first.person_to) == ("A", "A")


@pytest.mark.parametrize(("ratio", "way"), [(1.6, "nearer"), (1 / 1.6, "wider")])
def test_large_is_told_with_its_way(ratio, way) -> None:
    limits = CutThresholds(size_ratio_large=1.5)
    cut = judge(shown(head=0.25), shown(head=0.25 * ratio), limits=limits)
    assert (cut.verdict, cut.why) == (Verdict.VERY_LARGE, f"1.6 times {way} at once")


def test_sizes_that_are_not_read_are_not_judged() -> None:
    cut = judge(shown(head=None), shown())
    assert (cut.verdict, cut.advice) == (Verdict.NOT_JUDGED, "")
    assert cut.why == "no head and no body could be measured"
