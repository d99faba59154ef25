"""Heads that the scout saw, and whose they are."""

from dataclasses import replace

import pytest

from framecheck.pose.heads import (
    belief_in_head,
    head_height_px,
    is_between,
    is_head_of,
    is_loose,
    is_well_inside,
    nearest_head,
    owner_of,
    window_about,
    window_under,
    with_heads,
)
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


def test_a_small_head_on_a_larger_one_is_no_other_persons() -> None:
    """The figure's own head is 65 px high (0.13 of 500), its eyes at (480, 132)."""
    person = PersonSeen(body=a_body(480))
    assert is_head_of(hint(480 + 45, 132, 30), person)
    assert not is_head_of(hint(480 + 52, 132, 30), person)
    assert head_height_px(person) == pytest.approx(65, rel=0.1)


def test_the_belief_in_a_head_is_that_of_the_surest_hint_there() -> None:
    person, near, far = PersonSeen(body=a_body(480)), hint(480, 135), hint(700, 135)
    assert belief_in_head(person, [replace(near, belief=0.4), near, far]) == 0.9
    assert belief_in_head(person, [far]) == 0.0


def test_a_closer_look_finds_the_same_head_or_none() -> None:
    small, again, other = hint(300, 100, 10), hint(310, 104, 12), hint(340, 100, 10)
    assert nearest_head(small, [other, again]) is again
    assert nearest_head(small, [other]) is None
    assert nearest_head(small, []) is None


def test_the_window_about_a_small_head_holds_its_body() -> None:
    """14 heads wide, its middle 2.5 heads below; a standing figure is about 7.7 heads high."""
    box = window_about(hint(300, 100, 10))
    assert (box.w_px, box.h_px) == (140, 140)
    assert (box.y_px, box.bottom_px) == (55, 195)
    assert is_well_inside(box, hint(300, 100, 10))
    assert not is_well_inside(box, hint(300, 60, 10))


def test_the_window_leaves_room_for_the_body_below() -> None:
    box = window_under(hint(400, 300, 100), 8.0)
    assert (box.w_px, box.h_px) == (800, 800)
    assert box.y_px == pytest.approx(180)
    assert box.bottom_px == pytest.approx(980)


def test_a_head_is_the_one_persons_whose_eyes_are_nearest() -> None:
    """Eyes at x = 480 and 530; a head of 80 px reaches 64 to both sides."""
    one, other = PersonSeen(body=a_body(480)), PersonSeen(body=a_body(530))
    assert owner_of(hint(490, 132, 80), [one, other]) is one
    assert owner_of(hint(520, 132, 80), [one, other]) is other
    assert owner_of(hint(900, 132, 80), [one, other]) is None


def test_a_head_beside_somebodys_own_is_loose() -> None:
    """50 px from the eyes it would be theirs; with an own one there it is another's."""
    person = PersonSeen(body=a_body(480))
    own, beside = hint(478, 132, 70), hint(530, 132, 70)
    assert not is_loose(beside, [person], [beside])
    assert is_loose(beside, [person], [own, beside])
    assert not is_loose(own, [person], [own, beside])
    same = hint(510, 132, 70)  # 32 px from the own one: within 0.6 heads it is the same
    assert not is_loose(same, [person], [own, same])


def test_the_nearer_head_must_be_ones_own() -> None:
    """Somebody with a face has it: what is left is the head of the one who stands between."""
    between, faced = PersonSeen(body=a_body(500)), PersonSeen(face=a_face(540, 132))
    theirs, left = hint(540, 132, 90), hint(440, 132, 90)
    assert owner_of(theirs, [between, faced]) is faced
    assert not is_loose(left, [between, faced], [theirs, left])
    assert is_between(between, [between, faced], [theirs, left])
    assert not is_between(between, [between], [theirs, left])
    assert not is_between(between, [between, faced], [left])


def test_everybody_gets_the_head_that_is_theirs() -> None:
    left, right = PersonSeen(body=a_body(300)), PersonSeen(body=a_body(700))
    lone = PersonSeen(outline=anybody())
    people = with_heads([left, right, lone], [hint(702, 131), hint(1100, 135)])
    assert [person.head is None for person in people] == [True, False, True]
    assert people[1].head is not None
    assert people[1].head.centre_px == (702, 131)
    assert people[1].head.height_px == 60.0
