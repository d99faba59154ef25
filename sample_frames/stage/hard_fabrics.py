"""Busy textures for the hard sets: leaves, wallpaper, tiles, panels, shelves, facades."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from sample_frames.stage.bodies import Floats
from sample_frames.stage.skin_paint import noise

Image = NDArray[np.uint8]
Colour = tuple[int, int, int]


def _finish(sheet: Floats) -> Image:
    return np.asarray(sheet.clip(0, 255), np.uint8)


def leaves(colour: Colour, rng: np.random.Generator, *, size_px: int = 768) -> Image:
    """Return foliage: thousands of small ellipses, darker ones first."""
    sheet = np.full((size_px, size_px, 3), np.asarray(colour) * 0.55, np.float32)
    count = 1500
    places = rng.uniform(0, size_px, (count, 2)).astype(int)
    sizes, angles = rng.uniform(7, 22, count), rng.uniform(0, 180, count)
    tones = np.linspace(0.7, 1.9, count) * rng.uniform(0.7, 1.2, count)
    hues = rng.normal(0, 10, (count, 3))
    for (x, y), size, angle, tone, hue in zip(places, sizes, angles, tones, hues, strict=True):
        tint = (np.asarray(colour) * tone + hue).tolist()
        axes = (int(size), int(size * 0.42))
        cv2.ellipse(sheet, (int(x), int(y)), axes, float(angle), 0, 360, tint, -1)
    return _finish(sheet)


def wallpaper(colour: Colour, second: Colour, rng: np.random.Generator) -> Image:
    """Return a repeating figure: rings, diamonds, flowers or a fine check."""
    cell = int(rng.choice([32, 64, 128]))
    y, x = np.mgrid[0:cell, 0:cell] / cell * 2 - 1
    radius, angle = np.hypot(x, y), np.arctan2(y, x)
    figure = [
        np.abs(radius - 0.6) < 0.12,
        np.abs(np.abs(x) + np.abs(y) - 0.7) < 0.16,
        radius < 0.45 + 0.25 * np.cos(int(rng.integers(4, 8)) * angle),
        (np.abs(x) < 0.2) ^ (np.abs(y) < 0.2),
    ][int(rng.integers(4))]
    tile = np.where(figure[..., None], np.asarray(second), np.asarray(colour)).astype(np.float32)
    sheet = np.tile(tile, (512 // cell, 1024 // cell, 1))
    return _finish(sheet * (1 + 0.07 * noise((512, 1024), 90, rng))[..., None])


def tiles(colour: Colour, rng: np.random.Generator, *, rows: int = 10) -> Image:
    """Return square tiles of slightly different tints with pale joints."""
    height, width = 512, 1024
    step = height / rows
    tint = rng.uniform(-0.15, 0.15, (rows, 2 * rows)).astype(np.float32)
    grid = cv2.resize(tint, (width, height), interpolation=cv2.INTER_NEAREST)
    sheet = np.full((height, width, 3), colour, np.float32) * (1 + grid)[..., None]
    joint = ((np.arange(height) % step) < 3)[:, None] | ((np.arange(width) % step) < 3)[None]
    sheet[joint] = (206, 204, 198)
    return _finish(sheet * (1 + 0.05 * noise((height, width), 40, rng))[..., None])


def panels(colour: Colour, rng: np.random.Generator) -> Image:
    """Return framed panels with a bevel, as on old doors and wainscots."""
    cell = 128
    y, x = np.mgrid[0:cell, 0:cell] / cell
    edge = np.minimum.reduce([x, 1 - x, y, 1 - y])
    shade = 1 + 0.22 * ((edge > 0.12) & (edge < 0.17)) - 0.28 * ((edge > 0.10) & (edge < 0.12))
    sheet = np.tile(np.asarray(colour, np.float32) * shade[..., None], (4, 8, 1))
    grain = cv2.resize(rng.normal(0, 1, (512, 24)).astype(np.float32), (1024, 512))
    return _finish(sheet * (1 + 0.05 * grain + 0.08 * noise((512, 1024), 160, rng))[..., None])


def shelves(rng: np.random.Generator) -> Image:
    """Return shelves full of upright things of many colours."""
    sheet = np.full((768, 1024, 3), (46, 36, 30), np.float32)
    for row in range(6):
        floor, x = (row + 1) * 128 - 8, 4
        while x < 1010:
            wide, tall = int(rng.integers(9, 34)), int(rng.integers(60, 112))
            tint = rng.integers(30, 225, 3).tolist()
            if rng.random() < 0.9:
                cv2.rectangle(sheet, (x, floor - tall), (x + wide - 2, floor), tint, -1)
                band = floor - int(tall * rng.uniform(0.5, 0.9))
                light = [min(255, v + 60) for v in tint]
                cv2.rectangle(sheet, (x, band), (x + wide - 2, band + 5), light, -1)
            x += wide
        cv2.rectangle(sheet, (0, floor), (1024, floor + 8), (112, 84, 60), -1)
    return _finish(sheet)


def facade(colour: Colour, rng: np.random.Generator) -> Image:
    """Return storeys of windows, some lit, with sills and mouldings."""
    sheet = np.full((1024, 1024, 3), colour, np.float32)
    sheet *= (1 + 0.10 * noise((1024, 1024), 6, rng) + 0.1 * noise((1024, 1024), 200, rng))[
        ..., None
    ]
    columns, rows = int(rng.integers(4, 8)), int(rng.integers(3, 6))
    wide, tall = 1024 // columns, 1024 // rows
    for row in range(rows):
        cv2.rectangle(
            sheet, (0, row * tall), (1024, row * tall + 6), (np.asarray(colour) * 0.7).tolist(), -1
        )
        for column in range(columns):
            a = (int((column + 0.25) * wide), int((row + 0.22) * tall))
            b = (int((column + 0.75) * wide), int((row + 0.82) * tall))
            glass = (214, 190, 120) if rng.random() < 0.15 else rng.integers(30, 120, 3).tolist()
            cv2.rectangle(sheet, a, b, glass, -1)
            cv2.rectangle(sheet, a, b, (212, 206, 194), 5)
            middle = (a[0] + b[0]) // 2
            cv2.line(sheet, (middle, a[1]), (middle, b[1]), (212, 206, 194), 4)
            cv2.rectangle(sheet, (a[0] - 8, b[1]), (b[0] + 8, b[1] + 8), (190, 184, 172), -1)
    return _finish(sheet)


def paving(colour: Colour, rng: np.random.Generator) -> Image:
    """Return irregular rectangular paving."""
    sheet = np.full((768, 768, 3), np.asarray(colour) * 0.55, np.float32)
    for row in range(12):
        x = -int(rng.integers(0, 60))
        while x < 768:
            wide = int(rng.integers(50, 130))
            tint = (np.asarray(colour) * rng.uniform(0.8, 1.15)).tolist()
            cv2.rectangle(sheet, (x + 2, row * 64 + 2), (x + wide - 2, row * 64 + 61), tint, -1)
            x += wide
    return _finish(sheet * (1 + 0.10 * noise((768, 768), 5, rng))[..., None])
