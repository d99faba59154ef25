"""Builds pictures and files for the tests of this folder."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np
from PIL import Image

# four patches: every turn and mirroring puts them in another order
PATCHES = {"nw": (220, 40, 40), "ne": (40, 200, 40), "sw": (40, 40, 220), "se": (230, 230, 60)}


def a_scene(width: int = 96, height: int = 64) -> np.ndarray:
    pixels = np.zeros((height, width, 3), np.uint8)
    top, left = slice(0, height // 2), slice(0, width // 2)
    low, right = slice(height // 2, None), slice(width // 2, None)
    pixels[top, left], pixels[top, right] = PATCHES["nw"], PATCHES["ne"]
    pixels[low, left], pixels[low, right] = PATCHES["sw"], PATCHES["se"]
    return pixels


def a_file(folder: Path, name: str, image: Image.Image, **options: object) -> Path:
    path = folder / name
    image.save(path, **options)
    return path


def a_cv2_file(folder: Path, name: str, pixels: np.ndarray, *options: int) -> Path:
    path = folder / name
    order = pixels if pixels.ndim == 2 else pixels[..., [2, 1, 0, 3][: pixels.shape[2]]]
    path.write_bytes(cv2.imencode(path.suffix, order, options)[1].tobytes())
    return path


def assert_like(picture, expected, within: int) -> None:
    assert picture.rgb.shape == expected.shape
    assert picture.rgb.dtype == np.uint8
    assert np.abs(picture.rgb.astype(int) - expected).max() <= within


def wide(pixels: np.ndarray, bits: int) -> np.ndarray:
    return (pixels.astype(np.uint32) * ((1 << bits) - 1) // 255).astype(np.uint16)


NOISE = np.random.default_rng(7).integers(0, 255, (120, 160, 3)).astype(np.uint8)
