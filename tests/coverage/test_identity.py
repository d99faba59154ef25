"""Letters for people."""

import random

from framecheck.coverage.identity import MOST_PEOPLE, group_people, letter
from framecheck.records.framing import Role
from tests.coverage.builders import (
    ANNE,
    BERT,
    BLUE,
    CARL,
    DARK,
    GREEN,
    RED,
    a_look,
    a_shot,
    shown,
)


def told(shots):
    return [tuple(map(letter, groups.best)) for groups in group_people(shots)]


def test_people_get_letters_in_the_order_in_which_they_appear() -> None:
    shots = [a_shot(n, shown(who)) for n, who in enumerate((ANNE, BERT, ANNE, CARL, BERT))]
    assert told(shots) == [("A",), ("B",), ("A",), ("C",), ("B",)]


def test_two_people_in_one_picture_are_never_one() -> None:
    twin = shown(ANNE, person=1, role=Role.BACKGROUND)
    assert told([a_shot(0, shown(ANNE), twin), a_shot(1, shown(ANNE))])[0] == ("A", "B")


def test_somebody_without_colours_stays_unknown() -> None:
    assert told([a_shot(0, shown(ANNE)), a_shot(1, shown(None)), a_shot(2)]) == [
        ("A",), ("?",), (),
    ]  # fmt: skip


def test_many_different_people_are_kept_apart() -> None:
    """Three hair colours times three coats make nine people, each seen twice."""
    hairs, coats = (DARK, (75.0, 4.0, 25.0), (40.0, 35.0, 35.0)), (RED, BLUE, GREEN)
    looks = [a_look(coat, hair=hair) for coat in coats for hair in hairs]
    letters = told([a_shot(n, shown(look)) for n, look in enumerate(looks * 2)])
    assert letters[:9] == letters[9:]
    assert len(set(letters)) == 9


def test_thousands_of_people_are_not_all_told_apart() -> None:
    """A montage in which everybody is seen once: the first ones get letters, quickly."""
    rng = random.Random(2)

    def anyone():
        return (rng.uniform(5, 90), rng.uniform(-50, 60), rng.uniform(-50, 60))

    shots = [a_shot(n, shown(a_look(anyone(), hair=anyone()))) for n in range(600)]
    letters = [people[0] for people in told(shots)]
    assert len(set(letters) - {"?"}) <= MOST_PEOPLE
    assert letters[0] == "A"
    assert "?" in letters


def test_letters_go_on_after_z() -> None:
    assert [letter(n) for n in (0, 25, 26, 27, 51, 52, 701, 702)] == [
        "A", "Z", "AA", "AB", "AZ", "BA", "ZZ", "AAA",
    ]  # fmt: skip
    assert letter(-1) == "?"
