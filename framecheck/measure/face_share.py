"""How likely a face shows, and what that says of heads whose turn was told wrongly.

A face that was really found is seen. Where one was found in a picture, so could be that of another
head, no smaller: if none is found there in spite of closer looks, that head is in profile or away,
whatever the joints say, which the pose network likes to draw on a back as if it were a front.

Tuned on rendered scenes, plain and hard (four sets, 1035 people of whom a head was found). Among
large heads beside a found face no face was missed that looked to the lens, and four in five without
one were backs; of people alone, or small, faces are missed far too often to tell anything.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from framecheck.measure.posture import AWAY_DEG

TELLING_FRAC = 0.08
"""Eyes to chin over the picture height from which a missing face tells something."""

SAME_SIZE = 1.3
"""A head is no smaller than another when it is no more than so many times less high: the networks
draw a head from behind short."""

MISSED_ODDS = 0.25
"""How many such heads without a face, told to look to the lens, do so for each one seen from
behind: none for five, and never is too strong a word."""

FRONT_DEG, PROFILE_DEG, PROFILE_ODDS = 60.0, 85.0, 6.0
"""A face nearer to the lens than the first is found as a rule; one turned farther than the second
is mostly missed, so that it shows that many times as often where none was found (among heads told
to be so turned four in five were backs nonetheless)."""

BACK_DEG = 95.0
"""Where such heads are told to be turned so far, half of them are seen from behind."""

SPREAD_DEG = 6.0
"""How fast the doubt about that, or about any head half-way from profile to back, goes away: the
error of a yaw."""

TURNED_LEAST_DEG = 120.0
"""Yaw of a head that is seen from behind though it was told to be turned less."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadTold:
    """What is known of one head when it is asked whether its face shows.

    Attributes:
        found: whether a face was found there.
        yaw_deg: its turn as told.
        face_frac: eyes to chin over the picture height.
    """

    found: bool
    yaw_deg: float
    face_frac: float


def face_shares(heads: Sequence[HeadTold]) -> tuple[float, ...]:
    """How likely the face of each head in a picture shows, in profile at least, 0..1."""
    smallest_frac = min((head.face_frac for head in heads if head.found), default=math.inf)
    return tuple(_face_share(head, smallest_frac) for head in heads)


def _face_share(head: HeadTold, smallest_frac: float) -> float:
    """Of one head, beside faces that were found at heads of that size and more."""
    yaw_deg = abs(head.yaw_deg)
    if head.found:
        return 1.0
    if head.face_frac < max(TELLING_FRAC, smallest_frac / SAME_SIZE):
        return _falling(yaw_deg, AWAY_DEG)
    way = min(max((yaw_deg - FRONT_DEG) / (PROFILE_DEG - FRONT_DEG), 0.0), 1.0)
    odds = MISSED_ODDS * math.pow(PROFILE_ODDS, way)
    return odds / (1.0 + odds) * _falling(yaw_deg, BACK_DEG)


def _falling(yaw_deg: float, half_deg: float) -> float:
    return 1.0 / (1.0 + math.exp((yaw_deg - half_deg) / SPREAD_DEG))


def turned_yaw_deg(yaw_deg: float, share: float) -> float:
    """The turn of a head whose face rather does not show: front and back were mixed up."""
    if share >= 0.5 or abs(yaw_deg) > AWAY_DEG:
        return yaw_deg
    return math.copysign(max(180.0 - abs(yaw_deg), TURNED_LEAST_DEG), yaw_deg)
