"""Size and angle from one picture to another."""

import math
from dataclasses import replace

import pytest

from framecheck.coverage.changes import angle_change_deg, shown_size, size_ratio
from framecheck.records.framing import Facing
from framecheck.records.values import NotMeasured
from tests.coverage.builders import shown


@pytest.mark.parametrize(("before", "after", "ratio"), [(0.2, 0.3, 1.5), (0.4, 0.1, 0.25)])
def test_size_is_the_ratio_of_head_heights(before, after, ratio) -> None:
    assert size_ratio(shown(head=before), shown(head=after)) == pytest.approx(ratio)


def test_a_head_from_behind_is_sized_by_the_body() -> None:
    back = shown(head=0.26, yaw=170.0, head_frac=0.9, face_frac=0.9)
    assert size_ratio(shown(head=0.13), back) == pytest.approx(2.0)
    assert shown_size(back) == pytest.approx(0.26)


def test_a_head_reads_short_in_profile_and_tall_with_its_hair() -> None:
    """The same bare head of 0.2, to the lens and at 60 degrees, as the networks draw it."""
    front, side = shown(head=0.2, yaw=0.0), shown(head=0.2, yaw=60.0)
    assert front.head_frac == pytest.approx(0.2 * math.exp(0.160))
    assert side.head_frac == pytest.approx(0.2 * math.exp(0.160 - 60 * 0.00405))
    assert size_ratio(front, side) == pytest.approx(1.0)


def test_a_size_that_cannot_be_told_says_so() -> None:
    nobody = shown(head=None, figure_frac=None)
    assert isinstance(size_ratio(shown(), nobody), NotMeasured)


@pytest.mark.parametrize(
    ("before", "after", "angle"), [(20, 50, 30), (-15, 15, 30), (170, -160, 30), (0, 90, 90)]
)
def test_angle_is_the_turn_of_head_and_body_together(before, after, angle) -> None:
    assert angle_change_deg(shown(yaw=before), shown(yaw=after)) == pytest.approx(angle)


def test_the_head_counts_more_than_the_body() -> None:
    turned = angle_change_deg(shown(yaw=0, body=0), shown(yaw=40, body=0))
    assert 20 < turned < 40


def test_without_any_turn_there_is_no_angle() -> None:
    blind = shown(yaw=None, body_yaw_deg=None)
    assert isinstance(angle_change_deg(shown(), blind), NotMeasured)


def read(*, head=None, face=None, figure=None, yaw=0.0, facing=Facing.TO_LENS):
    return replace(
        shown(), head_frac=head, face_frac=face, figure_frac=figure, head_yaw_deg=yaw, facing=facing
    )


def told(head, face, figure, yaw=0.0):
    """The head height that three readings tell, written out: weights 0.4, 0.3 and 0.3."""
    rows = ((head, 1.0, 0.160, -0.00405, 0.4), (face, 0.066 / 0.130, 0.024, -0.00247, 0.3),
            (figure, 1 / 0.130, -0.006, -0.00118, 0.3))  # fmt: skip
    known = [row for row in rows if row[0] is not None]
    summed = sum(w * (math.log(value / of) - off - by * yaw) for value, of, off, by, w in known)
    return math.exp(summed / sum(row[4] for row in known))


@pytest.mark.parametrize(
    ("readings", "yaw"),
    [((0.3, 0.2, 1.5), 0.0), ((0.3, 0.2, 1.5), 60.0), ((0.3, None, 1.5), 100.0),
     ((None, 0.2, None), 30.0), ((0.3, 0.2, None), -80.0)],
)  # fmt: skip
def test_a_size_is_the_weighed_mean_of_what_shows(readings, yaw) -> None:
    person = read(head=readings[0], face=readings[1], figure=readings[2], yaw=yaw)
    assert shown_size(person) == pytest.approx(told(*readings, yaw=abs(yaw)))


@pytest.mark.parametrize(
    ("yaw", "facing"),
    [(100.1, Facing.PROFILE), (0.0, Facing.AWAY), (0.0, None), (170.0, Facing.AWAY)],
)
def test_without_a_face_the_body_alone_tells(yaw, facing) -> None:
    person = read(head=0.3, face=0.2, figure=1.5, yaw=yaw, facing=facing)
    assert shown_size(person) == pytest.approx(told(None, None, 1.5, yaw=min(yaw, 100.0)))
    assert shown_size(replace(person, figure_frac=None)) is None


def test_both_sizes_are_told_by_what_both_show() -> None:
    """Two faces: all readings; a face and a back: the bodies; else each by what it has."""
    one, other = read(head=0.2, face=0.1, figure=1.0), read(head=0.4, face=0.2, figure=1.5)
    three = told(0.4, 0.2, 1.5) / told(0.2, 0.1, 1.0)
    assert size_ratio(one, other) == pytest.approx(three)
    assert three != pytest.approx(1.5)
    back = replace(other, facing=Facing.AWAY)
    assert size_ratio(one, back) == pytest.approx(1.5)
    assert size_ratio(back, one) == pytest.approx(1 / 1.5)
    head, body = read(head=0.2), read(figure=1.5)
    expected = told(None, None, 1.5) / told(0.2, None, None)
    assert size_ratio(head, body) == pytest.approx(expected)
    nothing = NotMeasured(reason="no head and no body could be measured")
    assert size_ratio(head, read()) == nothing
    assert size_ratio(read(), head) == nothing


def test_why_an_angle_is_not_told() -> None:
    blind = replace(shown(), head_yaw_deg=None, body_yaw_deg=None)
    reason = NotMeasured(reason="no turn of head or body could be measured")
    assert angle_change_deg(blind, shown()) == reason
    assert angle_change_deg(shown(), blind) == reason
    head = replace(shown(yaw=10.0), body_yaw_deg=None)
    body = replace(shown(yaw=10.0, body=70.0), head_yaw_deg=None)
    assert angle_change_deg(head, replace(shown(yaw=50.0), body_yaw_deg=None)) == pytest.approx(40)
    assert angle_change_deg(body, shown(yaw=0.0, body=50.0)) == pytest.approx(20)
    assert angle_change_deg(head, body) == reason
