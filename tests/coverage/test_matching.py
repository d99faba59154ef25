"""Matching angles."""

import pytest

from framecheck.coverage.identity import group_people
from framecheck.coverage.matching import find_pairs, named_pair
from framecheck.coverage.talks import find_talks
from framecheck.records.coverage import CutThresholds, PairKind
from framecheck.records.framing import Role
from framecheck.records.judged import ShotType
from framecheck.records.values import NotMeasured
from tests.coverage.builders import ANNE, BERT, a_shot, a_talk, shown

LIMITS = CutThresholds()


def pairs(shots):
    people = group_people(shots)
    return find_pairs(shots, people, find_talks(shots, people), LIMITS)


def off(pair):
    return [measure.name for measure in pair.measures if measure.matches is False]


def reverses(**changes):
    """Two set-ups in turn; the changes are those of Bert's side."""
    anne = {"yaw": 25.0, "x": 0.4, "head": 0.3, "eyes": 0.35, "pitch": 0.0}
    bert = {**anne, "yaw": -25.0, "x": 0.6, **changes}
    return [a_shot(n, shown((ANNE, BERT)[n % 2], **(anne, bert)[n % 2])) for n in range(4)]


def test_mirrored_reverses_match() -> None:
    (pair,) = pairs(reverses())
    assert (pair.person_one, pair.person_other) == ("A", "B")
    assert (pair.shots_one, pair.shots_other) == ((0, 2), (1, 3))
    assert pair.kind is PairKind.INTERNAL
    assert pair.matches
    assert off(pair) == []


@pytest.mark.parametrize(
    ("changes", "names"),
    [
        ({"head": 0.42}, ["size"]),
        ({"eyes": 0.45}, ["headroom", "eye line"]),
        ({"x": 0.4}, ["looking room"]),
        ({"pitch": 18.0}, ["lens height"]),
        ({"yaw": -55.0}, ["closeness"]),
    ],
)
def test_what_is_off_is_named(changes, names) -> None:
    (pair,) = pairs(reverses(**changes))
    assert off(pair) == names
    assert not pair.matches


def test_the_advice_names_the_side_and_by_how_much() -> None:
    (pair,) = pairs(reverses(head=0.42, yaw=-55.0))
    advice = {measure.name: measure.advice for measure in pair.measures if measure.advice}
    assert advice == {
        "size": "take A (shot 0) 40 % tighter",
        "closeness": "bring the lens of B (shot 1) 30 degrees nearer to the eyeline",
    }


def test_the_eyes_farther_from_the_upper_third_are_to_move() -> None:
    (pair,) = pairs(reverses(eyes=0.45))
    advice = {measure.name: measure.advice for measure in pair.measures}
    assert advice["eye line"] == "set the eyes of B (shot 1) 10 % of the height farther up"


def test_external_and_internal_pairs_are_told_apart() -> None:
    near = {"person": 1, "role": Role.FOREGROUND, "yaw": 165.0}
    over = [
        a_shot(n, shown((ANNE, BERT)[n % 2], yaw=(20, -20)[n % 2], x=(0.4, 0.6)[n % 2]),
               shown((BERT, ANNE)[n % 2], **near), kind=ShotType.OVER_THE_SHOULDER)
        for n in range(4)
    ]  # fmt: skip
    (pair,) = pairs(over)
    assert pair.kind is PairKind.EXTERNAL
    mixed = [over[0], *reverses()[1:]]
    assert {pair.kind for pair in pairs(mixed)} >= {PairKind.MIXED}


def test_each_set_up_goes_with_its_own_reverse() -> None:
    """Medium against medium, close against close."""
    sizes = (0.2, 0.2, 0.2, 0.2, 0.38, 0.38, 0.38, 0.38)
    shots = a_talk(*(((ANNE, 25, s), (BERT, -25, s))[n % 2] for n, s in enumerate(sizes)))
    found = [(pair.shots_one, pair.shots_other, pair.matches) for pair in pairs(shots)]
    assert found == [((0, 2), (1, 3), True), ((4, 6), (5, 7), True)]


def test_one_cut_makes_a_pair_only_where_they_look_at_each_other() -> None:
    assert len(pairs(reverses()[:2])) == 1
    assert pairs(a_talk((ANNE, 25, 0.3), (BERT, 25, 0.3))) == ()
    assert pairs(a_talk((ANNE, 25, 0.1), (BERT, -25, 0.3))) == ()


def test_a_pair_that_the_user_names_is_compared_whatever_it_is() -> None:
    shots = a_talk((ANNE, 25, 0.1), (BERT, 25, 0.3))
    pair = named_pair(shots, group_people(shots), (0, 1), LIMITS)
    assert pair is not None
    assert pair.named
    assert "size" in off(pair)
    size = pair.measures[0]
    assert size.difference == pytest.approx(3.0)
    empty = [*shots, a_shot(2)]
    assert named_pair(empty, group_people(empty), (0, 2), LIMITS) is None


def test_what_cannot_be_measured_neither_matches_nor_is_off() -> None:
    (pair,) = pairs(reverses(headroom_frac=None))
    headroom = next(measure for measure in pair.measures if measure.name == "headroom")
    assert headroom.matches is None
    assert isinstance(headroom.difference, NotMeasured)
    assert pair.matches
