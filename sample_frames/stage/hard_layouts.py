"""Layouts of one person: cropped, on the floor, tiny, behind a thing, or from very near."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sample_frames.stage import compose
from sample_frames.stage.bodies import Floats
from sample_frames.stage.builder import table_for
from sample_frames.stage.cameras import Camera
from sample_frames.stage.hard_cameras import Frame, aim_close, fit_camera, keep_above_floor
from sample_frames.stage.hard_casting import cast, pose_for
from sample_frames.stage.hard_nobody import Tagged
from sample_frames.stage.hard_plans import HardPlan
from sample_frames.stage.hard_sets import obstacle
from sample_frames.stage.parts import Part
from sample_frames.stage.people import Person, make_person
from sample_frames.stage.plans import LENSES_MM
from sample_frames.stage.sets import FLOORS, pick
from sample_frames.stage.solids import box

Cast = list[Tagged]
Layout = tuple[Cast, Camera, list[Part]]


def main_person(plan: HardPlan, rng: np.random.Generator) -> Tagged:
    """The main subject as the plan wants it, at the origin."""
    look, tags = cast(rng, plan.tone, plan.body, plan.hair)
    pose = pose_for(plan.kind, plan.variant, plan.yaw_deg, rng)
    return make_person(look, pose), (*tags, pose.legs.replace("_", " "))


def other_person(
    plan: HardPlan, yaw_deg: float, rng: np.random.Generator, body: str = ""
) -> Tagged:
    """Somebody else in the pose of the plan's kind."""
    look, tags = cast(rng, body=body)
    pose = pose_for(plan.kind, "", yaw_deg, rng)
    return make_person(look, pose), (*tags, pose.legs.replace("_", " "))


def lone(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Layout:
    """One upright person, cropped where the plan says."""
    person, tags = main_person(plan, rng)
    props: list[Part] = []
    if plan.kind == "lean" and plan.variant == "backward":
        props = _wall_behind(person, rng)
    if plan.kind == "steep" and plan.variant == "low":
        lift_m = float(rng.uniform(0.0, 2.5))
        person = person.moved(0.0, 0.0, lift_m)
        props = platform(person, lift_m, rng) if lift_m > 0.1 else []
    if plan.kind == "run" or (plan.kind == "lean" and rng.random() < 0.5):
        return fitted(plan, camera, [(person, tags)], props, rng)
    bottom = min(plan.bottom, 0.72) if plan.kind in {"steep", "arms"} else plan.bottom
    crop = compose.Crop(bottom, plan.headroom, plan.across)
    camera = compose.settle_camera(camera, [person], crop, LENSES_MM)
    return [(person, tags)], camera, props


def _wall_behind(person: Person, rng: np.random.Generator) -> list[Part]:
    """A post as wide as a wall's end at the back of who leans on it."""
    yaw = np.radians(person.pose.body_yaw_deg)
    back = np.array([-np.sin(yaw), np.cos(yaw), 0.0])
    points = np.concatenate([part.points_m for part in person.parts if not part.head.all()])
    deep = float((points @ back).max()) + 0.005
    centre = back * (deep + 0.2)
    wide = float(rng.uniform(0.4, 1.6))
    return box(
        (centre[0], centre[1], 1.3), (wide, 0.4, 2.6), yaw_deg=person.pose.body_yaw_deg,
        colour=pick(FLOORS, rng),
    )  # fmt: skip


def platform(person: Person, lift_m: float, rng: np.random.Generator) -> list[Part]:
    """A block under a person who was lifted."""
    low, high = bounds_m([person])
    middle = 0.5 * (low + high)
    size = (float(high[0] - low[0] + 0.6), float(high[1] - low[1] + 0.4), lift_m)
    return box((middle[0], middle[1], lift_m / 2), size, colour=pick(FLOORS, rng))


def bounds_m(people: list[Person]) -> tuple[Floats, Floats]:
    """Lowest and highest coordinates of people."""
    points = np.concatenate([part.points_m for p in people for part in p.parts])
    return points.min(axis=0), points.max(axis=0)


def shown_points(person: Person, lowest: float) -> Floats:
    """Points of a person above a share of the pose's own height."""
    points = np.concatenate([part.points_m for part in person.parts])
    low, high = points[:, 2].min(), points[:, 2].max()
    return points[points[:, 2] >= low + lowest * (high - low)]


def fitted(
    plan: HardPlan, camera: Camera, people: Cast, props: list[Part], rng: np.random.Generator
) -> Layout:
    """The camera moved so that the people, or their upper part, fill a share of the picture."""
    tight = plan.kind not in {"lying", "tiny"} and rng.random() < 0.4
    lowest = float(rng.uniform(0.2, 0.6)) if tight else 0.0
    points = np.concatenate([shown_points(person, lowest) for person, _ in people])
    fill = float(rng.uniform(0.6, 0.95))
    x = float(rng.uniform(0.35, 0.65)) if fill < 0.8 else 0.5
    frame = Frame(x, 1.0 - fill / 2 if tight else 0.5, fill, fill)
    return people, keep_above_floor(lambda c: fit_camera(c, points, frame), camera), props


def _grounded(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Layout:
    """Somebody on the floor, or on something low and flat."""
    person, tags = main_person(plan, rng)
    props: list[Part] = []
    raised = plan.kind == "lying" and rng.random() < 0.5
    if raised:
        lift_m = float(rng.uniform(0.25, 0.6))
        person = person.moved(0.0, 0.0, lift_m)
        props = platform(person, lift_m, rng)
    if plan.kind == "lying" and camera.pitch_deg > -4:
        camera = replace(camera, pitch_deg=-float(rng.uniform(4, 40)))
    return fitted(plan, camera, [(person, tags)], props, rng)


def _tiny(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Layout:
    """Figures of a few percent of the picture height, somewhere in it."""
    people = [main_person(plan, rng)]
    if plan.people > 1:
        second, tags = other_person(plan, float(rng.uniform(-180, 180)), rng)
        people.append((second.moved(float(rng.uniform(0.8, 2.5)), float(rng.uniform(-1, 1))), tags))
    points = np.concatenate([shown_points(person, 0.0) for person, _ in people])
    y = float(rng.uniform(0.35, 0.8))
    frame = Frame(float(rng.uniform(0.15, 0.85)), y, 0.5, plan.figure_frac)
    found = fit_camera(camera, points, frame)
    for _ in range(30):
        height = found.position_m[2]
        if 0.4 <= height <= 12.0:
            return people, found, []
        step_deg = 1.0 if height > 12.0 else -1.0
        camera = replace(camera, pitch_deg=camera.pitch_deg + step_deg)
        found = fit_camera(camera, points, frame)
    raise ValueError("no camera height shows so small a figure there")


def _hidden(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Layout:
    """A person partly behind a thing."""
    person, tags = main_person(plan, rng)
    bottom = min(plan.bottom, 0.45)
    crop = compose.Crop(bottom, plan.headroom, plan.across)
    for lens_mm in [plan.lens_mm, *(v for v in LENSES_MM if v > plan.lens_mm)]:
        found = compose.settle_camera(replace(camera, lens_mm=lens_mm), [person], crop, LENSES_MM)
        toward = np.asarray(found.position_m)[:2]
        if np.hypot(*toward) > 1.7:
            break
    else:
        raise ValueError("no room for a thing before the lens")
    level_m = float(rng.uniform(max(0.28, bottom + 0.12), 0.68)) * person.stature_m
    return [(person, tags)], found, obstacle(plan.variant, level_m, toward, rng)


def _close(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Layout:
    """A part of one face, or the back of one head, fills the picture."""
    person, tags = main_person(plan, rng)
    return [(person, tags)], aim_close(camera, person, plan.variant, rng), []


def _seated(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Layout:
    """Somebody on a chair or stool, or at a table."""
    look, tags = cast(rng, plan.tone, plan.body, plan.hair)
    pose = pose_for(plan.kind, plan.variant, plan.yaw_deg, rng)
    if plan.variant == "table":
        pose = replace(pose, arm_left="table", arm_right="table", bend_deg=6.0)
    person = make_person(look, pose)
    back = plan.variant != "stool"
    props = compose.seat_of(person, back=back, colour=pick(FLOORS, rng))
    if plan.variant == "table":
        props += table_for(person, rng)
    crop = compose.Crop(plan.bottom, plan.headroom, plan.across)
    camera = compose.settle_camera(camera, [person], crop, LENSES_MM)
    return [(person, (*tags, "sit"))], camera, props


LAYOUTS = {
    "floor": _grounded, "lying": _grounded, "kneel": _grounded, "tiny": _tiny,
    "furniture": _hidden, "close": _close, "seated": _seated,
}  # fmt: skip
