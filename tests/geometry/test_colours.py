"""Colours as people tell them apart."""

import numpy as np
import pytest

from framecheck.geometry.colours import lab_from_srgb, two_colours


@pytest.mark.parametrize(
    ("rgb", "lab"),
    [
        ((255, 255, 255), (100.0, 0.0, 0.0)),
        ((0, 0, 0), (0.0, 0.0, 0.0)),
        ((255, 0, 0), (53.24, 80.09, 67.20)),
        ((0, 255, 0), (87.73, -86.18, 83.18)),
        ((0, 0, 255), (32.30, 79.19, -107.86)),
        ((119, 119, 119), (50.03, 0.0, 0.0)),
    ],
)
def test_colours_of_known_lab_values(rgb, lab) -> None:
    """Values of sRGB's primaries under D65 as colour handbooks table them."""
    assert lab_from_srgb(np.array([rgb], np.uint8))[0] == pytest.approx(lab, abs=0.03)


def test_it_agrees_with_another_library() -> None:
    colour = pytest.importorskip("skimage.color")
    rgb = np.random.default_rng(5).integers(0, 256, (300, 3)).astype(np.uint8)
    assert lab_from_srgb(rgb) == pytest.approx(colour.rgb2lab(rgb[None])[0], abs=0.02)


def test_two_colours_of_a_striped_part() -> None:
    red, white = np.array([40.0, 60.0, 30.0]), np.array([95.0, 0.0, 0.0])
    means, shares = two_colours(np.array([red] * 30 + [white] * 70))
    assert shares == pytest.approx([0.7, 0.3])
    assert means[0] == pytest.approx(white)
    assert means[1] == pytest.approx(red)


def test_one_colour_is_told_twice() -> None:
    means, shares = two_colours(np.array([[50.0, 5.0, 5.0]] * 9))
    assert means[0] == pytest.approx(means[1])
    assert shares.sum() == pytest.approx(1.0)


def test_the_order_of_the_samples_does_not_matter() -> None:
    samples = np.random.default_rng(1).normal(50, 20, (80, 3))
    one, shares = two_colours(samples)
    other, _ = two_colours(samples[::-1])
    assert one == pytest.approx(other)
    assert shares[0] >= shares[1]
