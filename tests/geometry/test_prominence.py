"""Who draws the eye, and how likely each is to be the one that a picture is about."""

import pytest

from framecheck.geometry.prominence import BACK_WEIGHT, prominence_of, subject_shares
from framecheck.records.values import Box

PICTURE = Box(x_px=0, y_px=0, w_px=1000, h_px=500)


def test_a_face_in_the_middle_draws_as_its_head_is_large() -> None:
    assert prominence_of(0.2, 500, PICTURE, face_share=1.0) == pytest.approx(0.2)
    assert prominence_of(0.2, 500, PICTURE, face_share=0.0) == pytest.approx(0.2 * BACK_WEIGHT)
    assert prominence_of(0.2, 900, PICTURE, face_share=1.0) < 0.2


def test_a_doubtful_face_draws_in_between() -> None:
    """Half a face counts half-way from a back, 0.3, to a face, 1."""
    assert prominence_of(0.2, 500, PICTURE, face_share=0.5) == pytest.approx(0.2 * 0.65)


def test_the_shares_add_up_and_equals_share_alike() -> None:
    assert subject_shares([0.2]) == (1.0,)
    assert subject_shares([0.2, 0.2]) == (0.5, 0.5)
    assert subject_shares([0.0, 0.0]) == (0.5, 0.5)
    assert sum(subject_shares([0.3, 0.2, 0.1])) == pytest.approx(1.0)


def test_three_quarters_as_prominent_is_the_subject_one_time_in_four() -> None:
    assert subject_shares([1.0, 0.75])[1] == pytest.approx(0.24, abs=0.01)
