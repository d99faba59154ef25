"""Busy rooms and exteriors for the hard scenes, their lights, and things that stand in the way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from sample_frames.stage import fabrics, hard_fabrics
from sample_frames.stage.bodies import Floats
from sample_frames.stage.hard_plans import OUTSIDE
from sample_frames.stage.parts import Part, make_part
from sample_frames.stage.sets import (
    FLOORS,
    GROUNDS,
    SKIES,
    WALLS,
    Lamp,
    Plot,
    make_exterior,
    make_room,
    pick,
    random_lamps,
)
from sample_frames.stage.solids import Image, box, post, quad

LEAVES = ((74, 112, 48), (96, 124, 52), (50, 86, 52), (128, 120, 56), (120, 84, 48))
REACH_M = 420.0


def make_place(
    place: str, plot: Plot, rng: np.random.Generator, *, bare: bool = False
) -> tuple[Part, ...]:
    """Return what surrounds the people.

    Args:
        place: One of the plans' places.
        plot: Floor that must stay clear.
        rng: Source of the variation.
        bare: Keep the back wall free, and stay indoors.
    """
    place = "papered room" if bare and place in OUTSIDE else place
    if place in OUTSIDE:
        return _outdoors(place, plot, rng)
    sheet = _wall_sheet(place, rng)
    left, right, back, front = -plot.left_m, plot.right_m, plot.far_m, -plot.near_m
    width, depth, high = right - left, back - front, plot.ceiling_m
    floor = _floor_sheet(rng)
    tile = {"shelves": 2.2, "panelled room": 2.6}.get(place, float(rng.uniform(1.6, 3.2)))
    roof = fabrics.planks(pick(FLOORS, rng), rng) if rng.random() < 0.5 else None
    parts = [
        quad((left, back, 0), (width, 0, 0), (0, 0, high), texture=sheet, tile_m=tile),
        quad((left, front, 0), (0, depth, 0), (0, 0, high), texture=sheet, tile_m=tile),
        quad((right, back, 0), (0, -depth, 0), (0, 0, high), texture=sheet, tile_m=tile),
        quad((left, front, 0), (width, 0, 0), (0, depth, 0), texture=floor, tile_m=2.0),
        quad(
            (left, back, high), (width, 0, 0), (0, -depth, 0), texture=roof,
            tile_m=2.5 if roof is not None else 0.0, colour=(206, 204, 198),
        ),
    ]  # fmt: skip
    if place != "shelves" and not bare:
        parts += _furniture(plot, rng)
    return tuple(parts)


def _wall_sheet(place: str, rng: np.random.Generator) -> Image:
    colour, second = pick(WALLS, rng), pick(WALLS, rng)
    makers: dict[str, Callable[[], Image]] = {
        "brick room": lambda: fabrics.brick((150, 84, 66), rng),
        "planked room": lambda: fabrics.planks(colour, rng, upright=rng.random() < 0.5),
        "papered room": lambda: hard_fabrics.wallpaper(colour, second, rng),
        "tiled room": lambda: hard_fabrics.tiles(colour, rng),
        "panelled room": lambda: hard_fabrics.panels(pick(FLOORS, rng), rng),
        "shelves": lambda: hard_fabrics.shelves(rng),
    }
    return makers[place]()


def _floor_sheet(rng: np.random.Generator) -> Image:
    style = rng.random()
    if style < 0.4:
        return fabrics.planks(pick(FLOORS, rng), rng, boards=8)
    if style < 0.7:
        return hard_fabrics.tiles(pick(WALLS, rng), rng, rows=6)
    return hard_fabrics.wallpaper(pick(WALLS, rng), pick(WALLS, rng), rng)


def _furniture(plot: Plot, rng: np.random.Generator) -> list[Part]:
    """Things at the back wall and in the corners: those of the plain rooms."""
    whole = make_room(plot, rng)
    # The plain room starts with its walls, floor, ceiling and the skirting's six sides.
    return list(whole[11:])


def _outdoors(place: str, plot: Plot, rng: np.random.Generator) -> tuple[Part, ...]:
    if place == "open field":
        return make_exterior(plot, rng)
    back = plot.far_m + float(rng.uniform(0.3, 3.0))
    wide = max(12.0, 2.5 * (plot.left_m + plot.right_m + back))
    ground, sheet, tile = _GROUND_AND_WALL[place](rng)
    high = float(rng.uniform(2.2, 5.0)) if place != "facade" else float(rng.uniform(9, 18))
    high = max(high, 0.25 * (back + plot.near_m))
    parts = [
        quad(
            (-REACH_M, -REACH_M, 0), (2 * REACH_M, 0, 0), (0, 2 * REACH_M, 0), texture=ground,
            tile_m=4.0,
        ),
        *_sky(rng),
        quad((-wide, back, 0), (2 * wide, 0, 0), (0, 0, high), texture=sheet, tile_m=tile),
    ]  # fmt: skip
    if place in {"leaves", "yard"}:
        parts += _bushes(plot, rng)
    return tuple(parts)


def _sky(rng: np.random.Generator) -> list[Part]:
    sheet = fabrics.sky(*pick(SKIES, rng), rng)
    reach = REACH_M
    parts = [
        quad(
            (-reach * 1.6, reach, -6), (reach * 3.2, 0, 0), (0, 0, 420), texture=sheet, kind="flat"
        )
    ]
    for side in (-1, 1):
        across = (0, side * -2 * reach, 0)
        parts.append(
            quad((side * reach, side * reach, -6), across, (0, 0, 420), texture=sheet, kind="flat")
        )
    return parts


def _leafy(rng: np.random.Generator) -> tuple[Image, Image, float]:
    ground = fabrics.ground(pick(GROUNDS, rng), rng)
    return ground, hard_fabrics.leaves(pick(LEAVES, rng), rng), float(rng.uniform(0.8, 2.5))


def _bricked(rng: np.random.Generator) -> tuple[Image, Image, float]:
    ground = hard_fabrics.paving(pick(GROUNDS, rng), rng)
    return ground, fabrics.brick((150, 90, 70), rng), 2.4


def _built(rng: np.random.Generator) -> tuple[Image, Image, float]:
    ground = hard_fabrics.paving((150, 148, 144), rng)
    return ground, hard_fabrics.facade(pick(WALLS, rng), rng), float(rng.uniform(5, 9))


def _fenced(rng: np.random.Generator) -> tuple[Image, Image, float]:
    ground = fabrics.ground(pick(GROUNDS, rng), rng)
    return ground, fabrics.planks(pick(FLOORS, rng), rng, upright=True), 2.0


_GROUND_AND_WALL = {
    "leaves": _leafy, "brick street": _bricked, "facade": _built, "yard": _fenced,
}  # fmt: skip


def _bushes(plot: Plot, rng: np.random.Generator) -> list[Part]:
    sheet = hard_fabrics.leaves(pick(LEAVES, rng), rng)
    parts: list[Part] = []
    for _ in range(int(rng.integers(2, 6))):
        size = float(rng.uniform(0.3, 0.9))
        x = float(rng.uniform(-plot.left_m - 2, plot.right_m + 2))
        parts.append(leafy_ball((x, plot.far_m + size * 0.3, size * 0.7), size, sheet))
    return parts


def leafy_ball(centre: tuple[float, float, float], radius_m: float, sheet: Image) -> Part:
    """Return a rough ball of leaves."""
    u, v = np.meshgrid(np.linspace(0, 2 * np.pi, 25), np.linspace(0, np.pi, 13))
    bumps = 1 + 0.14 * np.sin(7 * u) * np.sin(5 * v)
    ball = np.stack([np.sin(v) * np.cos(u), np.sin(v) * np.sin(u), np.cos(v)], axis=-1)
    points = (ball * bumps[..., None]).reshape(-1, 3) * radius_m + np.asarray(centre)
    index = np.arange(u.size).reshape(u.shape)
    corners = (index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1])
    faces = np.stack([c.ravel() for c in corners], axis=1)
    uv = np.stack([u.ravel() / 2, v.ravel() / 2], axis=1) * max(0.4, radius_m)
    return make_part("set", points, faces, None, texture=sheet, uv=uv, repeat=True)


def hard_lamps(rng: np.random.Generator) -> tuple[Lamp, ...]:
    """Return the plain lights, or one hard lamp from the side, from above or from behind."""
    style = rng.random()
    lamps = random_lamps(rng)
    if style < 0.55:
        return lamps
    angle = np.radians(float(rng.uniform(60, 120) * rng.choice([-1, 1])))
    side = (float(np.sin(angle)), float(-np.cos(angle)), float(rng.uniform(0.1, 0.7)))
    toward = side if style < 0.75 else (0.2, -0.1, 1.0) if style < 0.88 else (0.4, 1.0, 0.5)
    key = replace(lamps[0], toward=toward, strength=float(rng.uniform(0.7, 1.0)))
    return (key, replace(lamps[1], strength=float(rng.uniform(0.02, 0.15))))


# ------------------------------------------------------------------ things in the way


@dataclass(frozen=True)
class Wish:
    """Height up to which a person may be hidden, and the source of the variation."""

    level_m: float
    rng: np.random.Generator


def obstacle(variant: str, level_m: float, toward: Floats, rng: np.random.Generator) -> list[Part]:
    """Return a thing that hides part of a person who stands at the origin.

    Args:
        variant: Which thing.
        level_m: Height up to which a person may be hidden.
        toward: Direction on the floor from the person to the lens.
        rng: Source of the variation.
    """
    yaw = float(np.degrees(np.arctan2(toward[0], -toward[1])))
    parts = _OBSTACLES[variant](Wish(level_m, rng))
    return [part.moved(yaw, np.zeros(3)) for part in parts]


def _counter(wish: Wish) -> list[Part]:
    rng = wish.rng
    sheet = _wall_sheet(str(rng.choice(["planked room", "panelled room", "tiled room"])), rng)
    wide, high = float(rng.uniform(1.2, 3.0)), float(np.clip(wish.level_m, 0.5, 1.15))
    x = float(rng.uniform(-0.3, 0.3))
    parts = box((x, -0.72, high / 2), (wide, 0.55, high), texture=sheet, tile_m=1.2)
    parts += box((x, -0.72, high + 0.015), (wide + 0.08, 0.62, 0.03), colour=pick(FLOORS, rng))
    for dx in rng.uniform(-0.45, 0.45, int(rng.integers(0, 4))):
        tint = tuple(int(v) for v in rng.integers(40, 220, 3))
        spot = (x + dx * wide, -0.72 + float(rng.uniform(-0.15, 0.15)), high + 0.03)
        parts.append(post(spot, float(rng.uniform(0.08, 0.25)), 0.04, tint))
    return parts


def _pillar(wish: Wish) -> list[Part]:
    rng = wish.rng
    wide = float(rng.uniform(0.14, 0.34))
    x = float(rng.choice([-1, 1]) * (rng.uniform(-0.02, 0.14) + wide / 2))
    sheet = fabrics.plaster(pick(WALLS, rng), rng)
    return box((x, -0.75, 1.6), (wide, wide, 3.2), texture=sheet, tile_m=1.5)


def _plant(wish: Wish) -> list[Part]:
    rng = wish.rng
    sheet = hard_fabrics.leaves(pick(LEAVES, rng), rng, size_px=512)
    x = float(rng.uniform(-0.35, 0.35))
    parts = [post((x, -0.8, 0), 0.4, 0.17, pick(FLOORS, rng))]
    top = float(np.clip(wish.level_m, 0.7, 1.3))
    for _ in range(6):
        spot = (
            x + float(rng.uniform(-0.28, 0.28)), -0.8 + float(rng.uniform(-0.2, 0.2)),
            float(rng.uniform(0.45, top)),
        )  # fmt: skip
        parts.append(leafy_ball(spot, float(rng.uniform(0.12, 0.24)), sheet))
    return parts


def _sofa(wish: Wish) -> list[Part]:
    rng = wish.rng
    from sample_frames.stage.looks import CLOTHS, Cloth

    pattern = str(rng.choice(["plain", "check", "stripes", "dots"]))
    sheet = fabrics.weave(Cloth(pick(CLOTHS, rng), pattern, pick(CLOTHS, rng)), rng)
    x, high = float(rng.uniform(-0.4, 0.4)), float(rng.uniform(0.75, 0.95))
    parts = box((x, -0.6, high / 2), (1.9, 0.22, high), texture=sheet, tile_m=0.6)
    parts += box((x, -0.95, 0.22), (1.9, 0.6, 0.44), texture=sheet, tile_m=0.6)
    for side in (-0.85, 0.85):
        parts += box((x + side, -0.9, 0.32), (0.2, 0.7, 0.64), texture=sheet, tile_m=0.6)
    return parts


def _rail(wish: Wish) -> list[Part]:
    rng = wish.rng
    colour = pick(FLOORS, rng)
    parts = []
    for z in (0.35, 0.65, float(rng.uniform(0.95, 1.15))):
        parts += box((0.0, -0.6, z), (5.0, 0.06, 0.06), colour=colour)
    for x in np.arange(-2.4, 2.5, float(rng.uniform(0.3, 0.9))):
        parts.append(post((float(x) + 0.2, -0.6, 0), 1.1, 0.025, colour))
    return parts


def _wall_edge(wish: Wish) -> list[Part]:
    rng = wish.rng
    side = float(rng.choice([-1, 1]))
    inner = float(rng.uniform(0.02, 0.2))
    sheet = _wall_sheet(str(rng.choice(["brick room", "papered room", "panelled room"])), rng)
    return box((side * (inner + 0.7), -0.7, 1.6), (1.4, 0.18, 3.2), texture=sheet, tile_m=2.0)


_OBSTACLES = {
    "counter": _counter, "pillar": _pillar, "plant": _plant, "sofa": _sofa, "rail": _rail,
    "wall edge": _wall_edge,
}  # fmt: skip
