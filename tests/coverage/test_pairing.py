"""Who of one picture is who in another, worked out by hand."""

import math

import pytest

from framecheck.coverage.pairing import odds_of_pair


def test_two_people_alone_are_as_alike_as_they_are() -> None:
    assert odds_of_pair([[1.5]], (0, 0)) == pytest.approx(1.5)


def test_somebody_who_is_like_nobody_changes_nothing() -> None:
    assert odds_of_pair([[1.5, -50.0]], (0, 0)) == pytest.approx(1.5)


def test_who_is_another_is_not_this_one() -> None:
    """Even odds for both of two: one way each, and one with neither, so one in three."""
    assert odds_of_pair([[0.0, 0.0]], (0, 0)) == pytest.approx(math.log(1 / 2))


def test_two_and_two() -> None:
    """Odds e^1 straight and e^2 across: straight e (1 + e), else 1 + e + 2 e^2 + e^4."""
    e = math.e
    odds = [[1.0, 2.0], [2.0, 1.0]]
    told = odds_of_pair(odds, (0, 0))
    assert told == pytest.approx(math.log(e * (1 + e) / (1 + e + 2 * e**2 + e**4)))
    assert odds_of_pair(odds, (0, 1)) > 0 > told


def test_the_order_of_people_does_not_matter() -> None:
    odds = [[1.0, -2.0, 0.5], [0.3, 2.0, -1.0]]
    swapped = [row[::-1] for row in odds[::-1]]
    assert odds_of_pair(odds, (0, 1)) == pytest.approx(odds_of_pair(swapped, (1, 1)))
