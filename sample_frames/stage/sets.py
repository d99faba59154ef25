"""Places to shoot in: rooms and exteriors laid out around the subject, with their lights."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from sample_frames.stage import fabrics
from sample_frames.stage.bodies import Floats
from sample_frames.stage.parts import Part
from sample_frames.stage.solids import Colour, box, post, quad

Item = TypeVar("Item")

WALLS: tuple[Colour, ...] = (
    (206, 200, 186),
    (150, 168, 172),
    (182, 150, 124),
    (118, 132, 112),
    (196, 178, 142),
    (96, 104, 124),
    (168, 176, 186),
    (138, 108, 92),
    (214, 206, 206),
    (84, 92, 88),
)
FLOORS: tuple[Colour, ...] = ((120, 88, 60), (92, 70, 52), (150, 130, 108), (110, 112, 116))
GROUNDS: tuple[Colour, ...] = ((96, 116, 66), (176, 160, 126), (128, 126, 122), (110, 96, 74))
SKIES: tuple[tuple[Colour, Colour], ...] = (
    ((96, 146, 204), (204, 222, 236)),
    ((150, 160, 172), (214, 216, 216)),
    ((70, 92, 140), (236, 190, 150)),
    ((188, 196, 202), (226, 226, 222)),
)


@dataclass(frozen=True)
class Lamp:
    """A distant light; `toward` points from the set to the lamp."""

    toward: tuple[float, float, float]
    colour: Colour = (255, 255, 255)
    strength: float = 0.8


@dataclass(frozen=True)
class StageSet:
    """Everything in the picture but the people."""

    parts: tuple[Part, ...] = ()
    lamps: tuple[Lamp, ...] = ()
    backdrop: Colour = (120, 124, 130)

    def plus(self, *parts: Part) -> StageSet:
        """The set with more parts."""
        return StageSet((*self.parts, *parts), self.lamps, self.backdrop)


@dataclass(frozen=True)
class Plot:
    """Floor space that must stay clear, in metres around the subject.

    Attributes:
        near_m: From the subject back to the camera and beyond (negative y).
        far_m: From the subject to the back wall.
        left_m: Free space on the left of the picture.
        right_m: Free space on the right.
        ceiling_m: Height of the room.
    """

    near_m: float
    far_m: float
    left_m: float
    right_m: float
    ceiling_m: float = 2.8


def make_room(plot: Plot, rng: np.random.Generator) -> tuple[Part, ...]:
    """Return walls, floor, ceiling, windows and furniture of a random room."""
    left, right, back, front = -plot.left_m, plot.right_m, plot.far_m, -plot.near_m
    width, depth, high = right - left, back - front, plot.ceiling_m
    wall = _wall_sheet(rng)
    floor = fabrics.planks(pick(FLOORS, rng), rng, boards=8)
    side = fabrics.plaster(pick(WALLS, rng), rng) if rng.random() < 0.4 else wall
    parts = [
        quad((left, back, 0), (width, 0, 0), (0, 0, high), texture=wall, tile_m=3.0),
        quad((left, front, 0), (0, depth, 0), (0, 0, high), texture=side, tile_m=3.0),
        quad((right, back, 0), (0, -depth, 0), (0, 0, high), texture=side, tile_m=3.0),
        quad((left, front, 0), (width, 0, 0), (0, depth, 0), texture=floor, tile_m=2.0),
        quad((left, back, high), (width, 0, 0), (0, -depth, 0), colour=(216, 214, 208)),
        *box(((left + right) / 2, back - 0.01, 0.06), (width, 0.03, 0.12), colour=(90, 76, 66)),
    ]
    for x in np.arange(left + 0.8, right - 0.8, 1.6):
        parts += _wall_piece(float(x + rng.uniform(-0.2, 0.2)), back, rng)
    return tuple(parts)


def pick(options: tuple[Item, ...], rng: np.random.Generator) -> Item:
    """One of the options."""
    return options[int(rng.integers(len(options)))]


def _wall_sheet(rng: np.random.Generator) -> fabrics.Image:
    colour = pick(WALLS, rng)
    style = rng.random()
    if style < 0.5:
        return fabrics.plaster(colour, rng)
    if style < 0.65:
        return fabrics.paper(colour, pick(WALLS, rng), rng)
    if style < 0.8:
        return fabrics.brick((150, 84, 66), rng)
    return fabrics.planks(colour, rng, upright=rng.random() < 0.5)


def _wall_piece(x: float, back: float, rng: np.random.Generator) -> list[Part]:
    style = rng.random()
    for limit, build in _WALL_PIECES:
        if style < limit:
            return build(x, back, rng)
    return []


def _cupboard(x: float, back: float, rng: np.random.Generator) -> list[Part]:
    size = (rng.uniform(0.5, 1.1), rng.uniform(0.3, 0.5), rng.uniform(0.6, 2.0))
    return box((x, back - size[1] / 2 - 0.02, size[2] / 2), size, colour=pick(FLOORS, rng))


def _window(x: float, back: float, rng: np.random.Generator) -> list[Part]:
    wide, high, sill = rng.uniform(0.8, 1.3), rng.uniform(0.9, 1.3), rng.uniform(0.8, 1.0)
    pane = fabrics.sky(*pick(SKIES, rng), rng)
    frame = pick(((236, 234, 226), (70, 60, 52)), rng)
    y = back - 0.02
    parts = [quad((x - wide / 2, y, sill), (wide, 0, 0), (0, 0, high), texture=pane, kind="flat")]
    for dx in (-0.5, 0.0, 0.5):
        parts += box((x + dx * wide, y, sill + high / 2), (0.05, 0.05, high + 0.05), colour=frame)
    for dz in (0.0, 0.5, 1.0):
        parts += box((x, y, sill + dz * high), (wide + 0.05, 0.06, 0.05), colour=frame)
    return parts


def _picture(x: float, back: float, rng: np.random.Generator) -> list[Part]:
    wide, high, low = rng.uniform(0.3, 0.7), rng.uniform(0.3, 0.6), rng.uniform(1.2, 1.5)
    sheet = fabrics.sky(pick(WALLS, rng), pick(GROUNDS, rng), rng)
    frame = box(
        (x, back - 0.02, low + high / 2), (wide + 0.06, 0.03, high + 0.06), colour=(50, 40, 34)
    )
    return [
        *frame,
        quad((x - wide / 2, back - 0.04, low), (wide, 0, 0), (0, 0, high), texture=sheet),
    ]


def _shelf(x: float, back: float, rng: np.random.Generator) -> list[Part]:
    parts: list[Part] = []
    for level in (0.4, 0.8, 1.2, 1.6):
        parts += box((x, back - 0.16, level), (0.9, 0.3, 0.03), colour=(112, 84, 60))
        for dx in np.arange(-0.38, 0.38, 0.09):
            if rng.random() < 0.7:
                tall = rng.uniform(0.15, 0.3)
                tint = tuple(int(v) for v in rng.integers(50, 210, 3))
                parts += box(
                    (x + dx, back - 0.15, level + tall / 2), (0.05, 0.2, tall), colour=tint
                )
    return parts


def _door(x: float, back: float, rng: np.random.Generator) -> list[Part]:
    colour = pick(((120, 78, 50), (220, 216, 206), (70, 92, 90)), rng)
    return [
        *box((x, back - 0.02, 1.03), (0.96, 0.03, 2.08), colour=(206, 198, 184)),
        *box((x, back - 0.04, 1.0), (0.84, 0.04, 2.0), colour=colour),
        *box((x + 0.34, back - 0.08, 1.0), (0.10, 0.05, 0.03), colour=(190, 180, 150)),
    ]


# What may stand or hang at a wall, with the upper end of its share of all places.
_WALL_PIECES = (
    (0.22, _window),
    (0.42, _picture),
    (0.62, _cupboard),
    (0.72, _shelf),
    (0.80, _door),
)


def make_exterior(plot: Plot, rng: np.random.Generator) -> tuple[Part, ...]:
    """Return ground, sky and a few things behind the people."""
    top, low = pick(SKIES, rng)
    sheet = fabrics.sky(top, low, rng)
    reach = 420.0
    parts: list[Part] = [
        quad(
            (-reach, -reach, 0),
            (2 * reach, 0, 0),
            (0, 2 * reach, 0),
            texture=fabrics.ground(pick(GROUNDS, rng), rng),
            tile_m=6.0,
        ),
        quad(
            (-reach * 1.6, reach, -6), (reach * 3.2, 0, 0), (0, 0, 330), texture=sheet, kind="flat"
        ),
    ]
    for side in (-1, 1):
        across = (0, side * -2 * reach, 0)
        parts.append(
            quad((side * reach, side * reach, -6), across, (0, 0, 330), texture=sheet, kind="flat")
        )
    if rng.random() < 0.55:
        parts += _facade(plot, rng)
    for _ in range(int(rng.integers(3, 9))):
        y = plot.far_m + rng.uniform(3, 40)
        x = rng.uniform(-0.6, 0.6) * (y + plot.near_m)
        parts += _tree(x, y, rng) if rng.random() < 0.6 else _shed(x, y, rng)
    return tuple(parts)


def _facade(plot: Plot, rng: np.random.Generator) -> list[Part]:
    y = plot.far_m + rng.uniform(0.5, 6.0)
    wide, high = rng.uniform(8, 30), rng.uniform(3, 8)
    x = rng.uniform(-0.5, 0.5) * wide
    sheet = fabrics.brick((150, 90, 70), rng) if rng.random() < 0.5 else _wall_sheet(rng)
    parts = [*box((x, y + 2, high / 2), (wide, 4, high), texture=sheet, tile_m=2.5)]
    for dx in np.arange(-wide / 2 + 1.5, wide / 2 - 1, 2.8):
        parts += [quad((x + dx, y - 0.02, 1.0), (1.0, 0, 0), (0, 0, 1.4), colour=(58, 70, 84))]
    return parts


def _tree(x: float, y: float, rng: np.random.Generator) -> list[Part]:
    high = rng.uniform(2.0, 4.0)
    leaf = (int(rng.integers(40, 90)), int(rng.integers(80, 130)), int(rng.integers(30, 70)))
    parts = [post((x, y, 0), high, 0.14, (84, 64, 48))]
    for _ in range(5):
        size = rng.uniform(1.0, 2.2)
        offset = rng.uniform(-0.9, 0.9, 3)
        parts.append(_blob((x + offset[0], y + offset[1], high + 0.6 + offset[2]), size / 2, leaf))
    return parts


def _blob(centre: tuple[float, float, float], radius_m: float, colour: Colour) -> Part:
    import pyvista as pv

    from sample_frames.stage.parts import make_part

    ball = pv.Sphere(radius=radius_m, center=centre, theta_resolution=18, phi_resolution=12)
    return make_part(
        "set",
        np.asarray(ball.points, float),
        ball.faces.reshape(-1, 4)[:, 1:],
        np.asarray(ball.point_data["Normals"], float),
        colour=colour,
    )


def _shed(x: float, y: float, rng: np.random.Generator) -> list[Part]:
    size = (rng.uniform(2, 6), rng.uniform(2, 5), rng.uniform(1.2, 3.5))
    return box(
        (x, y, size[2] / 2), size, yaw_deg=float(rng.uniform(-40, 40)), colour=pick(WALLS, rng)
    )


def stool(
    seat_m: Floats, top_m: float, *, back: bool, yaw_deg: float, colour: Colour
) -> list[Part]:
    """Return a stool or chair whose seat top lies at `top_m` under the point `seat_m`."""
    c, s = np.cos(np.radians(yaw_deg)), np.sin(np.radians(yaw_deg))

    def at(x: float, y: float, z: float) -> tuple[float, float, float]:
        return (seat_m[0] + c * x - s * y, seat_m[1] + s * x + c * y, z)

    parts = box(at(0, 0, top_m - 0.02), (0.42, 0.42, 0.04), yaw_deg=yaw_deg, colour=colour)
    for x in (-0.18, 0.18):
        for y in (-0.18, 0.18):
            parts.append(post(at(x, y, 0), top_m - 0.03, 0.018, colour))
    if back:
        parts += box(at(0, 0.25, top_m + 0.32), (0.40, 0.03, 0.22), yaw_deg=yaw_deg, colour=colour)
        for x in (-0.18, 0.18):
            parts.append(post(at(x, 0.25, top_m - 0.04), 0.46, 0.016, colour))
    return parts


def table(
    centre: tuple[float, float],
    size: tuple[float, float],
    top_m: float,
    *,
    yaw_deg: float,
    colour: Colour,
) -> list[Part]:
    """Return a table."""
    c, s = np.cos(np.radians(yaw_deg)), np.sin(np.radians(yaw_deg))
    parts = box((*centre, top_m - 0.02), (*size, 0.04), yaw_deg=yaw_deg, colour=colour)
    for sx in (-1, 1):
        for sy in (-1, 1):
            x, y = sx * (size[0] / 2 - 0.05), sy * (size[1] / 2 - 0.05)
            parts.append(
                post(
                    (centre[0] + c * x - s * y, centre[1] + s * x + c * y, 0), top_m, 0.025, colour
                )
            )
    return parts


def random_lamps(rng: np.random.Generator) -> tuple[Lamp, ...]:
    """Return a key from a random side, a weaker fill and sometimes a rim light."""
    angle = np.radians(rng.uniform(-75, 75))
    height = rng.uniform(0.4, 1.4)
    warmth = rng.uniform(-1, 1)
    warm = (255, int(236 - 26 * max(warmth, 0)), int(222 - 70 * max(warmth, 0)))
    cold = (int(236 - 46 * max(-warmth, 0)), int(244 - 12 * max(-warmth, 0)), 255)
    key = Lamp(
        (float(np.sin(angle)), float(-np.cos(angle)), float(height)),
        warm if warmth > 0 else cold,
        float(rng.uniform(0.65, 0.95)),
    )
    fill = Lamp(
        (float(-np.sin(angle)), -0.8, 0.5),
        cold if warmth > 0 else warm,
        float(rng.uniform(0.15, 0.4)),
    )
    rim = Lamp((float(-np.sin(angle)), 1.0, 0.9), (255, 255, 255), float(rng.uniform(0.1, 0.5)))
    return (key, fill, rim) if rng.random() < 0.6 else (key, fill)
