"""Layouts of several people: crowds, people who hide each other, a child and an adult, a back."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import numpy as np

from sample_frames.stage import compose
from sample_frames.stage.bodies import Floats
from sample_frames.stage.builder import near_back
from sample_frames.stage.cameras import Camera
from sample_frames.stage.hard_cameras import Frame, fit_camera, keep_above_floor
from sample_frames.stage.hard_casting import cast
from sample_frames.stage.hard_layouts import (
    Cast,
    Layout,
    fitted,
    lone,
    main_person,
    other_person,
    shown_points,
)
from sample_frames.stage.hard_plans import HardPlan
from sample_frames.stage.people import Person
from sample_frames.stage.plans import LENSES_MM

# Places tried for the same people before others are drawn.
ARRANGEMENTS = 10


def _crowd(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Layout:
    """Four to twelve people in a row, in a group or spread over the floor."""
    bodies = ["average", "average", "average", "heavy", "thin", "tall", "teen"]
    people: Cast = []
    for number in range(plan.people):
        yaw = (
            float(rng.normal(0, 35)) if plan.variant != "spread" else float(rng.uniform(-180, 180))
        )
        people.append(
            main_person(replace(plan, yaw_deg=yaw), rng) if number == 0
            else other_person(plan, yaw, rng, str(rng.choice(bodies)))
        )  # fmt: skip
    camera = replace(camera, pitch_deg=min(camera.pitch_deg, 6.0) - (4 if plan.people > 6 else 0))
    lowest = float(rng.choice([0.0, 0.0, 0.35, 0.55]))
    fill, y = float(rng.uniform(0.8, 0.96)), 0.5 if lowest == 0 else 0.52
    return _arranged(
        people,
        lambda: _SPOTS[plan.variant](plan.people, rng),
        lambda placed: _fit_shown(placed, camera, lowest, Frame(0.5, y, fill, 0.85)),
    )


def _fit_shown(people: list[Person], camera: Camera, lowest: float, frame: Frame) -> Camera:
    points = np.concatenate([shown_points(person, lowest) for person in people])
    return keep_above_floor(lambda c: fit_camera(c, points, frame), camera)


def _arranged(
    people: Cast, draw_spots: Callable[[], Floats], find: Callable[[list[Person]], Camera]
) -> Layout:
    """The people at the first spots drawn where nobody's head hides another's.

    Raises:
        ValueError: If no spots do.
    """
    for _ in range(ARRANGEMENTS):
        placed: list[Person] = []
        for (person, _), (x, y) in zip(people, draw_spots(), strict=True):
            moved = person.moved(float(x), float(y))
            for other in placed:
                moved = compose.stand_clear(other, moved, (0.8, 0.6))
            placed.append(moved)
        camera = find(placed)
        if _heads_apart(placed, camera):
            return [(p, tags) for p, (_, tags) in zip(placed, people, strict=True)], camera, []
    raise ValueError("one head hides another")


def _row_spots(count: int, rng: np.random.Generator) -> Floats:
    x = np.cumsum(rng.uniform(0.5, 0.8, count))
    return np.stack([x - x.mean(), rng.uniform(-0.2, 0.2, count)], axis=1)


def _group_spots(count: int, rng: np.random.Generator) -> Floats:
    front = (count + 1) // 2
    gap = float(rng.uniform(0.75, 1.0))
    spots = []
    for k in range(count):
        row, place = (0, k) if k < front else (1, k - front)
        spots.append((place * gap + row * gap / 2, row * float(rng.uniform(0.8, 1.1))))
    out = np.array(spots) + rng.uniform(-0.06, 0.06, (count, 2))
    return out - [out[:, 0].mean(), 0.0]


def _spread_spots(count: int, rng: np.random.Generator) -> Floats:
    spots: list[Floats] = []
    while len(spots) < count:
        spot = rng.uniform([-0.45 * count, 0.0], [0.45 * count, 1.0 * count])
        if all(np.hypot(*(spot - other)) > 0.8 for other in spots):
            spots.append(spot)
    return np.array(sorted(spots, key=lambda s: s[1]))


_SPOTS = {"row": _row_spots, "group": _group_spots, "spread": _spread_spots}


def _heads_apart(people: list[Person], camera: Camera) -> bool:
    """Whether every head lies before the lens and can be told from the others."""
    heads = []
    for person in people:
        points = camera.project(person.head_points_m)
        if np.isnan(points).any():
            return False
        heads.append((points.min(axis=0), points.max(axis=0)))
    for (low_a, high_a), (low_b, high_b) in combinations(heads, 2):
        shared = np.clip(np.minimum(high_a, high_b) - np.maximum(low_a, low_b), 0, None)
        least = min(float(np.prod(high_a - low_a)), float(np.prod(high_b - low_b)))
        if float(np.prod(shared)) > 0.4 * least:
            return False
    return True


def _overlap(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Layout:
    """People who partly hide each other."""
    people = [main_person(plan, rng)]
    for _ in range(1, plan.people):
        yaw = float(rng.uniform(-60, 60)) if rng.random() < 0.7 else float(rng.uniform(-180, 180))
        body = str(rng.choice(["average", "heavy", "thin", "tall", "teen"]))
        people.append(other_person(plan, yaw, rng, body))
    crop = compose.Crop(min(plan.bottom, 0.62), max(0.02, plan.headroom), plan.across)
    return _arranged(
        people,
        lambda: _staggered_spots(plan.people, rng),
        lambda placed: compose.settle_camera(camera, placed, crop, LENSES_MM),
    )


def _staggered_spots(count: int, rng: np.random.Generator) -> Floats:
    side = float(rng.choice([-1, 1]))
    spots = [(0.0, 0.0)]
    for number in range(1, count):
        across = side * float(rng.uniform(0.2, 0.5)) * (1 if number == 1 else -1)
        spots.append((across, float(rng.uniform(0.45, 1.2)) * number))
    return np.array(spots)


def _child(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Layout:
    """A child alone or beside an adult."""
    if plan.people == 1:
        return lone(plan, camera, rng)
    child, tags = main_person(plan, rng)
    adult, adult_tags = other_person(plan, float(rng.uniform(-70, 70)), rng, "average")
    side = float(rng.choice([-1, 1]))
    adult = compose.stand_clear(child, adult.moved(side * 0.35, 0.1), (side, 0.0))
    return fitted(plan, camera, [(child, tags), (adult, adult_tags)], [], rng)


def _over_shoulder(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Layout:
    """A face beyond the back of somebody near."""
    side = float(rng.choice([-1, 1]))
    far, tags = main_person(replace(plan, yaw_deg=side * float(rng.uniform(4, 42))), rng)
    apart_m = float(rng.uniform(0.95, 1.7))
    camera = replace(camera, pitch_deg=camera.pitch_deg * 0.3)
    bottom = 0.42 + 0.42 * float(rng.random())
    across = 0.5 - side * float(rng.uniform(0.08, 0.2))
    crop = compose.Crop(bottom, max(0.0, plan.headroom), across)
    for lens_mm in [camera.lens_mm, *(v for v in LENSES_MM if v > camera.lens_mm)]:
        camera = compose.settle_camera(replace(camera, lens_mm=lens_mm), [far], crop, LENSES_MM)
        if camera.to_camera(far.eyes_m)[2] > apart_m + 0.6:
            break
    look, near_tags = cast(rng, body=str(rng.choice(["average", "heavy", "thin", "teen"])))
    place = (0.5 + side * float(rng.uniform(0.26, 0.44)), apart_m)
    near = near_back(far, camera, place, rng, look)
    return [(far, tags), (near, near_tags)], camera, []


LAYOUTS = {
    "crowd": _crowd, "overlap": _overlap, "child": _child, "shoulder": _over_shoulder,
}  # fmt: skip
