"""Head angles and their signs: yaw to the viewer's right, pitch up, roll clockwise."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.geometry.angles import (
    angles_from_axes,
    angles_from_mesh,
    mean_direction,
    wrap_deg,
)
from tests.measure.figures import a_mesh

X, Y = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])


def test_into_the_lens_is_nothing() -> None:
    assert angles_from_axes(X, Y) == pytest.approx((0.0, 0.0, 0.0))


@pytest.mark.parametrize("yaw_deg", [-150, -90, -30, 30, 60, 90, 179])
def test_yaw_is_positive_to_the_viewers_right(yaw_deg) -> None:
    turn = math.radians(yaw_deg)
    across = np.array([math.cos(turn), 0.0, math.sin(turn)])
    assert angles_from_axes(across, Y)[0] == pytest.approx(yaw_deg)


def test_pitch_is_positive_looking_up() -> None:
    """The chin comes towards the lens (z falls) when the head is raised."""
    down = np.array([0.0, math.cos(0.3), -math.sin(0.3)])
    assert angles_from_axes(X, down)[1] == pytest.approx(math.degrees(0.3))


def test_roll_is_positive_clockwise() -> None:
    """A head leaning to the viewer's right has its chin to the left of its forehead."""
    across = np.array([math.cos(0.2), math.sin(0.2), 0.0])
    down = np.array([-math.sin(0.2), math.cos(0.2), 0.0])
    assert angles_from_axes(across, down)[2] == pytest.approx(math.degrees(0.2))


def test_directions_are_averaged_whatever_their_lengths() -> None:
    points = np.array([[0, 0, 0], [10, 0, 0], [0, 0, 0], [0, 1, 0]], float)
    assert mean_direction(points, ((0, 1), (2, 3))) == pytest.approx(
        [math.sqrt(0.5), math.sqrt(0.5), 0.0]
    )


@pytest.mark.parametrize(
    ("angle_deg", "wrapped_deg"),
    [(0, 0), (180, 180), (-180, 180), (181, -179), (-181, 179), (540, 180), (720, 0), (-725, -5)],
)
def test_wrapping(angle_deg, wrapped_deg) -> None:
    assert wrap_deg(angle_deg) == pytest.approx(wrapped_deg)


@given(st.floats(-1e4, 1e4), st.integers(-5, 5))
def test_whole_turns_change_nothing(angle_deg, turns) -> None:
    wrapped = wrap_deg(angle_deg)
    assert -180 < wrapped <= 180
    gap = abs(wrap_deg(angle_deg + 360 * turns) - wrapped)
    assert min(gap, 360 - gap) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(("yaw_deg", "pitch_deg"), [(0, 0), (40, 0), (0, 15), (-30, -10)])
def test_a_mesh_gives_the_angles_of_its_own_lines(yaw_deg, pitch_deg) -> None:
    mesh = a_mesh(yaw_deg=yaw_deg, pitch_deg=pitch_deg, px_per_mm=3.0)
    assert angles_from_mesh(mesh)[:2] == pytest.approx((yaw_deg, pitch_deg), abs=1e-6)
