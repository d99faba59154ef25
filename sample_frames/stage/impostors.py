"""What looks like a person and is none: statue, doll, picture on a wall, reflection."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from sample_frames.stage import fabrics
from sample_frames.stage.bodies import Floats
from sample_frames.stage.parts import Part
from sample_frames.stage.people import Person
from sample_frames.stage.sets import FLOORS, WALLS, Plot, pick, table
from sample_frames.stage.skin_paint import noise
from sample_frames.stage.solids import box, post, quad

Image = NDArray[np.uint8]
STONES = ((150, 148, 142), (190, 186, 176), (112, 112, 114), (122, 96, 62), (96, 116, 104))
PLASTICS = ((214, 176, 150), (186, 140, 96), (228, 224, 216), (60, 58, 60))


def stone_sheet(colour: tuple[int, int, int], rng: np.random.Generator) -> Image:
    """Return weathered stone or bronze."""
    shape = (512, 512)
    shade = 1 + 0.10 * noise(shape, 60, rng) + 0.10 * noise(shape, 4, rng)
    return np.asarray((np.asarray(colour) * shade[..., None]).clip(0, 255), np.uint8)


def in_one_material(person: Person, sheet: Image) -> list[Part]:
    """Return the person's parts, clothes and eyes included, in one material."""
    return [
        Part("set", part.mesh, sheet, part.colour, np.zeros_like(part.head), repeat=True)
        for part in person.parts
    ]


def statue(person: Person, rng: np.random.Generator) -> list[Part]:
    """Return the person in stone on a plinth; the plinth stands on the floor."""
    high = float(rng.uniform(0.35, 1.1))
    sheet = stone_sheet(pick(STONES, rng), rng)
    parts = in_one_material(person, sheet)
    points = np.concatenate([part.points_m for part in parts])
    feet = points[points[:, 2] < 0.15]
    low, top = feet.min(axis=0), feet.max(axis=0)
    middle, size = 0.5 * (low + top), top - low + 0.25
    base = box((middle[0], middle[1], high / 2), (size[0], size[1], high), texture=sheet)
    return [*base, *(part.moved(0.0, np.array([0.0, 0.0, high])) for part in parts)]


def doll(person: Person, rng: np.random.Generator) -> tuple[list[Part], list[Part]]:
    """Return a small figure standing on a table, and the table with what else stands there."""
    scale, top_m = float(rng.uniform(0.10, 0.22)), float(rng.uniform(0.7, 0.8))
    dressed = rng.random() < 0.5
    parts = (
        list(person.parts)
        if dressed
        else in_one_material(person, stone_sheet(pick(PLASTICS, rng), rng))
    )
    figure = [_scaled(part, scale, np.array([0.0, 0.0, top_m])) for part in parts]
    yaw = float(rng.uniform(-30, 30))
    wood = pick(FLOORS, rng)
    things = table((0.0, 0.05), (1.3, 0.75), top_m, yaw_deg=yaw, colour=wood)
    return figure, [*things, *objects_on(top_m, rng, clear_m=0.2)]


def _scaled(part: Part, scale: float, offset: Floats) -> Part:
    mesh = part.mesh.copy()
    mesh.points = (part.points_m * scale + offset).astype(np.float32)
    return Part(part.kind, mesh, part.texture, part.colour, part.head, part.repeat)


def objects_on(top_m: float, rng: np.random.Generator, *, clear_m: float = 0.0) -> list[Part]:
    """Return jars, boxes and books on a table over the origin, none nearer than `clear_m`."""
    parts: list[Part] = []
    for _ in range(int(rng.integers(4, 10))):
        x, y = float(rng.uniform(-0.5, 0.5)), float(rng.uniform(-0.2, 0.3))
        if np.hypot(x, y) < clear_m:
            continue
        tint = tuple(int(v) for v in rng.integers(30, 230, 3))
        if rng.random() < 0.5:
            parts.append(post((x, y, top_m), float(rng.uniform(0.06, 0.28)), 0.035, tint))
        else:
            size = tuple(float(v) for v in rng.uniform([0.08, 0.06, 0.03], [0.25, 0.2, 0.18]))
            spot = (x, y, top_m + size[2] / 2)
            parts += box(spot, size, yaw_deg=float(rng.uniform(-60, 60)), colour=tint)
    return parts


def framed_picture(
    image: Image, middle: Floats, high_m: float, rng: np.random.Generator
) -> list[Part]:
    """Return a picture in a frame that hangs in the plane of constant y through `middle`."""
    wide = high_m * image.shape[1] / image.shape[0]
    x, y, z = (float(v) for v in middle)
    edge = float(rng.uniform(0.02, 0.07))
    colour = pick((*FLOORS, (30, 28, 28), (196, 160, 84), (230, 228, 220)), rng)
    frame = box((x, y, z), (wide + 2 * edge, 0.04, high_m + 2 * edge), colour=colour)
    sheet = quad(
        (x - wide / 2, y - 0.024, z - high_m / 2), (wide, 0, 0), (0, 0, high_m),
        texture=np.ascontiguousarray(image),
    )  # fmt: skip
    return [*frame, sheet]


def reflected(parts: Iterable[Part], plane_y_m: float) -> list[Part]:
    """Return the parts mirrored in an upright plane of constant y."""
    out = []
    for part in parts:
        mesh = part.mesh.copy()
        points = part.points_m
        points[:, 1] = 2 * plane_y_m - points[:, 1]
        mesh.points = points.astype(np.float32)
        normals = np.array(mesh.point_data["Normals"])
        normals[:, 1] *= -1
        mesh.point_data["Normals"] = normals
        mesh.point_data.active_normals_name = "Normals"
        out.append(Part(part.kind, mesh, part.texture, part.colour, part.head, part.repeat))
    return out


def mirror_room(
    person_parts: list[Part], plot: Plot, opening: tuple[Floats, Floats], rng: np.random.Generator
) -> list[Part]:
    """Return a room whose back wall holds a mirror, with all that is seen in it.

    The mirror is an opening in the wall; behind it stands the room once more, mirrored.

    Args:
        person_parts: What the mirror shows of the person.
        plot: The room; its back wall is the mirror's plane.
        opening: (x, z) of the mirror's lower left and upper right corner.
        rng: Source of the variation.
    """
    left, right, back, front = -plot.left_m, plot.right_m, plot.far_m, -plot.near_m
    width, depth, high = right - left, back - front, plot.ceiling_m
    wall = fabrics.paper(pick(WALLS, rng), pick(WALLS, rng), rng)
    wall = wall if rng.random() < 0.5 else fabrics.planks(pick(WALLS, rng), rng)
    floor = fabrics.planks(pick(FLOORS, rng), rng, boards=8)
    room = [
        quad((left, front, 0), (0, depth, 0), (0, 0, high), texture=wall, tile_m=2.4),
        quad((right, back, 0), (0, -depth, 0), (0, 0, high), texture=wall, tile_m=2.4),
        quad((left, front, 0), (width, 0, 0), (0, depth, 0), texture=floor, tile_m=2.0),
        quad((left, back, high), (width, 0, 0), (0, -depth, 0), colour=(206, 204, 198)),
    ]
    front_wall = quad((left, front, 0), (width, 0, 0), (0, 0, high), texture=wall, tile_m=2.4)
    (x0, z0), (x1, z1) = opening
    around = [
        ((left, 0.0), (x0, high)), ((x1, 0.0), (right, high)), ((x0, 0.0), (x1, z0)),
        ((x0, z1), (x1, high)),
    ]  # fmt: skip
    holed = [
        quad((a, back, b), (c - a, 0, 0), (0, 0, d - b), texture=wall, tile_m=2.4)
        for (a, b), (c, d) in around
    ]
    return [
        *room, *holed, *_border(opening, back, rng),
        *reflected([*room, front_wall, *person_parts], back),
    ]  # fmt: skip


def _border(opening: tuple[Floats, Floats], back: float, rng: np.random.Generator) -> list[Part]:
    (x0, z0), (x1, z1) = opening
    edge, colour = float(rng.uniform(0.03, 0.08)), pick((*FLOORS, (40, 36, 34)), rng)
    middle_x, middle_z = 0.5 * (x0 + x1), 0.5 * (z0 + z1)
    parts: list[Part] = []
    for z in (z0 - edge / 2, z1 + edge / 2):
        parts += box((middle_x, back - 0.02, z), (x1 - x0 + 2 * edge, 0.05, edge), colour=colour)
    for x in (x0 - edge / 2, x1 + edge / 2):
        parts += box((x, back - 0.02, middle_z), (edge, 0.05, z1 - z0), colour=colour)
    return parts
