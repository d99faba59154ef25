"""The line, and who crosses it."""

from dataclasses import replace

import pytest

from framecheck.coverage.identity import group_people
from framecheck.coverage.line import find_crossings
from framecheck.coverage.talks import find_talks
from framecheck.records.coverage import CutThresholds
from framecheck.records.framing import Role
from framecheck.records.judged import ShotType
from tests.coverage.builders import ANNE, BERT, CARL, a_shot, a_talk, shown

LIMITS = CutThresholds()


def crossings(shots, named=()):
    people = group_people(shots)
    return find_crossings(shots, people, find_talks(shots, people, named), LIMITS)


def talk(*yaws, size=0.3):
    """Anne and Bert in turn, each looking so far to the right (+) or left (-)."""
    return a_talk(*((who, yaw, size) for who, yaw in zip((ANNE, BERT) * 9, yaws, strict=False)))


def test_people_who_look_opposite_ways_do_not_cross() -> None:
    assert crossings(talk(30, -30, 25, -35, 30, -28)) == {}


def test_a_reverse_from_the_wrong_side_crosses_there_and_back() -> None:
    found = crossings(talk(30, -30, 30, 30, 30, -30))
    assert sorted(found) == [2, 4 - 1]
    assert "both look right" in found[2].why
    assert "shot 2 and shot 3" in found[2].why
    assert found[2].confidence > 0.99


def test_both_sides_from_the_other_side_cross_once() -> None:
    """From shot 3 on the camera stays on the other side of the line."""
    found = crossings(talk(30, -30, 30, 28, -30, 30))
    assert list(found) == [2]


def test_a_shot_on_the_line_lets_the_camera_change_sides() -> None:
    shots = talk(30, -30, 2, 30, -30, 30)
    assert crossings(shots) == {}


def test_one_person_who_suddenly_looks_the_other_way() -> None:
    shots = a_talk((ANNE, 30, 0.2), (BERT, -30, 0.2), (ANNE, 30, 0.2), (ANNE, -30, 0.4),
                   (BERT, 30, 0.2))  # fmt: skip
    found = crossings(shots)
    assert list(found) == [2]
    assert "A suddenly looks left" in found[2].why


def test_a_cutaway_between_leaves_less_of_it() -> None:
    straight = crossings(talk(30, -30, 30, 30))[2].confidence
    shots = talk(30, -30, 30, 30)
    shots = [*shots[:3], a_shot(3), *(a_shot(4, *shot.best.people) for shot in shots[3:])]
    found = crossings(shots)
    assert list(found) == [3]
    assert found[3].confidence == pytest.approx(0.6 * straight)


def test_a_jump_that_two_talks_tell_of_is_told_once() -> None:
    """Shot 4 is Anne from the other side, taken for Carl: so Bert and Carl both look right there,
    and Bert, who talks to Anne, has turned round by shot 5. The camera jumped once, before 4.
    """
    shots = a_talk((ANNE, -40, 0.3), (BERT, 40, 0.3), (ANNE, -40, 0.3), (BERT, 40, 0.3),
                   (CARL, 40, 0.3), (BERT, -40, 0.3))  # fmt: skip
    assert list(crossings(shots)) == [3]


def test_two_people_who_watch_the_same_thing_do_not_cross() -> None:
    """Both look right all the time: nothing says that they face each other."""
    assert crossings(talk(30, 30, 30, 30)) == {}


def test_the_user_may_say_that_they_do() -> None:
    assert sorted(crossings(talk(30, 30, 30, 30), named=[(0, 1)])) == [0, 1, 2]


def test_a_shot_of_both_tells_the_side_by_their_places() -> None:
    """Bert stands left of Anne, who looks into the lens: the camera is on the other side."""
    both = a_shot(
        3, shown(ANNE, yaw=0, x=0.7), shown(BERT, person=1, x=0.3, role=Role.BACKGROUND),
        kind=ShotType.TWO,
    )  # fmt: skip
    found = crossings([*talk(30, -30, 30), both])
    assert list(found) == [2]


def test_two_shots_make_no_conversation() -> None:
    assert crossings(talk(30, 30)) == {}
    assert crossings(a_talk((ANNE, 30, 0.3), (BERT, -30, 0.3), (CARL, -30, 0.3))) == {}


def test_talks_end_where_somebody_else_takes_over() -> None:
    shots = a_talk(*((who, 20, 0.3) for who in (ANNE, BERT, ANNE, CARL, CARL, BERT, CARL)))
    found = [
        (talk.couple, talk.shots, talk.turns) for talk in find_talks(shots, group_people(shots))
    ]
    assert found == [((0, 1), (0, 1, 2), 2), ((0, 2), (2, 3, 4, 6), 1), ((1, 2), (3, 4, 5, 6), 2)]


def test_several_crossings_in_one_talk_are_all_told() -> None:
    found = crossings(talk(30, -30, 30, 30, 30, -30, -30, -30, 30, -30))
    assert sorted(found) == [2, 3, 5, 6]
    assert all(crossing.cut == cut for cut, crossing in found.items())


def test_the_shoulders_tell_the_side_where_the_head_is_unknown() -> None:
    shots = talk(30, -30, 30, 30, 30, -30)
    person = replace(shots[3].best.people[0], head_yaw_deg=None, body_yaw_deg=30.0)
    shots[3] = a_shot(3, person)
    assert sorted(crossings(shots)) == [2, 3]
    shots[3] = a_shot(3, replace(person, body_yaw_deg=None))
    assert crossings(shots) == {}


def test_how_sure_a_crossing_is_follows_from_the_turns() -> None:
    """9 degrees are 1.5 standard deviations of 6: erf(1.5 / sqrt 2) = 0.8664."""
    found = crossings(talk(9, -9, 9, 9, 9, -9))
    assert found[2].confidence == pytest.approx(0.8664**2, abs=1e-3)
    mixed = crossings(talk(9, -9, 9, 90, 9, -9))
    assert mixed[2].confidence == pytest.approx(0.8664, abs=1e-3)
    back = crossings(talk(171, -9, 171, 171, 9, -9))
    assert all(
        crossing.confidence == pytest.approx(0.8664**2, abs=1e-3) for crossing in back.values()
    )


def test_a_cutaway_leaves_six_tenths() -> None:
    anne, bert = (shown(who, yaw=9, head=0.3, x=0.4) for who in (ANNE, BERT))
    shots = [*talk(9, -9, 9), a_shot(3, shown(CARL)), a_shot(4, bert), a_shot(5, anne)]
    found = crossings(shots)
    assert found[3].confidence == pytest.approx(0.6 * 0.8664**2, abs=1e-3)
    assert "(shot 2 and shot 4)" in found[3].why
