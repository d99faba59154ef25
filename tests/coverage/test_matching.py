"""Matching angles."""

from dataclasses import replace

import pytest

from framecheck.coverage.identity import group_people
from framecheck.coverage.matching import ahead_wfrac, find_pairs, named_pair
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


@pytest.mark.parametrize(
    ("changes", "name", "limit"),
    [
        ({"head": 0.33}, "size", "pair_size_ratio"),
        ({"eyes": 0.375}, "eye line", "pair_eye_line_frac"),
        ({"x": 0.53}, "looking room", "pair_look_room_wfrac"),
        ({"pitch": 8.0}, "lens height", "pair_lens_height_deg"),
        ({"yaw": -31.0}, "closeness", "pair_closeness_deg"),
    ],
)
def test_a_limit_belongs_to_what_matches(changes, name, limit) -> None:
    def measure(limits):
        shots = reverses(**changes)
        people = group_people(shots)
        (pair,) = find_pairs(shots, people, find_talks(shots, people), limits)
        return next(m for m in pair.measures if m.name == name)

    found = measure(LIMITS).difference
    rim = max(found, 1 / found) if name == "size" else abs(found)
    assert measure(CutThresholds(**{limit: rim})).matches is True
    off = measure(CutThresholds(**{limit: rim * (1 - 1e-6)}))
    assert off.matches is False
    assert off.limit == rim * (1 - 1e-6)


@pytest.mark.parametrize(
    ("anne", "bert", "advice"),
    [
        ({"head": 0.3}, {"head": 0.42}, {"size": "take A (shot 0) 40 % tighter"}),
        ({"head": 0.42}, {"head": 0.3}, {"size": "take B (shot 1) 40 % tighter"}),
        ({"eyes": 0.35}, {"eyes": 0.45},
         {"headroom": "take 10 % of the height off the headroom of B (shot 1)",
          "eye line": "set the eyes of B (shot 1) 10 % of the height farther up"}),
        ({"eyes": 0.45}, {"eyes": 0.35},
         {"headroom": "take 10 % of the height off the headroom of A (shot 0)",
          "eye line": "set the eyes of A (shot 0) 10 % of the height farther up"}),
        ({"eyes": 0.2}, {"eyes": 0.3},
         {"headroom": "take 10 % of the height off the headroom of B (shot 1)",
          "eye line": "set the eyes of A (shot 0) 10 % of the height farther down"}),
        ({"eyes": 0.3}, {"eyes": 0.2},
         {"headroom": "take 10 % of the height off the headroom of A (shot 0)",
          "eye line": "set the eyes of B (shot 1) 10 % of the height farther down"}),
        ({"x": 0.4}, {"x": 0.4},
         {"looking room": "give B (shot 1) 20 % of the width more room ahead of the face"}),
        ({"x": 0.6}, {"x": 0.6},
         {"looking room": "give A (shot 0) 20 % of the width more room ahead of the face"}),
        ({"pitch": 0.0}, {"pitch": 18.0},
         {"lens height": "raise the lens of B (shot 1) by about 18 degrees, seen from the eyes"}),
        ({"pitch": -18.0}, {"pitch": 2.0},
         {"lens height": "lower the lens of A (shot 0) by about 20 degrees, seen from the eyes"}),
        ({"pitch": 18.0}, {"pitch": -2.0},
         {"lens height": "raise the lens of A (shot 0) by about 20 degrees, seen from the eyes"}),
        ({"pitch": 2.0}, {"pitch": -18.0},
         {"lens height": "lower the lens of B (shot 1) by about 20 degrees, seen from the eyes"}),
        ({"yaw": 25.0}, {"yaw": -55.0},
         {"closeness": "bring the lens of B (shot 1) 30 degrees nearer to the eyeline"}),
        ({"yaw": 55.0}, {"yaw": -25.0},
         {"closeness": "bring the lens of A (shot 0) 30 degrees nearer to the eyeline"}),
    ],
)  # fmt: skip
def test_the_advice_for_each_measure_and_each_side(anne, bert, advice) -> None:
    sides = ({"yaw": 25.0, "x": 0.4, "head": 0.3, "eyes": 0.35, "pitch": 0.0, **anne},
             {"yaw": -25.0, "x": 0.6, "head": 0.3, "eyes": 0.35, "pitch": 0.0, **bert})  # fmt: skip
    shots = [a_shot(n, shown((ANNE, BERT)[n % 2], **sides[n % 2])) for n in range(4)]
    (pair,) = pairs(shots)
    assert {m.name: m.advice for m in pair.measures if m.advice} == advice


def test_of_several_shots_the_middle_reading_counts_and_what_is_missing_is_left_out() -> None:
    eyes = {0: 0.33, 2: 0.35, 4: 0.36}
    shots = []
    for number in range(6):
        who = number % 2
        person = shown((ANNE, BERT)[who], yaw=(25.0, -25.0)[who], x=(0.4, 0.6)[who], head=0.3,
                       eyes=eyes.get(number, 0.35))  # fmt: skip
        shots.append(a_shot(number, person))
    (pair,) = pairs(shots)
    told = {m.name: m for m in pair.measures}
    assert (told["eye line"].one, told["eye line"].other) == (0.35, 0.35)
    hidden = [*shots]
    for number in (0, 2, 4):
        person = replace(shots[number].best.people[0], eye_line_frac=None, headroom_frac=None)
        hidden[number] = a_shot(number, person)
    (pair,) = pairs(hidden)
    told = {m.name: m for m in pair.measures}
    assert told["eye line"].one == NotMeasured(reason="the eyes could not be measured")
    assert told["headroom"].one == NotMeasured(reason="the crown could not be measured")
    assert told["eye line"].difference == told["eye line"].one
    assert (told["eye line"].matches, told["eye line"].advice) == (None, "")
    some = [hidden[0], *shots[1:]]
    (pair,) = pairs(some)
    assert {m.name: m for m in pair.measures}["eye line"].one == pytest.approx(0.355)


def test_sizes_that_are_not_read_are_not_compared() -> None:
    shots = [a_shot(0, shown(ANNE, head=None, yaw=25.0)), a_shot(1, shown(BERT, yaw=-25.0))]
    pair = named_pair(shots, group_people(shots), (0, 1), LIMITS)
    assert pair is not None
    size = next(m for m in pair.measures if m.name == "size")
    assert size.one == NotMeasured(reason="no head and no body could be measured")
    assert size.matches is None


@pytest.mark.parametrize(("yaw", "ahead"), [(0.5, 0.7), (-0.5, 0.3), (0.0, 0.3), (90.0, 0.7)])
def test_the_room_ahead_is_on_the_side_that_is_looked_at(yaw, ahead) -> None:
    assert ahead_wfrac(shown(yaw=yaw, x=0.3)) == pytest.approx(ahead)


def test_a_missing_reading_leaves_the_other_to_be_seen() -> None:
    shots = [a_shot(0, replace(shown(ANNE, yaw=25.0), eye_line_frac=None)),
             a_shot(1, shown(BERT, yaw=-25.0, eyes=0.4))]  # fmt: skip
    pair = named_pair(shots, group_people(shots), (0, 1), LIMITS)
    assert pair is not None
    eyes = next(m for m in pair.measures if m.name == "eye line")
    assert eyes.one == NotMeasured(reason="the eyes could not be measured")
    assert (eyes.other, eyes.difference) == (0.4, eyes.one)


def test_far_heights_are_told_in_per_cent() -> None:
    (pair,) = pairs(reverses(eyes=0.95))
    advice = {measure.name: measure.advice for measure in pair.measures}
    assert advice["eye line"] == "set the eyes of B (shot 1) 60 % of the height farther up"
