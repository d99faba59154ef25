"""Building blocks of sets: quads, boxes, posts and soft shadows on the floor."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from sample_frames.stage.bodies import Floats
from sample_frames.stage.parts import Part, make_part
from sample_frames.stage.people import Person

Image = NDArray[np.uint8]
Colour = tuple[int, int, int]
Vector = tuple[float, float, float]


def quad(  # noqa: PLR0913 - a drawing primitive, its looks by keyword
    corner: Vector,
    across: Vector,
    up: Vector,
    *,
    texture: Image | None = None,
    colour: Colour = (128, 128, 128),
    tile_m: float = 0.0,
    kind: str = "set",
    cells: int = 12,
) -> Part:
    """Return a flat rectangle; `tile_m` repeats its texture, 0 stretches it over the whole.

    Args:
        corner: Lower left corner, metres.
        across: Edge to the right, metres.
        up: Edge upward, metres.
        texture: RGB image.
        colour: Colour without a texture.
        tile_m: Size of one texture tile.
        kind: Shading kind.
        cells: Subdivisions, for light that changes over the surface.
    """
    a, b = np.asarray(across, float), np.asarray(up, float)
    s, t = np.meshgrid(np.linspace(0, 1, cells + 1), np.linspace(0, 1, cells + 1))
    points = np.asarray(corner) + s.reshape(-1, 1) * a + t.reshape(-1, 1) * b
    index = np.arange(s.size).reshape(s.shape)
    faces = np.stack(
        [index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]], axis=-1
    ).reshape(-1, 4)
    normal = np.cross(a, b) / np.linalg.norm(np.cross(a, b))
    size = (np.linalg.norm(a), np.linalg.norm(b)) if tile_m else (1.0, 1.0)
    uv = np.stack([s.ravel() * size[0], t.ravel() * size[1]], axis=1) / (tile_m or 1.0)
    return make_part(
        kind,
        points,
        faces,
        np.tile(normal, (len(points), 1)),
        texture=texture,
        uv=uv,
        colour=colour,
        repeat=bool(tile_m),
    )


def box(  # noqa: PLR0913 - a drawing primitive, its looks by keyword
    centre: Vector,
    size: Vector,
    *,
    yaw_deg: float = 0.0,
    texture: Image | None = None,
    colour: Colour = (128, 128, 128),
    tile_m: float = 1.0,
) -> list[Part]:
    """Return the six sides of a box turned about the vertical."""
    x, y, z = (v / 2 for v in size)
    sides = [
        ((-x, -y, -z), (2 * x, 0, 0), (0, 0, 2 * z)),
        ((x, -y, -z), (0, 2 * y, 0), (0, 0, 2 * z)),
        ((x, y, -z), (-2 * x, 0, 0), (0, 0, 2 * z)),
        ((-x, y, -z), (0, -2 * y, 0), (0, 0, 2 * z)),
        ((-x, -y, z), (2 * x, 0, 0), (0, 2 * y, 0)),
        ((-x, y, -z), (2 * x, 0, 0), (0, -2 * y, 0)),
    ]
    offset = np.asarray(centre, float)
    return [
        quad(
            *side,
            texture=texture,
            colour=colour,
            tile_m=tile_m if texture is not None else 0.0,
            cells=2,
        ).moved(yaw_deg, offset)
        for side in sides
    ]


def post(foot: Vector, height_m: float, radius_m: float, colour: Colour) -> Part:
    """Return an upright round post."""
    angle = np.linspace(0, 2 * np.pi, 17)
    ring = np.stack([np.cos(angle), np.sin(angle), np.zeros_like(angle)], axis=1)
    points = np.concatenate([ring * radius_m, ring * radius_m + [0, 0, height_m]]) + foot
    index = np.arange(16)
    faces = np.stack([index, index + 1, index + 18, index + 17], axis=1)
    return make_part("set", points, faces, np.concatenate([ring, ring]), colour=colour)


def floor_shadow(person: Person, toward_lamp: Floats, strength: float) -> Part:
    """Return a soft shadow on the floor: the body seen along the light, plus contact darkness.

    Args:
        person: Who throws it.
        toward_lamp: Direction to the key light.
        strength: Darkness, 0 to 1.
    """
    slope = np.asarray(toward_lamp[:2]) / max(0.6, toward_lamp[2])
    slope *= min(1.0, 1.3 / max(1e-6, np.linalg.norm(slope)))
    flat, heights = [], []
    for part in person.parts:
        points, triangles = part.points_m, part.triangles
        flat.append((points[:, :2] - points[:, 2:] * slope)[triangles])
        heights.append(points[triangles, 2].mean(axis=1))
    shapes = np.concatenate(flat)
    low, high = shapes.reshape(-1, 2).min(axis=0) - 0.35, shapes.reshape(-1, 2).max(axis=0) + 0.35
    scale = 320 / max(high - low)
    canvas = np.zeros(np.ceil((high - low)[::-1] * scale).astype(int) + 1, np.uint8)
    fixed = ((shapes - low) * scale * 16).astype(np.int32)
    for shape in fixed:
        cv2.fillConvexPoly(canvas, shape, 255, shift=4)
    near = np.zeros_like(canvas)
    for shape in fixed[np.concatenate(heights) < 0.5]:
        cv2.fillConvexPoly(near, shape, 255, shift=4)
    soft = 0.8 * cv2.GaussianBlur(canvas, (0, 0), 0.045 * scale).astype(float)
    soft += 0.5 * cv2.GaussianBlur(near, (0, 0), 0.10 * scale)
    sheet = np.zeros((*canvas.shape, 4), np.uint8)
    sheet[..., 3] = (soft * strength).clip(0, 255)
    width, height = canvas.shape[1] / scale, canvas.shape[0] / scale
    return quad(
        (low[0], low[1], 0.004),
        (width, 0, 0),
        (0, height, 0),
        texture=np.ascontiguousarray(sheet[::-1]),
        kind="shadow",
        cells=1,
    )
