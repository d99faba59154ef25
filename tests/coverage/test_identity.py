"""Letters for people."""

import random
from dataclasses import replace

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
    a_moment,
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


def test_letters_go_by_who_is_first_the_subject_of_a_shot() -> None:
    """Bert is beside Anne in the first picture; whom a shot is about comes before him."""
    beside = shown(BERT, person=1, role=Role.BACKGROUND)
    shots = [a_shot(0, shown(ANNE), beside), a_shot(1, shown(CARL)), a_shot(2, shown(CARL))]
    assert told(shots) == [("A", "C"), ("B",), ("B",)]
    later = [*shots, a_shot(3, shown(BERT))]
    assert told(later) == [("A", "B"), ("C",), ("C",), ("B",)]


def test_first_and_last_pictures_are_told_apart_from_the_best() -> None:
    shot = a_shot(0, shown(ANNE))
    crossing = replace(shot, first=a_moment(shown(BERT)), last=a_moment(shown(CARL), shown(ANNE)))
    people = group_people([crossing, a_shot(1, shown(BERT)), a_shot(2, shown(CARL))])
    assert (people[0].best, people[0].first, people[0].last) == ((0,), (1,), (2, 0))
    assert people[1].first == people[1].best == people[1].last == (1,)


def test_who_is_told_late_is_told_in_every_picture() -> None:
    """More than three hundred shots: the rest are taken in many at a time."""
    cast = [(ANNE, BERT, CARL)[n % 3] for n in range(400)]
    assert told([a_shot(n, shown(who)) for n, who in enumerate(cast)]) == [
        (("A", "B", "C")[n % 3],) for n in range(400)
    ]


def test_the_surest_of_one_picture_gets_the_letter() -> None:
    """Both look like Anne; the one who looks more like her is she, wherever that one stands."""
    near = a_look((46.0, 58.0, 40.0), hair=(20.0, 5.0, 8.0))
    for people in ((near, ANNE), (ANNE, near)):
        pair = [shown(look, person=n) for n, look in enumerate(people)]
        letters = told([a_shot(0, shown(ANNE)), a_shot(1, *pair)])[1]
        assert letters[people.index(ANNE)] == "A"
        assert letters[people.index(near)] == "B"


def test_who_looks_the_other_way_is_less_likely_the_same() -> None:
    """Between two people as likely, the side decides: 1.2 log odds."""
    one = shown(a_look((45.0, 60.0, 40.0)), yaw=30.0)
    other = shown(a_look((45.0, 48.0, 30.0)), yaw=-30.0)
    between = a_look((45.0, 54.0, 35.0))
    pair = a_shot(0, one, replace(other, person=1))
    letters = [told([pair, a_shot(1, shown(between, yaw=yaw))])[1][0] for yaw in (30.0, -30.0)]
    assert letters[0] != letters[1]
    assert letters[0] == told([pair])[0][0]


def test_who_was_met_too_early_is_put_together_later() -> None:
    """The second is not like the first, but both are like the third and the fourth."""
    coats = [(45.0, 60.0, 40.0), (45.0, 32.0, 40.0), (45.0, 46.0, 40.0), (45.0, 46.0, 40.0)]
    looks = [a_look(coat) for coat in coats]
    assert told([a_shot(n, shown(look)) for n, look in enumerate(looks[:2])]) == [("A",), ("B",)]
    assert told([a_shot(n, shown(look)) for n, look in enumerate(looks)]) == [("A",)] * 4


def test_who_stand_together_are_never_put_together() -> None:
    beside = shown(a_look((45.0, 52.0, 40.0)), person=1, role=Role.BACKGROUND)
    shots = [a_shot(0, shown(ANNE), beside), a_shot(1, shown(ANNE)), a_shot(2, shown(ANNE))]
    assert told(shots)[0] == ("A", "B")
