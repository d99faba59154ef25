"""Heads that the scout saw: whose they are, where to look for their bodies, who is left over."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from framecheck.measure.head import CROWN_TO_EYE, EYE_TO_CHIN, place_head
from framecheck.pose.scout import HeadHint
from framecheck.records.seen import HeadSeen, PersonSeen
from framecheck.records.values import Box

HEAD_REACH = 0.8
"""How far a person's eyes may be from the middle of a head that is theirs, in heads."""

OWN_REACH, MUCH_SMALLER = 0.75, 0.6
"""The same in the person's own heads, for a head less high than this share of the own one: a small
head on a larger one is no other person's."""

SAME_HEAD = 0.6
CLOSER_REACH = 2.0
"""How far a closer look may find a small head from where it was seen, in heads."""

ABOUT_HEADS, ABOUT_SHIFT = 14.0, 2.5
"""Side of the window for a closer look, and its middle from the head, in heads."""


def is_head_of(head: HeadHint, person: PersonSeen) -> bool:
    """True when the person's eyes lie in or near the head."""
    if person.body is None and person.face is None:
        return False
    gap_px, own_px = math.dist(place_head(person).eye_px, head.centre_px), head_height_px(person)
    if head.height_px < MUCH_SMALLER * own_px:
        return gap_px <= OWN_REACH * own_px
    return gap_px <= HEAD_REACH * head.height_px


def is_loose(head: HeadHint, people: Sequence[PersonSeen], heads: Sequence[HeadHint]) -> bool:
    """True when a head is nobody's: nobody's eyes lie in it, or theirs lie nearer to their own."""
    return not any(
        is_head_of(head, person) and not _has_nearer(person, head, people, heads)
        for person in people
    )


def _has_nearer(
    person: PersonSeen, head: HeadHint, people: Sequence[PersonSeen], heads: Sequence[HeadHint]
) -> bool:
    """Whether another of the heads is that person's, nearer to the eyes and not the same."""
    eye_px = place_head(person).eye_px
    return any(
        owner_of(other, people) is person
        and not is_same_head(other, head)
        and math.dist(other.centre_px, eye_px) < math.dist(head.centre_px, eye_px)
        for other in heads
    )


def is_between(person: PersonSeen, people: Sequence[PersonSeen], heads: Sequence[HeadHint]) -> bool:
    """True when a person's eyes lie near two heads, one of them another's who has a face."""
    near = [head for head in heads if is_head_of(head, person)]
    owners = [owner_of(head, people) for head in near]
    return len(near) > 1 and any(
        owner is not None and owner is not person and owner.face is not None for owner in owners
    )


def owner_of(head: HeadHint, people: Sequence[PersonSeen]) -> PersonSeen | None:
    """Whose head it is: of those that it may belong to, the one whose eyes are nearest."""
    may = [person for person in people if is_head_of(head, person)]
    return min(
        may, key=lambda person: math.dist(place_head(person).eye_px, head.centre_px), default=None
    )


def own_heads(people: Sequence[PersonSeen], heads: Sequence[HeadHint]) -> list[HeadHint | None]:
    """The head of each person, the first one that is theirs; None where the scout sees none."""
    owners = [owner_of(head, people) for head in heads]
    return [
        next((head for head, owner in zip(heads, owners, strict=True) if owner is person), None)
        for person in people
    ]


def with_heads(people: Sequence[PersonSeen], heads: Sequence[HeadHint]) -> tuple[PersonSeen, ...]:
    """The people, each with the head that is theirs, where the scout sees one."""
    own = own_heads(people, heads)
    return tuple(
        person if head is None else replace(person, head=_seen(head))
        for person, head in zip(people, own, strict=True)
    )


def _seen(head: HeadHint) -> HeadSeen:
    return HeadSeen(centre_px=head.centre_px, height_px=head.height_px, down=head.down)


def head_height_px(person: PersonSeen) -> float:
    """Crown to chin of somebody's head as the body or the face has it, by proportion."""
    unit_px = place_head(person).eye_to_chin_px
    return unit_px * (CROWN_TO_EYE + EYE_TO_CHIN) / EYE_TO_CHIN


def belief_in_head(person: PersonSeen, heads: Sequence[HeadHint]) -> float:
    """The scout's belief in the person's head, 0..1; 0 where it sees none."""
    return max((head.belief for head in heads if is_head_of(head, person)), default=0.0)


def is_same_head(one: HeadHint, other: HeadHint) -> bool:
    """True when the middles of two heads lie nearer to each other than those of two people."""
    reach_px = SAME_HEAD * max(one.height_px, other.height_px)
    return math.dist(one.centre_px, other.centre_px) <= reach_px


def nearest_head(head: HeadHint, found: Sequence[HeadHint]) -> HeadHint | None:
    """The one of some heads that is nearest to a head seen before; None when none is near."""
    near = min(found, key=lambda h: math.dist(h.centre_px, head.centre_px), default=None)
    if near is None:
        return None
    reach_px = CLOSER_REACH * max(head.height_px, near.height_px)
    return near if math.dist(near.centre_px, head.centre_px) <= reach_px else None


def window_about(head: HeadHint) -> Box:
    """A square with a head and the body below, and some surroundings."""
    x_px, y_px = (
        at + ABOUT_SHIFT * head.height_px * way
        for at, way in zip(head.centre_px, head.down, strict=True)
    )
    side_px = ABOUT_HEADS * head.height_px
    return Box(x_px=x_px - side_px / 2, y_px=y_px - side_px / 2, w_px=side_px, h_px=side_px)


def is_well_inside(box: Box, head: HeadHint) -> bool:
    """True when a head lies in a box, a head's height away from its rim."""
    x_px, y_px = head.centre_px
    rim_px = head.height_px
    across = box.x_px + rim_px <= x_px <= box.right_px - rim_px
    return across and box.y_px + rim_px <= y_px <= box.bottom_px - rim_px


def window_under(head: HeadHint, heads_high: float) -> Box:
    """A square that has a head in its upper part and room for the body below."""
    side_px = heads_high * head.height_px
    x_px, y_px = head.centre_px
    return Box(
        x_px=x_px - side_px / 2, y_px=y_px - 1.2 * head.height_px, w_px=side_px, h_px=side_px
    )
