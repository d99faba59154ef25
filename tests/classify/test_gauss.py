from __future__ import annotations

import math

import pytest

from framecheck.classify.gauss import mass_between, tailed_mass_between


@pytest.mark.parametrize(
    ("low", "high", "share"),
    [
        pytest.param(-math.inf, math.inf, 1.0, id="everything"),
        pytest.param(0.0, math.inf, 0.5, id="upper half"),
        pytest.param(-1.0, 1.0, 0.6827, id="one standard deviation"),
        pytest.param(-2.0, 2.0, 0.9545, id="two standard deviations"),
    ],
)
def test_share_is_that_of_the_normal_table(low: float, high: float, share: float) -> None:
    assert mass_between(0.0, 1.0, low, high) == pytest.approx(share, abs=5e-5)


@pytest.mark.parametrize(("mean", "share"), [(0.0, 1.0), (0.5, 1.0), (1.0, 0.0), (-0.1, 0.0)])
def test_an_exact_reading_lies_in_or_out_of_the_half_open_range(mean: float, share: float) -> None:
    assert mass_between(mean, 0.0, 0.0, 1.0) == share


def test_a_share_never_turns_negative() -> None:
    assert mass_between(0.0, 1.0, 5.0, 40.0) >= 0
    assert mass_between(0.0, 1.0, 8.3, 8.4) == pytest.approx(0, abs=1e-12)


def test_one_in_ten_is_three_times_as_far_off() -> None:
    """Within one standard deviation: 0.9 x 0.6827 and 0.1 x 0.2611 (a third of one)."""
    assert tailed_mass_between(0.0, 1.0, -1.0, 1.0) == pytest.approx(0.6405, abs=1e-4)
    assert tailed_mass_between(0.0, 1.0, -math.inf, math.inf) == pytest.approx(1.0)


def test_a_reading_far_from_a_border_is_less_sure_than_a_gaussian_has_it() -> None:
    """2.5 standard deviations over it: 0.9 x 0.00621 and 0.1 x 0.20233 lie below."""
    assert tailed_mass_between(2.5, 1.0, -math.inf, 0.0) == pytest.approx(0.02582, abs=1e-4)
    assert tailed_mass_between(0.2, 0.0, 0.0, 1.0) == 1.0
