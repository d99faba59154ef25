"""Builds a hard scene from its plan: a layout, its surroundings, light, damage and tags."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sample_frames.stage import compose, hard_groups, hard_layouts
from sample_frames.stage.bodies import Floats
from sample_frames.stage.cameras import Camera
from sample_frames.stage.damage import Damage
from sample_frames.stage.draw import Finish
from sample_frames.stage.hard_layouts import bounds_m, lone
from sample_frames.stage.hard_nobody import NOBODY_LAYOUTS, Arrangement
from sample_frames.stage.hard_plans import OUTSIDE, HardPlan
from sample_frames.stage.hard_sets import hard_lamps, make_place
from sample_frames.stage.parts import Part
from sample_frames.stage.people import Person
from sample_frames.stage.scenes import Shot
from sample_frames.stage.sets import Plot, StageSet
from sample_frames.stage.solids import floor_shadow

# Rooms deeper than this become exteriors.
ROOM_LIMIT_M = 11.0
ROOF_M = 3.2
_LAYOUTS = hard_layouts.LAYOUTS | hard_groups.LAYOUTS


def build_hard_shot(plan: HardPlan, rng: np.random.Generator) -> Shot:
    """Return the shot for a hard plan.

    Raises:
        ValueError: If this draw of random numbers gives no possible layout.
    """
    camera = replace(
        compose.make_camera(plan.lens_mm, plan.aspect, pixels=plan.pixels),
        pitch_deg=plan.pitch_deg,
        roll_deg=plan.roll_deg,
    )
    found = _arrange(plan, camera, rng)
    camera, people = found.camera, [person for person, _ in found.people]
    place = _place_for(plan, camera, rng)
    stage = _surround(found, place, rng)
    over_shoulder = plan.kind == "shoulder"
    return Shot(
        name=f"{plan.index:04d}.jpg",
        shot_type="over-the-shoulder" if over_shoulder else _type_of(len(people)),
        people=tuple(people),
        stage=stage,
        camera=camera,
        tags=_tags(plan, camera, place),
        bars_px=(0, int(camera.picture_wh_px[1] * 0.1)) if plan.bars else (0, 0),
        finish=Finish(noise=float(rng.uniform(0.3, 3.0)), exposure=float(rng.uniform(0.85, 1.2))),
        seed=int(rng.integers(1 << 30)),
        kind=plan.kind,
        subject=0 if over_shoulder else None,
        foreground=(1,) if over_shoulder else (),
        person_tags=tuple(tags for _, tags in found.people),
        damage=Damage(
            plan.damage, float(rng.uniform(0, 1)), float(rng.uniform(0, 180)),
            int(rng.integers(1 << 30)),
        ),
    )  # fmt: skip


def _arrange(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> Arrangement:
    if plan.kind in NOBODY_LAYOUTS:
        return NOBODY_LAYOUTS[plan.kind](plan, camera, rng)
    people, camera, props = _LAYOUTS.get(plan.kind, lone)(plan, camera, rng)
    return Arrangement(tuple(people), camera, tuple(props))


def _type_of(count: int) -> str:
    return {0: "no people", 1: "single", 2: "two", 3: "three"}.get(count, "group")


def _place_for(plan: HardPlan, camera: Camera, rng: np.random.Generator) -> str:
    """The plan's place, or an exterior where no room is high or deep enough."""
    if plan.kind in {"picture", "mirror"}:
        return "papered room"
    far = np.linalg.norm(camera.position_m[:2]) > ROOM_LIMIT_M or camera.position_m[2] > ROOF_M
    if far and plan.place not in OUTSIDE:
        return str(rng.choice(sorted(OUTSIDE)))
    return plan.place


def _surround(found: Arrangement, place: str, rng: np.random.Generator) -> StageSet:
    people = [person for person, _ in found.people]
    lamps = hard_lamps(rng)
    strength = float(rng.uniform(0.35, 0.65))
    shadows = [_shadow(p, np.asarray(lamps[0].toward), strength) for p in people]
    if found.closed:
        return StageSet((*found.props, *shadows), lamps)
    solid = [part.points_m for p in people for part in p.parts]
    solid += [part.points_m for part in found.props]
    solid.append(np.asarray(found.camera.position_m)[None])
    points = np.concatenate(solid)
    low, high = points.min(axis=0), points.max(axis=0)
    far_m = float(high[1] + rng.uniform(0.6, 4.0)) if found.wall_y_m is None else found.wall_y_m
    plot = Plot(
        near_m=float(-low[1] + 0.7),
        far_m=far_m,
        left_m=float(-low[0] + rng.uniform(0.9, 3.0)),
        right_m=float(high[0] + rng.uniform(0.9, 3.0)),
        ceiling_m=float(max(2.6, high[2] + 0.3)),
    )
    parts = make_place(place, plot, rng, bare=found.wall_y_m is not None)
    return StageSet((*parts, *found.props, *shadows), lamps)


def _shadow(person: Person, toward: Floats, strength: float) -> Part:
    """The shadow on whatever the person stands or lies on."""
    lift_m = float(bounds_m([person])[0][2])
    lift_m = lift_m if lift_m > 0.05 else 0.0
    toward = np.array([toward[0], toward[1], max(toward[2], 0.5)])
    return floor_shadow(person.moved(0, 0, -lift_m), toward, strength).moved(
        0.0, np.array([0.0, 0.0, lift_m])
    )


def _tags(plan: HardPlan, camera: Camera, place: str) -> tuple[str, ...]:
    tags = [plan.kind, f"{plan.kind}: {plan.variant}", place, f"lens {camera.lens_mm:g}", "hard"]
    tags.append("exterior" if place in OUTSIDE else "interior")
    tags += ["rolled"] if abs(camera.roll_deg) > 0 else []
    tags += [plan.damage] if plan.damage else []
    tags += ["bars"] if plan.bars else []
    return tuple(tags)
