"""Set-ups: which shots look alike, and which belong together."""

from dataclasses import replace

import pytest

from framecheck.coverage.identity import PeopleOf
from framecheck.coverage.setups import Setup, find_setups, pair_setups, setup_of
from framecheck.coverage.talks import Talk
from framecheck.records.coverage import CutThresholds
from framecheck.records.framing import Role
from framecheck.records.judged import ShotType
from tests.coverage.builders import BERT, a_shot, shown

LIMITS = CutThresholds()


def groups(*numbers):
    return PeopleOf(first=numbers, best=numbers, last=numbers)


def setups_of(*people, who=None, kinds=None):
    shots = [
        a_shot(n, person, kind=(kinds or [ShotType.SINGLE] * len(people))[n])
        for n, person in enumerate(people)
    ]
    of = [groups(one) for one in who or [0] * len(people)]
    return [one.shots for one in find_setups(shots, of, range(len(shots)), LIMITS)]


def test_a_set_up_is_one_person_from_one_place() -> None:
    same, nearer, turned = shown(), shown(head=0.25 * 1.13), shown(yaw=33.0)
    assert setups_of(same, nearer, same, turned, same) == [(0, 2, 4), (1,), (3,)]
    assert setups_of(same, shown(head=0.25 * 1.11), shown(yaw=31.0)) == [(0, 1, 2)]
    assert setups_of(same, shown(head=0.25 / 1.13), shown(yaw=7.0)) == [(0,), (1,), (2,)]
    assert setups_of(shown(yaw=-176.0, body=10.0), shown(yaw=176.0, body=10.0)) == [(0, 1)]


def test_other_people_and_other_shoulders_are_other_set_ups() -> None:
    assert setups_of(shown(), shown(BERT), who=[0, 1]) == [(0,), (1,)]
    over = [ShotType.SINGLE, ShotType.OVER_THE_SHOULDER, ShotType.SINGLE]
    assert setups_of(shown(), shown(), shown(), kinds=over) == [(0, 2), (1,)]


def test_what_cannot_be_read_is_no_reason_or_no_set_up() -> None:
    unturned = replace(shown(), head_yaw_deg=None)
    assert setups_of(unturned, replace(shown(), head_yaw_deg=None)) == [(0, 1)]
    straight = shown(yaw=0.0)
    assert setups_of(replace(straight, head_yaw_deg=None), straight) == [(0, 1)]
    assert setups_of(straight, replace(straight, head_yaw_deg=None)) == [(0, 1)]
    nothing = shown(head=None)
    assert setups_of(nothing, nothing) == [(0,), (1,)]
    assert setups_of(shown(), nothing) == [(0,), (1,)]


def test_a_set_up_of_one_shot() -> None:
    back = shown(BERT, yaw=170.0, person=1, role=Role.FOREGROUND)
    shot = a_shot(4, shown(head=0.3), back)
    found = setup_of(shot, groups(2, 5))
    assert (found.person, found.shots, found.external) == (2, (4,), True)
    assert found.subjects == (shot.best.people[0],)
    assert found.size == pytest.approx(0.3)


def a_setup(person, *shots, size=0.3, yaw=25.0, external=False):
    subject = shown(yaw=yaw)
    return Setup(
        person=person, shots=shots, subjects=(subject,) * len(shots), external=external, size=size
    )


def a_talk(*shots, turns=3):
    return Talk(couple=(0, 1), shots=shots, turns=turns)


def test_set_ups_pair_with_those_that_they_are_cut_with_most() -> None:
    """Anne's near one is cut with Bert's near one three times, and once with his wide one."""
    setups = [a_setup(0, 0, 2, 4), a_setup(1, 1, 3, yaw=-25.0), a_setup(1, 5, size=0.2, yaw=-25.0)]
    assert pair_setups(setups, [a_talk(0, 1, 2, 3, 4, 5)]) == [(0, 1), (0, 2)]
    # his wide one has no other; of equals by cuts the nearer in size is taken
    equal = [a_setup(0, 1), a_setup(1, 0, size=0.2), a_setup(1, 2, size=0.29)]
    assert (0, 2) in pair_setups(equal, [a_talk(0, 1, 2)])


def test_the_pair_starts_with_the_person_of_the_first_letter() -> None:
    setups = [a_setup(1, 0, 2), a_setup(0, 1, 3, yaw=-25.0)]
    assert pair_setups(setups, [a_talk(0, 1, 2, 3)]) == [(1, 0)]
    assert pair_setups([a_setup(0, 0), a_setup(0, 1)], [a_talk(0, 1)]) == []


def test_shots_of_no_set_up_stand_between() -> None:
    setups = [a_setup(0, 0), a_setup(1, 2, yaw=-25.0)]
    assert pair_setups(setups, [a_talk(0, 1, 2)]) == [(0, 1)]


@pytest.mark.parametrize(("factor", "pairs"), [(1.99, 1), (2.01, 0)])
def test_in_a_talk_sizes_may_differ_by_twice(factor, pairs) -> None:
    for sizes in ((0.2, 0.2 * factor), (0.2 * factor, 0.2)):
        setups = [a_setup(0, 0, 2, size=sizes[0]), a_setup(1, 1, 3, size=sizes[1])]
        assert len(pair_setups(setups, [a_talk(0, 1, 2, 3)])) == pairs


@pytest.mark.parametrize(
    ("changes", "pairs"),
    [
        ({}, 1),
        ({"size": 0.3 * 1.39}, 1),
        ({"size": 0.3 * 1.41}, 0),
        ({"yaw": 25.0}, 0),
        ({"yaw": 0.0}, 0),
        ({"external": True}, 0),
        ({"size": None}, 0),
    ],
)
def test_one_cut_alone_pairs_only_what_looks_at_each_other_alike(changes, pairs) -> None:
    other = a_setup(1, 1, **{"yaw": -25.0, **changes})
    assert len(pair_setups([a_setup(0, 0), other], [a_talk(0, 1, turns=1)])) == pairs


@pytest.mark.parametrize("side", [0, 1])
def test_an_unknown_size_matches_nothing(side) -> None:
    sizes = [0.3, 0.3]
    sizes[side] = None
    setups = [a_setup(n, n, n + 2, size=size) for n, size in enumerate(sizes)]
    assert pair_setups(setups, [a_talk(0, 1, 2, 3)]) == []


def test_a_turn_that_is_not_read_pairs_nothing_in_a_single_cut() -> None:
    setups = [a_setup(0, 0), a_setup(1, 1, yaw=-25.0)]
    blind = replace(setups[1].subjects[0], head_yaw_deg=None)
    unread = replace(setups[1], subjects=(blind,))
    assert pair_setups([setups[0], unread], [a_talk(0, 1, turns=1)]) == []
    assert pair_setups([setups[0], unread], [a_talk(0, 1, turns=2)]) == [(0, 1)]
