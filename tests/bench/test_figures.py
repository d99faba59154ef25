"""The arithmetic of the bench: medians, noise, aims and exponents, by hand and on known curves."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.bench.figures import (
    LEAST_NOISE,
    Figure,
    fit_curve,
    middle_and_noise,
    ratio_figure,
)
from framecheck.bench.memory import slope_mb


@pytest.mark.parametrize(
    ("aim", "value", "met"),
    [
        ("<= 1.3", 1.3, True),
        ("<= 1.3", 1.31, False),
        (">= 0.8", 0.8, True),
        (">= 0.8", 0.79, False),
        ("", 5.0, None),
        (">= 0.8", math.nan, None),
    ],
)
def test_an_aim_is_met_up_to_its_border(aim, value, met) -> None:
    assert Figure(name="a", value=value, aim=aim).met is met


def test_the_middle_of_repeats_does_not_follow_one_that_was_disturbed() -> None:
    middle, noise = middle_and_noise([1.0, 1.1, 9.0])
    assert middle == 1.1
    # Sample standard deviation of 1, 1.1, 9 over the root of three.
    assert noise == pytest.approx(4.590207 / math.sqrt(3), rel=1e-6)


def test_equal_repeats_still_have_some_noise() -> None:
    assert middle_and_noise([2.0, 2.0]) == (2.0, LEAST_NOISE * 2.0)
    assert middle_and_noise([3.0]) == (3.0, LEAST_NOISE * 3.0)


def test_no_repeats_have_no_middle() -> None:
    with pytest.raises(ValueError, match="no repeats"):
        middle_and_noise([])


def test_a_ratio_is_that_of_each_round() -> None:
    """The machine was three times slower in the second round; the ratio does not see it."""
    figure = ratio_figure("a", [1.3, 3.9, 1.3], [1.0, 3.0, 1.0], aim="<= 1.3")
    assert figure.value == pytest.approx(1.3)
    assert figure.noise == pytest.approx(LEAST_NOISE * 1.3)


def test_a_ratio_takes_as_many_rounds_of_both() -> None:
    with pytest.raises(ValueError, match="zip"):
        ratio_figure("a", [1.0, 2.0], [1.0])


@given(exponent=st.floats(-2, 3), factor=st.floats(0.01, 100), start=st.floats(0.5, 20))
def test_the_exponent_of_a_power_is_found(exponent, factor, start) -> None:
    x = [start, 2 * start, 4 * start, 8 * start]
    curve = fit_curve("a", "frames", x, [factor * value**exponent for value in x])
    assert curve.exponent == pytest.approx(exponent, abs=1e-6)
    assert curve.noise == pytest.approx(0, abs=1e-6)


def test_the_noise_of_an_exponent_by_hand() -> None:
    """log2 x = 0, 1, 2 and log2 y = 0, 2, 2: slope 1, left over -1/3, 2/3, -1/3, one freedom."""
    curve = fit_curve("a", "frames", [1, 2, 4], [1, 4, 4])
    assert curve.exponent == pytest.approx(1.0)
    assert curve.noise == pytest.approx(math.sqrt((1 + 4 + 1) / 9 / 2))


@pytest.mark.parametrize(
    ("x", "y"), [([1, 2], [1, 2]), ([0, 1, 2], [1, 1, 1]), ([1, 2, 3], [1, 0, 1])]
)
def test_too_few_points_and_zeros_give_no_exponent(x, y) -> None:
    with pytest.raises(ValueError, match="three points"):
        fit_curve("a", "frames", x, y)


def test_a_leak_of_two_megabytes_a_round_is_seen() -> None:
    slope, noise = slope_mb([100.0, 102.0, 104.0, 106.0])
    assert slope == pytest.approx(2.0)
    assert noise == pytest.approx(0.0, abs=1e-9)


def test_memory_that_swings_is_no_leak() -> None:
    slope, noise = slope_mb([100.0, 104.0, 100.0, 104.0, 100.0])
    assert slope == pytest.approx(0.0, abs=1e-9)
    assert noise > 0.5


def test_two_rounds_tell_no_slope() -> None:
    with pytest.raises(ValueError, match="three steps"):
        slope_mb([1.0, 2.0])
