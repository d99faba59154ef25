"""Stretches that cut to and fro between two people."""

import pytest

from framecheck.coverage.identity import PeopleOf
from framecheck.coverage.talks import Talk, find_talks
from framecheck.records.judged import ShotType
from tests.coverage.builders import a_shot, shown


def talks(mains, named=(), crowded=()):
    """Shots about the people of these numbers; None shows nobody."""
    shots, people = [], []
    for number, main in enumerate(mains):
        kind = ShotType.GROUP if number in crowded else ShotType.SINGLE
        shots.append(a_shot(number, *([shown()] if main is not None else []), kind=kind))
        groups = () if main is None else (main,)
        people.append(PeopleOf(first=groups, best=groups, last=groups))
    return find_talks(shots, people, named)


@pytest.mark.parametrize(
    ("mains", "found"),
    [
        ([], []),
        ([0, 0, 0], []),
        ([0, 1], [((0, 1), (0, 1), 1)]),
        ([1, 0, 1, 0], [((0, 1), (0, 1, 2, 3), 3)]),
        ([0, 0, 1, 1, 0], [((0, 1), (0, 1, 2, 3, 4), 2)]),
        ([2, 0, 0, 1], [((0, 2), (0, 1, 2), 1), ((0, 1), (1, 2, 3), 1)]),
        ([0, 1, 2, 0, 1], [((0, 1), (0, 1, 3, 4), 2), ((1, 2), (1, 2, 4), 1), ((0, 2), (2, 3), 1)]),
        ([0, 1, None, 0], [((0, 1), (0, 1, 3), 1)]),
        ([0, 1, None, None, 0], [((0, 1), (0, 1), 1)]),
        ([0, 1, None, 0, None, 1], [((0, 1), (0, 1, 3, 5), 1)]),
        ([0, None, 1], []),
        ([-1, 0, 1], [((0, 1), (1, 2), 1)]),
        ([0, 1, None, None, 1, 0], [((0, 1), (0, 1), 1), ((0, 1), (4, 5), 1)]),
    ],
)
def test_talks_are_found_with_their_shots_and_turns(mains, found) -> None:
    assert [(talk.couple, talk.shots, talk.turns) for talk in talks(mains)] == found
    assert not any(talk.named for talk in talks(mains))


def test_a_crowd_is_about_nobody() -> None:
    assert talks([0, 1, 0], crowded=[1]) == ()
    assert [talk.shots for talk in talks([0, 1, 0, 1], crowded=[3])] == [(0, 1, 2)]


def test_named_couples_are_one_talk_from_end_to_end() -> None:
    told = talks([0, 1, None, None, 1, 0, 2], named=[(1, 0), (0, 1)])
    assert told[0] == Talk(couple=(0, 1), shots=(0, 1, 4, 5), turns=2, named=True)
    assert [(talk.couple, talk.named) for talk in told[1:]] == [((0, 2), False)]
