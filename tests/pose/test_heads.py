"""Heads that the scout saw, and whose they are."""

import pytest

from framecheck.pose.heads import all_have_heads, is_head_of, window_under
from framecheck.pose.scout import HeadHint
from framecheck.records.seen import PersonSeen
from tests.pose.figures import a_body, a_face, anybody


def hint(x_px: float, y_px: float, height_px: float = 60.0) -> HeadHint:
    return HeadHint(centre_px=(x_px, y_px), height_px=height_px, belief=0.9)


def test_a_head_is_that_of_the_body_whose_eyes_it_holds() -> None:
    """A figure of 500 px with its crown at y = 100 has its eyes at 132 (0.936 of the stature)."""
    person = PersonSeen(body=a_body(480))
    assert is_head_of(hint(480, 135), person)
    assert is_head_of(hint(480 + 0.79 * 60, 132), person)
    assert not is_head_of(hint(480 + 0.9 * 60, 132), person)


def test_an_outline_alone_has_no_eyes() -> None:
    assert not is_head_of(hint(480, 135), PersonSeen(outline=anybody()))


def test_all_have_heads_only_where_none_is_left_over_on_either_side() -> None:
    people = [PersonSeen(body=a_body(300)), PersonSeen(body=a_body(700), face=a_face(700))]
    one, other, loose = hint(300, 135), hint(700, 135), hint(500, 135)
    assert all_have_heads(people, [one, other])
    assert not all_have_heads(people, [one])
    assert not all_have_heads(people, [one, other, loose])
    assert not all_have_heads([], [])


def test_the_window_leaves_room_for_the_body_below() -> None:
    box = window_under(hint(400, 300, 100), 8.0)
    assert (box.w_px, box.h_px) == (800, 800)
    assert box.y_px == pytest.approx(180)
    assert box.bottom_px == pytest.approx(980)
