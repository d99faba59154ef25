from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.classify.reread import eye_point_px, move_edge, reread, scale_field
from framecheck.records.framing import Edge, Facing
from framecheck.records.values import Box, NotMeasured

PICTURE = Box(x_px=100, y_px=50, w_px=200, h_px=100)
READ = (
    "crop_level", "top_level", "figure_frac", "headroom_frac", "eye_line_frac",
    "look_room_frac", "look_ahead_wfrac",
)  # fmt: skip


@pytest.mark.parametrize(
    ("edge", "moved"),
    [
        (Edge.LEFT, Box(x_px=90, y_px=50, w_px=210, h_px=100)),
        (Edge.RIGHT, Box(x_px=100, y_px=50, w_px=210, h_px=100)),
        (Edge.TOP, Box(x_px=100, y_px=40, w_px=200, h_px=110)),
        (Edge.BOTTOM, Box(x_px=100, y_px=50, w_px=200, h_px=110)),
    ],
)
def test_one_edge_moves_outward_and_the_others_stay(edge: Edge, moved: Box) -> None:
    assert move_edge(PICTURE, edge, 10) == moved
    assert move_edge(moved, edge, -10) == PICTURE


def test_a_wider_field_keeps_the_anchors_place() -> None:
    wide = scale_field(PICTURE, 1.5, (150, 75))
    assert wide == Box(x_px=75, y_px=37.5, w_px=300, h_px=150)
    assert (150 - wide.x_px) / wide.w_px == (150 - PICTURE.x_px) / PICTURE.w_px


def test_the_anchor_is_the_eyes_kept_inside_the_picture(a_person, a_picture, a_frame) -> None:
    picture = a_picture(0.6)
    person = a_person(picture)
    assert eye_point_px(a_frame(picture, person)) == pytest.approx((800, 164))
    assert eye_point_px(a_frame(picture, replace(person, ruler=None))) == pytest.approx((800, 190))
    low = a_picture(0.6, top_px=200.0)
    assert eye_point_px(a_frame(low, a_person(low))) == pytest.approx((800, 200))


@given(
    bottom=st.floats(-0.2, 0.8), top_px=st.floats(-300, 150), left_px=st.floats(-300, 400),
    w_px=st.floats(600, 3000), yaw=st.sampled_from([-90.0, 90.0]),
)  # fmt: skip
def test_read_again_is_what_a_new_measurement_would_find(
    a_person, a_picture, a_frame, bottom, top_px, left_px, w_px, yaw
) -> None:
    old = a_picture(0.5, top_px=50.0)
    new = a_picture(bottom, top_px=top_px, left_px=left_px, w_px=w_px)
    frame = a_frame(old, a_person(old, yaw_deg=yaw, facing=Facing.PROFILE))
    found = reread(frame, new)
    expected = a_person(new, yaw_deg=yaw, facing=Facing.PROFILE)
    assert found.picture == new
    for name in READ:
        assert getattr(found.people[0], name) == pytest.approx(getattr(expected, name)), name


def test_joints_are_told_inside_or_outside_anew(a_person, a_picture, a_frame, a_joint) -> None:
    old, new = a_picture(0.5), a_picture(0.7)
    frame = a_frame(old, a_person(old, joints=(a_joint("wrist", 700, 500),)))
    joint = reread(frame, new).people[0].joints[0]
    assert (joint.inside, joint.seen) == (False, True)


def test_what_was_not_measured_stays_so(a_person, a_picture, a_frame) -> None:
    old, new = a_picture(0.5), a_picture(0.6)
    hidden = NotMeasured(reason="hidden")
    person = a_person(old, yaw_deg=90.0, facing=Facing.PROFILE)
    bare = replace(person, **dict.fromkeys(READ, hidden))
    again = reread(a_frame(old, bare), new).people[0]
    assert all(getattr(again, name) == hidden for name in READ)
    no_yaw = replace(person, head_yaw_deg=hidden)
    again = reread(a_frame(old, no_yaw), new).people[0]
    assert again.look_room_frac == person.look_room_frac
    no_ruler = replace(person, ruler=None)
    again = reread(a_frame(old, no_ruler), new).people[0]
    assert again.crop_level == person.crop_level
    assert again.headroom_frac == pytest.approx(100 / 500)
