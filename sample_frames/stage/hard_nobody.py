"""Layouts with nobody to count, or with one person beside a picture or a reflection of a person."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from sample_frames.stage import compose
from sample_frames.stage.bodies import Floats
from sample_frames.stage.cameras import Camera
from sample_frames.stage.draw import Image, draw_picture
from sample_frames.stage.hard_cameras import NEAREST_M, Frame, fit_camera, keep_above_floor
from sample_frames.stage.hard_casting import cast, pose_for
from sample_frames.stage.hard_plans import HardPlan
from sample_frames.stage.impostors import (
    doll,
    framed_picture,
    mirror_room,
    objects_on,
    reflected,
    statue,
)
from sample_frames.stage.parts import Part
from sample_frames.stage.people import Person, make_person
from sample_frames.stage.sets import FLOORS, WALLS, Plot, StageSet, pick, random_lamps, table

# Nothing of a forearm and hand lies farther from the line between elbow and fingertip.
ARM_M = 0.17
Tagged = tuple[Person, tuple[str, ...]]


@dataclass(frozen=True)
class Arrangement:
    """A layout whose surroundings may be part of it.

    Attributes:
        people: Those who count.
        props: Things that stand there.
        wall_y_m: Where the back wall must stand, or None.
        closed: Whether the props are the whole room.
    """

    people: tuple[Tagged, ...]
    camera: Camera
    props: tuple[Part, ...]
    wall_y_m: float | None = None
    closed: bool = False


def _drawn(plan: HardPlan, kind: str, rng: np.random.Generator) -> Tagged:
    look, tags = cast(rng, plan.tone, plan.body, plan.hair)
    variant = str(rng.choice(["both raised", "one raised", "crossed"])) if kind == "arms" else ""
    pose = pose_for(kind, variant, plan.yaw_deg, rng)
    return make_person(look, pose), (*tags, pose.legs.replace("_", " "))


def _points(parts: list[Part] | tuple[Part, ...]) -> Floats:
    return np.concatenate([part.points_m for part in parts])


def _seen(camera: Camera, points: Floats, frame: Frame) -> Camera:
    return keep_above_floor(lambda c: fit_camera(c, points, frame), camera)


def _empty(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Arrangement:
    wood, at = pick(FLOORS, rng), (float(rng.uniform(-0.8, 0.8)), float(rng.uniform(-0.5, 0.5)))
    props = table(at, (1.4, 0.8), 0.74, yaw_deg=float(rng.uniform(-40, 40)), colour=wood)
    place = (0.0, -float(rng.uniform(2.5, 6)), float(rng.uniform(0.6, 2.3)))
    pitch_deg = float(np.clip(plan.pitch_deg, -20, 10))
    return Arrangement((), replace(camera, position_m=place, pitch_deg=pitch_deg), tuple(props))


def _objects(_: HardPlan, camera: Camera, rng: np.random.Generator) -> Arrangement:
    props = table((0.0, 0.05), (1.3, 0.75), 0.74, yaw_deg=0.0, colour=pick(FLOORS, rng))
    things = objects_on(0.74, rng)
    fill = float(rng.uniform(0.5, 1.2))
    camera = replace(camera, pitch_deg=-float(rng.uniform(5, 45)))
    camera = _seen(camera, _points(things or props), Frame(0.5, 0.5, fill, fill))
    return Arrangement((), camera, (*props, *things))


def _hands(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Arrangement:
    """One hand near the lens; whoever it belongs to is out of the picture."""
    look, _ = cast(rng, plan.tone, plan.body, plan.hair)
    arms = [str(v) for v in rng.choice(["overhead", "wide", "point", "ahead", "raised"], 2)]
    pose = pose_for("", "", plan.yaw_deg, rng)
    person = make_person(look, replace(pose, arm_left=arms[0], arm_right=arms[1]))
    side = str(rng.choice(["left", "right"]))
    wrist, tip = person.marks_m[f"wrist_{side}"], person.marks_m[f"fingertip_{side}"]
    width, height = camera.picture_wh_px
    depth = float(rng.uniform(0.24, 0.4)) * camera.focal_px / min(width, height)
    position = 0.5 * (wrist + tip) - camera.axes[2] * max(depth, NEAREST_M)
    camera = replace(camera, position_m=tuple(float(v) for v in position))
    if position[2] < 0.1 or not _only_the_arm(person, side, camera):
        raise ValueError("more than a hand is in the picture")
    return Arrangement((), camera, person.parts)


def _only_the_arm(person: Person, side: str, camera: Camera) -> bool:
    """Whether the picture shows nothing of a person but one forearm, from nearer than the rest."""
    points = _points(person.parts)
    pixels = camera.project(points)
    inside = ((pixels > 0) & (pixels < camera.picture_wh_px)).all(axis=1)
    elbow, tip = person.marks_m[f"elbow_{side}"], person.marks_m[f"fingertip_{side}"]
    along = np.clip((points - elbow) @ (tip - elbow) / ((tip - elbow) @ (tip - elbow)), 0, 1)
    gaps = np.linalg.norm(points - elbow - along[:, None] * (tip - elbow), axis=1)
    return bool(inside.any() and (gaps[inside] < ARM_M).all())


def _statue(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Arrangement:
    person, _ = _drawn(plan, "arms" if rng.random() < 0.5 else "", rng)
    parts = statue(person, rng)
    points = _points(parts)
    lowest = float(rng.choice([0.0, 0.3, 0.6]))
    points = points[points[:, 2] > lowest * points[:, 2].max()]
    fill = float(rng.uniform(0.5, 0.92))
    return Arrangement((), _seen(camera, points, Frame(0.5, 0.5, fill, fill)), tuple(parts))


def _doll(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Arrangement:
    person, _ = _drawn(plan, "arms" if rng.random() < 0.3 else "", rng)
    figure, rest = doll(person, rng)
    fill = float(rng.uniform(0.14, 0.42))
    camera = replace(camera, pitch_deg=-float(rng.uniform(5, 30)))
    frame = Frame(float(rng.uniform(0.3, 0.7)), 0.5, fill, fill)
    return Arrangement((), _seen(camera, _points(figure), frame), (*rest, *figure))


def portrait(plan: HardPlan, rng: np.random.Generator) -> Image:
    """Return a picture of somebody before a plain ground, as it may hang on a wall."""
    person, _ = _drawn(plan, "", rng)
    camera = compose.make_camera(65.0, float(rng.choice([0.75, 1.0, 1.4])), pixels=420.0 * 560)
    crop = compose.Crop(float(rng.uniform(0.0, 0.84)), float(rng.uniform(0.03, 0.15)), 0.5)
    camera = compose.settle_camera(camera, [person], crop, (75.0, 85.0))
    ground = StageSet(lamps=random_lamps(rng), backdrop=pick(WALLS, rng))
    return draw_picture(ground, [person], camera, supersample=1)


def _picture(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Arrangement:
    """A picture of a person on the back wall, alone or with somebody beside it."""
    beside = plan.variant == "beside"
    high_m = float(rng.uniform(0.5, 1.1))
    wall_y_m = float(rng.uniform(0.6, 1.6)) if beside else 0.0
    side = float(rng.choice([-1, 1])) * float(rng.uniform(0.8, 1.2)) if beside else 0.0
    middle = np.array([side, wall_y_m - 0.03, float(rng.uniform(1.45, 1.7))])
    parts = framed_picture(portrait(plan, rng), middle, high_m, rng)
    camera = replace(camera, heading_deg=float(rng.uniform(-30, 30)))
    people: tuple[Tagged, ...] = ()
    points = _points(parts)
    if beside:
        people = (_drawn(plan, "", rng),)
        body = _points(people[0][0].parts)
        points = np.concatenate([points, body[body[:, 2] > float(rng.uniform(0.3, 1.1))]])
    fill = float(rng.uniform(0.3, 0.8)) if not beside else 0.9
    camera = _seen(camera, points, Frame(0.5, 0.5, fill, fill))
    return Arrangement(people, camera, tuple(parts), wall_y_m=wall_y_m)


def _mirror(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Arrangement:
    """A person beside the own reflection."""
    person, tags = _drawn(plan, "", rng)
    back = float(rng.uniform(0.55, 1.0))
    twin = reflected(person.parts, back)
    body, other = _points(person.parts), _points(twin)
    shown = float(rng.uniform(0.2, 1.1))
    points = np.concatenate([body[body[:, 2] > shown], other[other[:, 2] > shown]])
    heading = float(rng.uniform(18, 38) * rng.choice([-1, 1]))
    camera = replace(camera, heading_deg=heading, pitch_deg=float(np.clip(plan.pitch_deg, -12, 4)))
    camera = _seen(camera, points, Frame(0.5, 0.5, 0.85, 0.9))
    position = np.asarray(camera.position_m)
    share = (back - position[1]) / (2 * back - position[1])
    x = position[0] * (1 - share)
    wide, low = float(rng.uniform(0.45, 0.9)), float(rng.uniform(0.1, 0.8))
    opening = (np.array([x - wide, low]), np.array([x + wide, float(rng.uniform(1.9, 2.3))]))
    reach = np.abs(position[0]) + 1.6
    if position[1] > -0.8:
        raise ValueError("no room before the mirror")
    plot = Plot(
        near_m=float(-position[1] + 1.2), far_m=back,
        left_m=float(max(reach, wide - x + 0.6)), right_m=float(max(reach, wide + x + 0.6)),
        ceiling_m=max(2.7, float(position[2]) + 0.3),
    )  # fmt: skip
    room = mirror_room(list(person.parts), plot, opening, rng)
    return Arrangement(((person, tags),), camera, tuple(room), closed=True)


NOBODY_LAYOUTS: dict[
    str, Callable[[HardPlan, Camera, np.random.Generator], Arrangement]
] = {
    "empty": _empty, "objects": _objects, "hands": _hands, "statue": _statue, "doll": _doll,
    "picture": _picture, "mirror": _mirror,
}  # fmt: skip
