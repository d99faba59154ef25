"""Procedural textures: cloth, hair, planks, plaster, brick, ground, sky."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from sample_frames.stage.bodies import Floats
from sample_frames.stage.looks import Cloth
from sample_frames.stage.skin_paint import noise

Image = NDArray[np.uint8]
Colour = tuple[int, int, int]

# A cloth tile covers this much of the body.
TILE_M = 0.5


def _finish(sheet: Floats) -> Image:
    return sheet.clip(0, 255).astype(np.uint8)


def _plain(colour: Colour, shape: tuple[int, int]) -> Floats:
    sheet = np.empty((*shape, 3), np.float32)
    sheet[:] = colour
    return sheet


def weave(cloth: Cloth, rng: np.random.Generator, size_px: int = 512) -> Image:
    """Return a tile of cloth with its pattern, a weave and soft stains."""
    sheet = _plain(cloth.colour, (size_px, size_px))
    axis = np.arange(size_px) / size_px * TILE_M
    row, column = np.meshgrid(axis, axis, indexing="ij")
    second = np.asarray(cloth.second, np.float32)
    if cloth.pattern == "stripes":
        sheet[(row % 0.05) < 0.018] = second
    elif cloth.pattern == "check":
        for value in (row, column):
            sheet[(value % 0.0625) < 0.014] = 0.5 * sheet[(value % 0.0625) < 0.014] + 0.5 * second
    elif cloth.pattern == "knit":
        sheet *= (1 + 0.10 * np.sin(row * 900) * np.sin(column * 450))[..., None]
    elif cloth.pattern == "dots":
        sheet[np.hypot((row % 0.05) - 0.025, (column % 0.05) - 0.025) < 0.007] = second
    sheet *= (1 + 0.05 * noise((size_px, size_px), 2, rng))[..., None]
    return _finish(sheet * (1 + 0.06 * noise((size_px, size_px), 60, rng))[..., None])


def strands(colour: Colour, rng: np.random.Generator) -> Image:
    """Return hair: fine streaks along the image's vertical."""
    fine = cv2.resize(rng.normal(0, 1, (12, 512)).astype(np.float32), (512, 512))
    wide = noise((512, 512), 48, rng)
    return _finish(_plain(colour, (512, 512)) * (1 + 0.16 * fine + 0.10 * wide)[..., None])


def ribs(colour: Colour, rng: np.random.Generator) -> Image:
    """Return ribbed knitwear, ribs along the image's vertical."""
    wave = np.sin(np.arange(512) / 512 * 2 * np.pi * 40)[None, :]
    grain = noise((512, 512), 3, rng)
    return _finish(_plain(colour, (512, 512)) * (1 + 0.14 * wave + 0.08 * grain)[..., None])


def plaster(colour: Colour, rng: np.random.Generator, *, fade: float = 0.25) -> Image:
    """Return a painted wall, darker to one side and mottled."""
    shape = (512, 1024)
    ramp = np.linspace(-fade, fade, shape[1], dtype=np.float32)[None, :]
    if rng.random() < 0.5:
        ramp = -ramp
    shade = 1 + ramp + 0.06 * noise(shape, 120, rng) + 0.02 * noise(shape, 4, rng)
    return _finish(_plain(colour, shape) * shade[..., None])


def paper(colour: Colour, second: Colour, rng: np.random.Generator) -> Image:
    """Return a papered wall with broad stripes."""
    sheet = _plain(colour, (512, 1024))
    sheet[:, (np.arange(1024) % 64) < 26] = second
    return _finish(sheet * (1 + 0.05 * noise((512, 1024), 90, rng))[..., None])


def planks(
    colour: Colour, rng: np.random.Generator, *, boards: int = 14, upright: bool = False
) -> Image:
    """Return boards with grain, gaps and board-to-board tint."""
    width, height = 1024, 512
    sheet = _plain(colour, (height, width))
    step = height / boards
    grain = cv2.resize(rng.normal(0, 1, (height, 24)).astype(np.float32), (width, height))
    index = (np.arange(height) / step).astype(int).clip(0, boards - 1)
    tint = rng.uniform(-0.16, 0.16, boards)[index][:, None]
    gap = np.where((np.arange(height) % step) < max(1.5, step * 0.06), 0.45, 1.0)[:, None]
    sheet *= ((1 + 0.07 * grain + tint + 0.05 * noise((height, width), 60, rng)) * gap)[..., None]
    out = _finish(sheet)
    return np.ascontiguousarray(np.rot90(out)) if upright else out


def brick(colour: Colour, rng: np.random.Generator) -> Image:
    """Return a brick wall."""
    height, width, rows = 512, 1024, 20
    sheet = _plain((188, 182, 172), (height, width))
    step = height / rows
    for row in range(rows):
        start = -(row % 2) * step
        for left in np.arange(start, width, step * 2.2):
            tone = np.asarray(colour) * (1 + rng.uniform(-0.16, 0.16))
            a, b = (
                (int(left) + 1, int(row * step) + 1),
                (int(left + step * 2.2) - 2, int((row + 1) * step) - 2),
            )
            cv2.rectangle(sheet, a, b, tone.tolist(), -1)
    return _finish(sheet * (1 + 0.08 * noise((height, width), 5, rng))[..., None])


def ground(colour: Colour, rng: np.random.Generator) -> Image:
    """Return grass, sand or gravel, by colour."""
    shape = (1024, 1024)
    shade = 1 + 0.10 * noise(shape, 90, rng) + 0.12 * noise(shape, 6, rng)
    return _finish(_plain(colour, shape) * shade[..., None])


def sky(top: Colour, low: Colour, rng: np.random.Generator) -> Image:
    """Return a sky that pales to the horizon, with soft clouds."""
    shape = (512, 1024)
    t = np.linspace(0, 1, shape[0], dtype=np.float32)[:, None, None] ** 0.8
    sheet = np.asarray(top, np.float32) * (1 - t) + np.asarray(low, np.float32) * t
    sheet = np.repeat(sheet, shape[1], axis=1)
    cloud = noise(shape, 130, rng) + 0.5 * noise(shape, 50, rng) + 0.25 * noise(shape, 20, rng)
    alpha = np.clip(cloud - 0.15, 0, 1)[..., None] * 0.7
    return _finish(sheet + (np.array([246, 244, 240], np.float32) - sheet) * alpha)
