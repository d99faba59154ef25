"""Size and angle from one picture to another."""

import math

import pytest

from framecheck.coverage.changes import angle_change_deg, shown_size, size_ratio
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
