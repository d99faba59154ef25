"""Head angles and colours: turned, mirrored, scaled, and against exact arithmetic."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from framecheck.geometry.angles import (
    angles_from_axes,
    angles_from_mesh,
    mean_direction,
    wrap_deg,
)
from framecheck.geometry.colours import lab_from_srgb, two_colours
from tests.measure.figures import a_mesh, turned
from tests.steady import STEADY

YAWS, PITCHES = st.floats(-179, 179), st.floats(-88, 88)
AXES = np.eye(3)
MIRROR = np.array([-1.0, 1.0, 1.0])


def gap_deg(one, other):
    return abs((one - other + 180) % 360 - 180)


def axes(yaw, pitch, roll=0.0):
    """The head's own axes, after it was rolled, raised and turned."""
    across, down, _ = turned(AXES, yaw_deg=yaw, pitch_deg=pitch, roll_deg=roll)
    return across, down


@STEADY
@given(YAWS, PITCHES)
def test_a_turned_and_raised_head_reads_its_angles(yaw, pitch) -> None:
    across, down = axes(yaw, pitch)
    found = angles_from_axes(across, down)
    assert gap_deg(found[0], yaw) < 1e-6
    assert found[1] == pytest.approx(pitch, abs=1e-6)


@STEADY
@given(YAWS, PITCHES, st.floats(-80, 80))
def test_a_mirror_turns_yaw_and_roll_about(yaw, pitch, roll) -> None:
    """The right of the face is the left of its image, so that its axis points the other way."""
    across, down = axes(yaw, pitch, roll)
    found = angles_from_axes(across, down)
    mirrored = angles_from_axes(-MIRROR * across, MIRROR * down)
    assert gap_deg(mirrored[0], -found[0]) < 1e-6
    assert mirrored[1] == pytest.approx(found[1], abs=1e-6)
    assert gap_deg(mirrored[2], -found[2]) < 1e-6


@STEADY
@given(YAWS, PITCHES, st.floats(-80, 80), st.floats(-170, 170))
def test_turning_the_picture_turns_the_roll(yaw, pitch, roll, turn) -> None:
    across, down = axes(yaw, pitch, roll)
    assume(math.hypot(down[0], down[1]) > 1e-3)  # seen along the axis a roll has no meaning
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    clockwise = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    found = angles_from_axes(across, down)
    again = angles_from_axes(clockwise @ across, clockwise @ down)
    assert gap_deg(again[2], found[2] + turn) < 1e-6


@STEADY
@given(YAWS, PITCHES, st.floats(0.01, 50), st.floats(0.01, 50))
def test_the_lengths_of_the_axes_do_not_count(yaw, pitch, one, other) -> None:
    across, down = axes(yaw, pitch)
    longer = angles_from_axes(one * across, other * down)
    assert longer == pytest.approx(angles_from_axes(across, down), abs=1e-6)


def test_axes_that_tell_nothing_read_as_nothing() -> None:
    yaw, pitch, roll = angles_from_axes(np.zeros(3), np.zeros(3))
    assert all(map(math.isfinite, (yaw, pitch, roll)))
    assert pitch == 0
    # nearly one axis: the cross product is tiny, and still is a direction
    yaw, pitch, _ = angles_from_axes(np.array([1e-4, 0, 0]), np.array([0, 1e-4, 0]))
    assert (yaw, pitch) == pytest.approx((0, 0), abs=1e-6)


POINTS = st.lists(st.tuples(*[st.integers(-50, 50).map(float)] * 3), min_size=4, max_size=4).map(
    np.array
)
PAIRS = ((0, 1), (2, 3))


@STEADY
@given(POINTS, st.sampled_from([1 / 256, 2.0, 64.0]), st.integers(-9, 9))
def test_a_mean_direction_is_a_unit_that_knows_no_scale_and_place(points, scale, shift) -> None:
    lengths = [np.linalg.norm(points[b] - points[a]) for a, b in PAIRS]
    assume(min(lengths) > 0)
    units = [(points[b] - points[a]) / n for (a, b), n in zip(PAIRS, lengths, strict=True)]
    assume(np.linalg.norm(sum(units)) > 1e-6)
    found = mean_direction(points, PAIRS)
    assert np.linalg.norm(found) == pytest.approx(1)
    assert found == pytest.approx(sum(units) / np.linalg.norm(sum(units)))
    assert mean_direction(scale * points + shift, PAIRS) == pytest.approx(found)
    assert mean_direction(points, ((1, 0), (3, 2))) == pytest.approx(-found)


def test_directions_that_cancel_are_none() -> None:
    points = np.array([[0, 0, 0], [1.0, 0, 0]])
    assert mean_direction(points, ((0, 1), (1, 0))) == pytest.approx(np.zeros(3))
    assert mean_direction(points, ((0, 0),)) == pytest.approx(np.zeros(3))


@STEADY
@given(st.floats(-60, 60), st.floats(-30, 30), st.sampled_from([0.25, 3.0]), st.integers(-99, 99))
def test_a_mesh_knows_no_scale_and_place(yaw, pitch, scale, shift) -> None:
    mesh = a_mesh(yaw_deg=yaw, pitch_deg=pitch)
    assert angles_from_mesh(scale * mesh + shift) == pytest.approx(angles_from_mesh(mesh), abs=1e-6)


@STEADY
@given(st.floats(-1e5, 1e5))
def test_wrapping_agrees_with_exact_arithmetic(angle) -> None:
    exact = 180 - (180 - Fraction(angle)) % 360
    assert -180 < exact <= 180
    assert gap_deg(wrap_deg(angle), float(exact)) < 1e-9
    assert -180 < wrap_deg(angle) <= 180
    assert wrap_deg(wrap_deg(angle)) == wrap_deg(angle)


@pytest.mark.parametrize(("angle", "wrapped"), [(180.0, 180.0), (-180.0, 180.0), (540.0, 180.0)])
def test_half_a_turn_is_positive(angle, wrapped) -> None:
    assert wrap_deg(angle) == wrapped


LEVELS = st.integers(0, 255)
COLOURS = st.lists(
    st.tuples(*[st.integers(-100, 100).map(float)] * 3), min_size=1, max_size=40
).map(np.array)


@STEADY
@given(LEVELS)
def test_greys_have_no_colour_and_get_lighter(level) -> None:
    light, red, yellow = lab_from_srgb(np.array([[level] * 3], np.uint8))[0]
    assert (red, yellow) == pytest.approx((0, 0), abs=0.02)
    assert 0 <= light + 1e-9 <= 100 + 1e-6
    if level < 255:
        assert lab_from_srgb(np.array([[level + 1] * 3], np.uint8))[0, 0] > light


@STEADY
@given(st.tuples(LEVELS, LEVELS, LEVELS))
def test_lab_agrees_with_the_formulas_written_out(rgb) -> None:
    """IEC 61966-2-1 and CIE 15, one colour at a time, with the standard's kappa and epsilon."""
    linear = [
        c / 255 / 12.92 if c / 255 <= 0.04045 else ((c / 255 + 0.055) / 1.055) ** 2.4 for c in rgb
    ]
    rows = ((0.4124564, 0.3575761, 0.1804375), (0.2126729, 0.7151522, 0.0721750),
            (0.0193339, 0.1191920, 0.9503041))  # fmt: skip
    f = []
    for row in rows:
        ratio = sum(a * b for a, b in zip(row, linear, strict=True)) / sum(row)
        f.append(ratio ** (1 / 3) if ratio > 216 / 24389 else (24389 / 27 * ratio + 16) / 116)
    expected = (116 * f[1] - 16, 500 * (f[0] - f[1]), 200 * (f[1] - f[2]))
    assert lab_from_srgb(np.array([rgb], np.uint8))[0] == pytest.approx(expected, abs=1e-6)


@STEADY
@given(COLOURS)
def test_two_colours_together_weigh_what_all_do(colours) -> None:
    means, shares = two_colours(colours)
    assert shares.sum() == pytest.approx(1)
    assert shares[0] >= shares[1] >= 0
    assert shares @ means == pytest.approx(colours.mean(axis=0), abs=1e-6)
    assert (means >= colours.min(axis=0) - 1e-9).all()
    assert (means <= colours.max(axis=0) + 1e-9).all()


@STEADY
@given(
    st.integers(1, 30),
    st.integers(1, 30),
    st.tuples(*[st.integers(-40, 40)] * 3),
    st.integers(0, 2),
)
def test_two_groups_far_apart_are_told_apart(many, few, middle, axis) -> None:
    assume(many != few)
    far = np.array(middle, float)
    far[axis] += 60
    drawn = np.random.default_rng(many * 31 + few)
    one = np.array(middle) + drawn.uniform(-3, 3, (many, 3))
    other = far + drawn.uniform(-3, 3, (few, 3))
    means, shares = two_colours(drawn.permutation(np.concatenate([one, other])))
    larger, smaller = sorted((one, other), key=len, reverse=True)
    assert shares == pytest.approx([len(larger) / (many + few), len(smaller) / (many + few)])
    assert means[0] == pytest.approx(larger.mean(axis=0))
    assert means[1] == pytest.approx(smaller.mean(axis=0))


@pytest.mark.parametrize("seed", range(12))
def test_colours_moved_and_scaled_give_the_two_moved_and_scaled(seed) -> None:
    colours = np.random.default_rng(seed).normal(0, 20, (41, 3))
    means, shares = two_colours(colours)
    for scale, shift in ((1 / 64, (0, 0, 0)), (1, (300, -200, 100)), (2, (-50, 10, 0))):
        again, told = two_colours(scale * colours + np.array(shift))
        assert again == pytest.approx(scale * means + np.array(shift), abs=1e-6)
        assert told == pytest.approx(shares)


@pytest.mark.parametrize("seed", range(6))
def test_of_two_alike_shares_the_lower_comes_first(seed) -> None:
    """Along the line between them, upwards in what differs most: the same in every order."""
    low, high = np.array([[51.0, 0, -30]] * 8), np.array([[50.0, 0, 30]] * 8)
    mixed = np.random.default_rng(seed).permutation(np.concatenate([low, high]))
    means, shares = two_colours(mixed)
    assert shares == pytest.approx([0.5, 0.5])
    assert means == pytest.approx(np.array([low[0], high[0]]))


def test_what_lies_in_the_middle_goes_with_the_lower() -> None:
    means, shares = two_colours(np.array([[-1.0, 0, 0], [0, 0, 0], [1, 0, 0]]))
    assert means == pytest.approx(np.array([[-0.5, 0, 0], [1, 0, 0]]))
    assert shares == pytest.approx([2 / 3, 1 / 3])


# Rows of the 468-point face mesh: corners of the eyes, in front of the ears and corners of the
# mouth from the subject's right to its left; forehead to chin, and two shorter lines on it.
ACROSS = ((33, 263), (133, 362), (234, 454), (61, 291))
DOWN = ((10, 152), (151, 199), (9, 17))


@pytest.mark.parametrize("seed", range(8))
def test_a_mesh_is_read_along_its_own_lines_alone(seed) -> None:
    drawn = np.random.default_rng(seed)
    mesh = drawn.normal(0, 50, (468, 3))
    expected = angles_from_axes(mean_direction(mesh, ACROSS), mean_direction(mesh, DOWN))
    assert angles_from_mesh(mesh) == pytest.approx(expected)
    rows = {row for pair in ACROSS + DOWN for row in pair}
    others = [row for row in range(468) if row not in rows]
    mesh[others] = drawn.normal(0, 500, (len(others), 3))
    assert angles_from_mesh(mesh) == pytest.approx(expected)
