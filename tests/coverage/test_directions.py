"""Where people look and face, at the rims and where something was not measured."""

from dataclasses import replace

import pytest

from framecheck.coverage.directions import (
    closeness_deg,
    direction,
    frames_view,
    is_external,
    is_one_side,
    lens_height_deg,
    looks,
)
from framecheck.records.coverage import Direction
from framecheck.records.framing import Facing, Role
from framecheck.records.judged import ShotType
from framecheck.records.values import NotMeasured
from tests.coverage.builders import ANNE, BERT, a_shot, shown


@pytest.mark.parametrize(
    ("yaw", "told"),
    [
        (None, Direction.UNKNOWN), (0.0, Direction.TO_LENS), (5.9, Direction.TO_LENS),
        (-5.9, Direction.TO_LENS), (6.0, Direction.RIGHT), (-6.0, Direction.LEFT),
        (174.0, Direction.RIGHT), (174.1, Direction.AWAY), (-174.1, Direction.AWAY),
    ],
)  # fmt: skip
def test_sides_start_at_the_neutral_look(yaw, told) -> None:
    assert direction(yaw, 6.0) is told


@pytest.mark.parametrize(("yaw", "told"), [(0.5, Direction.RIGHT), (-0.5, Direction.LEFT)])
def test_without_a_neutral_look_half_a_degree_is_a_side(yaw, told) -> None:
    assert direction(yaw, 0.0) is told


def test_where_the_head_is_unknown_the_shoulders_tell() -> None:
    person = shown(yaw=40.0, body=-30.0)
    assert looks(person, 6.0) is Direction.RIGHT
    assert looks(replace(person, head_yaw_deg=None), 6.0) is Direction.LEFT
    nothing = replace(person, head_yaw_deg=None, body_yaw_deg=None)
    assert looks(nothing, 6.0) is Direction.UNKNOWN
    no_turn = NotMeasured(reason="the turn of the head could not be measured")
    assert closeness_deg(nothing) == no_turn
    assert closeness_deg(person) == 40.0


def test_why_the_height_of_the_lens_is_not_told() -> None:
    person = shown(yaw=40.0, pitch=7.0)
    unread = NotMeasured(reason="the tilt of the head could not be measured")
    assert lens_height_deg(person) == 7.0
    assert lens_height_deg(replace(person, head_pitch_deg=None)) == unread
    assert lens_height_deg(replace(person, head_yaw_deg=None)) == unread
    assert lens_height_deg(replace(person, head_yaw_deg=112.5)) == 7.0
    behind = NotMeasured(reason="seen from behind")
    assert lens_height_deg(replace(person, head_yaw_deg=-112.6)) == behind


@pytest.mark.parametrize(
    ("person", "role", "facing", "frames"),
    [
        (0, Role.SUBJECT, Facing.AWAY, False),
        (0, Role.SUBJECT, None, False),
        (1, Role.BACKGROUND, Facing.AWAY, True),
        (1, Role.BACKGROUND, None, True),
        (1, Role.BACKGROUND, Facing.PROFILE, False),
        (1, Role.FOREGROUND, Facing.TO_LENS, True),
        (0, Role.FOREGROUND, Facing.TO_LENS, True),
    ],
)
def test_a_back_beside_the_main_subject_frames_the_view(person, role, facing, frames) -> None:
    someone = replace(shown(), person=person, role=role, facing=facing)
    assert frames_view(someone) is frames


BACK = replace(shown(BERT, yaw=170.0), person=1, role=Role.FOREGROUND)
OTHER = replace(shown(BERT), person=1, role=Role.BACKGROUND)


@pytest.mark.parametrize(
    ("people", "kind", "external", "one_side"),
    [
        ((shown(ANNE),), ShotType.SINGLE, False, True),
        ((shown(ANNE),), ShotType.INSERT, False, True),
        ((shown(ANNE),), None, False, True),
        ((shown(ANNE), BACK), ShotType.OVER_THE_SHOULDER, True, True),
        ((shown(ANNE), BACK), ShotType.TWO, True, True),
        ((shown(ANNE), OTHER), ShotType.OVER_THE_SHOULDER, True, False),
        ((shown(ANNE), OTHER), ShotType.TWO, False, False),
        ((shown(ANNE), BACK, replace(OTHER, person=2)), ShotType.GROUP, True, False),
        ((shown(ANNE),), ShotType.GROUP, False, False),
    ],
)
def test_shots_about_one_person(people, kind, external, one_side) -> None:
    shot = a_shot(0, *people, kind=kind)
    assert is_external(shot) is external
    assert is_one_side(shot) is one_side
