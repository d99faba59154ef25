"""Whether two fields show two moments."""

import numpy as np
import pytest

from framecheck.media.clip_fields import COMB_LEVELS, is_combed


def a_bar(*, moves_px=0, height=288, contrast=100):
    lines = np.full((height, 320), 60, np.uint8)
    lines[:, 100:160] += contrast
    if moves_px:
        lines[1::2] = np.roll(lines[1::2], moves_px, axis=1)
    return lines


@pytest.mark.parametrize(
    ("lines", "combed"),
    [
        pytest.param(a_bar(), False, id="one moment"),
        pytest.param(a_bar(moves_px=8), True, id="two moments"),
        pytest.param(a_bar(moves_px=-5), True, id="two moments, the other way"),
        pytest.param(a_bar(moves_px=8, contrast=15), False, id="too faint to be seen"),
        pytest.param(np.kron([[40], [200]] * 72, np.ones((2, 320))).astype(int), False,
                     id="stripes two lines high"),
        pytest.param(np.array([[40], [200]] * 72) * np.ones((1, 320), int), True,
                     id="stripes one line high are taken for it"),
        pytest.param(a_bar(moves_px=8)[:8, 90:120], True, id="smaller than a square"),
    ],
)  # fmt: skip
def test_lines_that_differ_from_both_neighbours_are_two_moments(lines, combed):
    assert is_combed(lines, COMB_LEVELS) is combed


def test_grain_is_not_taken_for_movement():
    noise = np.random.default_rng(100).normal(0, 6, (288, 320))
    assert not is_combed((a_bar() + noise).round().astype(int), COMB_LEVELS)
