"""Heads that the scout saw: whose they are, where to look for their bodies, who is left over."""

from __future__ import annotations

import math
from collections.abc import Sequence

from framecheck.measure.head import measure_head
from framecheck.pose.scout import HeadHint
from framecheck.records.seen import PersonSeen
from framecheck.records.values import Box

HEAD_REACH = 0.8
"""How far a person's eyes may be from the middle of a head that is theirs, in heads."""


def is_head_of(head: HeadHint, person: PersonSeen) -> bool:
    """True when the person's eyes lie in or near the head."""
    if person.body is None and person.face is None:
        return False
    eye_px = measure_head(person).eye_px
    return math.dist(eye_px, head.centre_px) <= HEAD_REACH * head.height_px


def all_have_heads(people: Sequence[PersonSeen], heads: Sequence[HeadHint]) -> bool:
    """True when the heads that the scout saw are just those of the people."""
    found = [any(is_head_of(head, person) for head in heads) for person in people]
    return bool(people) and all(found) and len(heads) <= len(people)


def window_under(head: HeadHint, heads_high: float) -> Box:
    """A square that has a head in its upper part and room for the body below."""
    side_px = heads_high * head.height_px
    x_px, y_px = head.centre_px
    return Box(
        x_px=x_px - side_px / 2, y_px=y_px - 1.2 * head.height_px, w_px=side_px, h_px=side_px
    )
