"""Distances and likeness of frames that are known."""

import numpy as np
import pytest

from framecheck.shots.history import History
from framecheck.shots.signature import sign


def grey(luma: np.ndarray) -> np.ndarray:
    frame = np.full((72, 128, 3), 128, np.uint8)
    frame[..., 0] = luma
    return frame


def a_history(*lumas: np.ndarray) -> History:
    history = History(len(lumas))
    for luma in lumas:
        history.add(sign(grey(luma)))
    return history


def test_the_distance_of_two_flat_frames_is_their_difference_in_levels() -> None:
    history = a_history(np.full((72, 128), 100), np.full((72, 128), 130))
    assert history.distance(0, 1) == pytest.approx(30.0)


def test_frames_are_alike_whatever_the_light_and_opposite_when_turned_over() -> None:
    ramp = np.tile(np.linspace(40, 200, 128), (72, 1)).round()
    history = a_history(ramp, ramp // 2, 240 - ramp, np.full((72, 128), 90))
    assert history.alike(0, 1) == pytest.approx(1.0, abs=0.001)
    assert history.alike(0, 2) == pytest.approx(-1.0, abs=0.001)
    assert history.alike(0, 3) == 1.0  # a flat frame has nothing to differ by
