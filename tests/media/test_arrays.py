from __future__ import annotations

import numpy as np
import pytest

from framecheck.media.arrays import picture_from_array
from tests.media.builders import a_scene, assert_like, wide


@pytest.mark.parametrize(
    ("array", "expected"),
    [
        (a_scene(), a_scene()),
        (wide(a_scene(), 16), a_scene()),
        (a_scene() / 255, a_scene()),
        ((a_scene() / 255).astype(np.float32), a_scene()),
        ((a_scene() / 255).astype(np.float16), a_scene()),
        (a_scene()[..., 0], np.repeat(a_scene()[..., :1], 3, axis=2)),
        (np.dstack([a_scene(), np.full((64, 96), 255, np.uint8)]), a_scene()),
    ],
    ids=["uint8", "uint16", "float64", "float32", "float16", "grey", "alpha"],
)
def test_arrays(array, expected):
    assert_like(picture_from_array(array, "mine"), expected, 1)
    assert picture_from_array(array, "mine").name == "mine"


def test_an_rgb_array_is_not_copied_and_stays_writable():
    scene = a_scene()
    picture = picture_from_array(scene)
    assert np.shares_memory(picture.rgb, scene)
    assert not picture.rgb.flags.writeable
    assert scene.flags.writeable


@pytest.mark.parametrize(
    ("array", "words"),
    [
        ([[1, 2]], "NumPy array"),
        (np.zeros((64, 96, 2), np.uint8), "expected shape"),
        (np.zeros(64, np.uint8), "expected shape"),
        (np.zeros((15, 96, 3), np.uint8), "at least 16"),
        (np.zeros((0, 0, 3), np.uint8), "at least 16"),
        (np.zeros((64, 96), bool), "uint8, uint16 or float"),
        (np.zeros((64, 96), np.int32), "uint8, uint16 or float"),
        (np.full((64, 96), 200.0), r"floats in 0\.\.1"),
        (np.full((64, 96), np.nan), r"floats in 0\.\.1"),
        (np.full((64, 96), -0.5), r"floats in 0\.\.1"),
    ],
    ids=["list", "2 channels", "1 axis", "small", "none", "bool", "int32", "255", "nan", "< 0"],
)
def test_wrong_arrays(array, words):
    with pytest.raises(ValueError, match=words):
        picture_from_array(array)
