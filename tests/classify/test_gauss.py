from __future__ import annotations

import math

import pytest

from framecheck.classify.gauss import mass_between


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
