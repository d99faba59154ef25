"""Builds a bench scene from its plan: people, camera, set, light and finish."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sample_frames.stage import compose
from sample_frames.stage.cameras import Camera
from sample_frames.stage.casting import random_look, random_pose
from sample_frames.stage.draw import Finish
from sample_frames.stage.looks import Look
from sample_frames.stage.parts import Part
from sample_frames.stage.people import Person, make_person
from sample_frames.stage.plans import LENSES_MM, Plan
from sample_frames.stage.scenes import Shot
from sample_frames.stage.sets import (
    FLOORS,
    Plot,
    StageSet,
    make_exterior,
    make_room,
    random_lamps,
    table,
)
from sample_frames.stage.solids import floor_shadow

TYPES = {"two": "two", "three": "three", "ots": "over-the-shoulder", "empty": "no people"}
# Rooms deeper than this become exteriors.
ROOM_LIMIT_M = 9.0


def build_shot(plan: Plan, rng: np.random.Generator) -> Shot:
    """Return the shot for a plan.

    Raises:
        ValueError: If this draw of random numbers gives no possible layout.
    """
    camera = replace(
        compose.make_camera(plan.lens_mm, plan.aspect, pixels=plan.pixels),
        pitch_deg=plan.pitch_deg,
        roll_deg=plan.roll_deg,
    )
    people, camera, props = _LAYOUTS.get(plan.kind, _lone)(plan, camera, rng)
    outside = _is_outside(camera, rng)
    stage = _place(people, camera, props, rng, outside=outside)
    return Shot(
        name=f"{plan.index:04d}.jpg",
        shot_type=TYPES.get(plan.kind, "single"),
        people=tuple(people),
        stage=stage,
        camera=camera,
        tags=_tags(plan, people, camera, outside=outside),
        subject=0 if plan.kind == "ots" else None,
        foreground=(1,) if plan.kind == "ots" else (),
        bars_px=_bars(camera, rng) if plan.bars else (0, 0),
        finish=_finish(plan, rng),
        seed=int(rng.integers(1 << 30)),
    )


def _lone(
    plan: Plan, camera: Camera, rng: np.random.Generator
) -> tuple[list[Person], Camera, list[Part]]:
    seated = plan.kind == "seated" or (plan.kind == "edge" and rng.random() < 0.2)
    pose = random_pose(rng, head_yaw_deg=plan.yaw_deg, seated=seated)
    props: list[Part] = []
    at_table = seated and abs(plan.yaw_deg) < 60 and rng.random() < 0.35
    if at_table:
        pose = replace(pose, arm_left="table", arm_right="table", bend_deg=6.0)
    person = make_person(random_look(rng), pose)
    if seated:
        wood = FLOORS[int(rng.integers(len(FLOORS)))]
        props += compose.seat_of(person, back=bool(rng.random() < 0.6), colour=wood)
    if at_table:
        props += table_for(person, rng)
    bottom, headroom = plan.bottom, plan.headroom
    if plan.kind == "small":
        headroom = float(rng.uniform(0.25, 0.8 - plan.figure_frac))
        bottom = -(1 - headroom - plan.figure_frac) / plan.figure_frac
    crop = compose.Crop(bottom, headroom, plan.across)
    camera = compose.settle_camera(camera, [person], crop, LENSES_MM)
    return [person], camera, props


def table_for(person: Person, rng: np.random.Generator) -> list[Part]:
    """Return a table under the hands of a seated person."""
    yaw = np.radians(person.pose.body_yaw_deg)
    hip = 0.5 * (person.marks_m["hip_left"] + person.marks_m["hip_right"])
    hands = min(
        person.marks_m[f"{n}_{s}"][2] for n in ("wrist", "fingertip") for s in ("left", "right")
    )
    place = hip[:2] + 0.72 * np.array([np.sin(yaw), -np.cos(yaw)])
    return table(
        (place[0], place[1]),
        (float(rng.uniform(0.9, 1.5)), 0.7),
        float(hands) - 0.045,
        yaw_deg=person.pose.body_yaw_deg,
        colour=FLOORS[int(rng.integers(len(FLOORS)))],
    )


def _row(
    plan: Plan, camera: Camera, rng: np.random.Generator
) -> tuple[list[Person], Camera, list[Part]]:
    count = 2 if plan.kind == "two" else 3
    people: list[Person] = []
    inward = rng.random() < 0.6
    for k in range(count):
        side = (k - (count - 1) / 2) * 2 / (count - 1)
        yaw = -side * rng.uniform(15, 75) if inward else plan.yaw_deg * rng.uniform(-1, 1)
        pose = random_pose(rng, head_yaw_deg=float(yaw), calm=rng.random() < 0.7)
        person = make_person(random_look(rng), pose)
        person = person.moved(k * rng.uniform(0.45, 0.75), float(rng.uniform(-0.3, 0.3)))
        for other in people:
            person = compose.stand_clear(other, person, (1.0, 0.0))
        people.append(person)
    middle = float(np.mean([p.eyes_m[0] for p in people]))
    people = [p.moved(-middle, 0.0) for p in people]
    for wider in range(8):
        bottom = plan.bottom - 0.12 * wider
        crop = compose.Crop(bottom, max(0.02, plan.headroom), plan.across)
        found = compose.settle_camera(camera, people, crop, LENSES_MM)
        across = [found.project(p.eyes_m)[0] / found.picture_wh_px[0] for p in people]
        if min(across) > 0.09 and max(across) < 0.91:
            return people, found, []
    msg = "the people do not fit side by side"
    raise ValueError(msg)


def _over_shoulder(
    plan: Plan, camera: Camera, rng: np.random.Generator
) -> tuple[list[Person], Camera, list[Part]]:
    side = -1.0 if rng.random() < 0.5 else 1.0
    seated = rng.random() < 0.2
    yaw = side * float(rng.uniform(4, 42))
    pose = random_pose(rng, head_yaw_deg=yaw, seated=seated, calm=True)
    far = make_person(random_look(rng), pose)
    apart = float(rng.uniform(0.95, 1.7)) + (0.25 if seated else 0.0)
    camera = replace(camera, pitch_deg=camera.pitch_deg * 0.3)
    for lens in [camera.lens_mm, *(v for v in LENSES_MM if v > camera.lens_mm)]:
        across = 0.5 - side * float(rng.uniform(0.08, 0.2))
        crop = compose.Crop(plan.bottom, max(0.0, plan.headroom), across)
        camera = compose.settle_camera(replace(camera, lens_mm=lens), [far], crop, LENSES_MM)
        if camera.to_camera(far.eyes_m)[2] > apart + 0.6:
            break
    across = 0.5 + side * float(rng.uniform(0.26, 0.44))
    near = near_back(far, camera, (across, apart), rng)
    props: list[Part] = []
    if seated:
        wood = FLOORS[int(rng.integers(len(FLOORS)))]
        props = [part for p in (far, near) for part in compose.seat_of(p, back=False, colour=wood)]
    return [far, near], camera, props


def near_back(
    far: Person,
    camera: Camera,
    place: tuple[float, float],
    rng: np.random.Generator,
    look: Look | None = None,
) -> Person:
    """Who stands with the back to the lens, at a place across the picture and before `far` (m).

    Raises:
        ValueError: If the two would touch.
    """
    across, apart_m = place
    seated = far.pose.posture == "seated"
    depth = camera.to_camera(far.eyes_m)[2] - apart_m
    width = camera.picture_wh_px[0]
    local = np.array([(across - 0.5) * width / camera.focal_px * depth, 0.0, depth])
    spot = np.asarray(camera.position_m) + camera.axes.T @ local
    yaw = compose.yaw_toward(spot, far.eyes_m) + float(rng.uniform(-10, 10))
    pose = random_pose(rng, head_yaw_deg=yaw, seated=seated, calm=True)
    pose = replace(
        pose,
        head_yaw_deg=0.3 * pose.head_yaw_deg,
        body_yaw_deg=yaw,
        bend_deg=2.0,
        lean_deg=0.0,
        legs="sit" if seated else "stand",
    )
    near = make_person(look or random_look(rng), pose)
    shift = spot[:2] - near.eyes_m[:2]
    near = near.moved(float(shift[0]), float(shift[1]))
    if compose.overlap_m2(far, near) > 0.0:
        msg = "the two stand in each other"
        raise ValueError(msg)
    return near


def _nobody(
    plan: Plan, camera: Camera, rng: np.random.Generator
) -> tuple[list[Person], Camera, list[Part]]:
    place = (0.0, -float(rng.uniform(3, 6)), float(rng.uniform(1.0, 2.0)))
    camera = replace(camera, position_m=place, pitch_deg=max(-12.0, min(8.0, plan.pitch_deg)))
    centre = (float(rng.uniform(-0.8, 0.8)), float(rng.uniform(-0.5, 0.5)))
    return (
        [],
        camera,
        table(
            centre,
            (1.4, 0.8),
            0.74,
            yaw_deg=float(rng.uniform(-30, 30)),
            colour=FLOORS[int(rng.integers(len(FLOORS)))],
        ),
    )


_LAYOUTS = {"two": _row, "three": _row, "ots": _over_shoulder, "empty": _nobody}


def _is_outside(camera: Camera, rng: np.random.Generator) -> bool:
    far = np.linalg.norm(camera.position_m[:2]) > ROOM_LIMIT_M or camera.position_m[2] > 3.0
    return bool(far or rng.random() < 0.3)


def _place(
    people: list[Person],
    camera: Camera,
    props: list[Part],
    rng: np.random.Generator,
    *,
    outside: bool,
) -> StageSet:
    hulls = [p.points_m for person in people for p in person.parts] or [np.zeros((1, 3))]
    points = np.concatenate([*hulls, np.asarray(camera.position_m)[None]])
    low, high = points.min(axis=0), points.max(axis=0)
    plot = Plot(
        near_m=float(-low[1] + 0.7),
        far_m=float(high[1] + rng.uniform(0.9, 4.0)),
        left_m=float(-low[0] + rng.uniform(0.9, 3.5)),
        right_m=float(high[0] + rng.uniform(0.9, 3.5)),
        ceiling_m=float(max(2.6, high[2] + 0.3)),
    )
    lamps = random_lamps(rng)
    parts = make_exterior(plot, rng) if outside else make_room(plot, rng)
    toward = np.asarray(lamps[0].toward)
    strength = float(rng.uniform(0.35, 0.65))
    shadows = [floor_shadow(p, toward, strength) for p in people]
    return StageSet((*parts, *props, *shadows), lamps)


def _bars(camera: Camera, rng: np.random.Generator) -> tuple[int, int]:
    width, height = camera.picture_wh_px
    if width / height > 1.5:
        return 0, int(height * rng.uniform(0.06, 0.16))
    return int(width * rng.uniform(0.06, 0.2)), 0


def _finish(plan: Plan, rng: np.random.Generator) -> Finish:
    return Finish(
        noise=float(rng.uniform(0.3, 3.0)) * (1.4 if plan.dim else 1.0),
        blur_px=float(rng.choice([0.0, 0.0, 0.4, 0.8, 1.2])),
        exposure=float(rng.uniform(0.5, 0.7) if plan.dim else rng.uniform(0.9, 1.2)),
    )


def _tags(plan: Plan, people: list[Person], camera: Camera, *, outside: bool) -> tuple[str, ...]:
    tags = [plan.kind, "exterior" if outside else "interior", f"lens {camera.lens_mm:g}"]
    tags += ["rolled"] if camera.roll_deg else []
    tags += ["tilted"] if abs(camera.pitch_deg) > 10 else []
    tags += ["bars"] if plan.bars else []
    tags += ["dim"] if plan.dim else []
    if people and plan.kind != "small":
        tags.append(f"bottom {np.floor(plan.bottom * 10) / 10:.1f}")
        tags += ["crown trimmed"] if plan.headroom < 0 else []
    for arm in sorted({people[0].pose.arm_left, people[0].pose.arm_right} if people else set()):
        tags.append(f"arm {arm.replace('_', ' ')}")
    return tuple(tags)
