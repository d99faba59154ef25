from __future__ import annotations

from dataclasses import replace

import pytest

from framecheck.classify.people import (
    counts_as_subject,
    head_ratio,
    is_seen_from_behind,
    look_behind_px,
    lower_severity,
    lowering_of,
)
from framecheck.records.framing import Facing, Role
from framecheck.records.judged import Severity
from framecheck.records.values import NotMeasured

NONE = NotMeasured(reason="hidden")


@pytest.mark.parametrize(
    ("facing", "yaw_deg", "behind"),
    [
        pytest.param(Facing.AWAY, NONE, True, id="away"),
        pytest.param(Facing.THREE_QUARTER, 135.0, True, id="three-quarter back"),
        pytest.param(Facing.THREE_QUARTER, -135.0, True, id="three-quarter back, other side"),
        pytest.param(Facing.PROFILE, 90.0, False, id="profile"),
        pytest.param(None, NONE, False, id="unknown"),
    ],
)
def test_seen_from_behind(a_person, a_picture, thresholds, facing, yaw_deg, behind) -> None:
    person = replace(a_person(a_picture()), facing=facing, head_yaw_deg=yaw_deg)
    assert is_seen_from_behind(person, thresholds) is behind


def test_head_ratio_falls_back_to_figures_and_then_to_one(a_person, a_picture) -> None:
    main, other = a_person(a_picture()), a_person(a_picture(), person=1, figure_px=400)
    assert head_ratio(other, main) == pytest.approx(0.4)
    headless = replace(other, head_height_px=NONE)
    assert head_ratio(headless, main) == pytest.approx(0.4)
    assert head_ratio(replace(headless, ruler=None), main) == 1.0


@pytest.mark.parametrize(
    ("role", "share", "x_px", "facing", "counts"),
    [
        pytest.param(Role.SUBJECT, 0.55, 400, Facing.TO_LENS, True, id="subject, rather small"),
        pytest.param(Role.SUBJECT, 0.45, 400, Facing.TO_LENS, False, id="subject, too small"),
        pytest.param(Role.BACKGROUND, 0.65, 400, Facing.TO_LENS, True, id="behind, yet large"),
        pytest.param(Role.BACKGROUND, 0.55, 400, Facing.TO_LENS, False, id="an extra"),
        pytest.param(Role.SUBJECT, 1.0, -50, Facing.TO_LENS, False, id="nearly all outside"),
        pytest.param(Role.FOREGROUND, 1.4, 400, Facing.AWAY, False, id="near, from behind"),
        pytest.param(Role.FOREGROUND, 1.4, 400, Facing.PROFILE, True, id="near, in profile"),
    ],
)
def test_who_counts(
    a_person, a_picture, a_frame, thresholds, role, share, x_px, facing, counts
) -> None:
    picture = a_picture(0.3)
    other = a_person(picture, person=1, role=role, x_px=x_px, figure_px=1000 * share, facing=facing)
    frame = a_frame(picture, a_person(picture), other)
    assert counts_as_subject(other, frame, thresholds) is counts
    assert counts_as_subject(frame.people[0], frame, thresholds)


@pytest.mark.parametrize(
    ("role", "share", "left_cut", "steps"),
    [
        pytest.param(Role.SUBJECT, 1.0, NONE, 0, id="second subject"),
        pytest.param(Role.SUBJECT, 1.0, 0.9, 1, id="second subject, cut by a side"),
        pytest.param(Role.BACKGROUND, 0.55, NONE, 1, id="extra"),
        pytest.param(Role.BACKGROUND, 0.55, 0.9, 2, id="extra, cut by a side"),
        pytest.param(Role.BACKGROUND, 0.3, NONE, None, id="far away"),
        pytest.param(Role.FOREGROUND, 1.4, NONE, None, id="foreground is meant to be cut"),
    ],
)
def test_flags_of_others_weigh_less(
    a_person, a_picture, a_frame, thresholds, role, share, left_cut, steps
) -> None:
    picture = a_picture(0.3)
    other = a_person(
        picture, person=1, role=role, x_px=400, figure_px=1000 * share, left_cut=left_cut,
        facing=Facing.AWAY,
    )  # fmt: skip
    frame = a_frame(picture, a_person(picture, left_cut=0.5), other)
    assert lowering_of(other, frame, thresholds) == steps
    assert lowering_of(frame.people[0], frame, thresholds) == 0


def test_severity_is_lowered_to_low_at_most() -> None:
    assert lower_severity(Severity.HIGH, 1) is Severity.MEDIUM
    assert lower_severity(Severity.MEDIUM, 2) is Severity.LOW


def test_room_behind_comes_from_the_ratio_or_else_from_the_nose(a_person, a_picture) -> None:
    picture = a_picture()
    person = replace(a_person(picture), look_room_frac=2.0, look_ahead_wfrac=0.5)
    assert look_behind_px(person, picture) == pytest.approx(400)  # 800 px ahead, half of it behind
    at_edge = replace(person, look_room_frac=0.0, nose_px=(1590.0, 200.0))
    assert look_behind_px(at_edge, picture) == pytest.approx(1590)


@pytest.mark.parametrize(("yaw", "behind"), [(112.5, True), (-112.5, True), (112.4, False)])
def test_the_rim_of_behind(a_person, a_picture, thresholds, yaw, behind) -> None:
    person = replace(a_person(a_picture()), facing=Facing.PROFILE, head_yaw_deg=yaw)
    assert is_seen_from_behind(person, thresholds) is behind


def test_room_behind_a_face_at_the_edge_is_the_wider_side(a_person, a_picture) -> None:
    """The picture starts at x = 300 and ends at 1500: the nose at 400 has 1100 px on one side."""
    picture = a_picture(left_px=300.0, w_px=1200.0)
    for x, room in ((400.0, 1100.0), (1400.0, 1100.0), (1000.0, 700.0)):
        assert look_behind_px(a_person(picture, x_px=x), picture) == room
        touching = replace(a_person(picture, x_px=x), look_room_frac=0.0, look_ahead_wfrac=0.0)
        assert look_behind_px(touching, picture) == room
    turned = replace(a_person(picture), look_room_frac=2.0, look_ahead_wfrac=0.5)
    assert look_behind_px(turned, picture) == 300.0


def test_heads_of_less_than_a_pixel_are_compared_as_well(a_person, a_picture) -> None:
    picture = a_picture()
    one, other = (replace(a_person(picture), head_height_px=px) for px in (0.25, 0.5))
    assert head_ratio(one, other) == 0.5
    nothing = replace(one, head_height_px=0.0)
    assert head_ratio(one, nothing) == 1.0  # by the figures, which are alike
    bare = replace(one, head_height_px=NONE, ruler=None)
    assert head_ratio(bare, other) == 1.0
