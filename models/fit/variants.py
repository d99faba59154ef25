"""Further views of a rendered scene: the same people and set from other places and lenses.

Dressing people costs more than drawing them, so each scene is drawn from several cameras.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from sample_frames.stage.bodies import Floats
from sample_frames.stage.cameras import Camera
from sample_frames.stage.scenes import Result, Shot, render_shot

ORBIT_DEG = 40.0
SMALL_ORBIT_DEG = 7.0
"""What a shot stands that is staged for its lens: past a shoulder, at a mirror, at a picture."""

STAGED = frozenset({"mirror", "picture"})
NEARER = 0.35
"""Most change of the distance, and of the lens, as a logarithm."""

LEAST_HEIGHT_M = 0.1
LEAST_HEAD_SHOWN = 0.2


def other_views(shot: Shot, count: int, rng: np.random.Generator) -> Iterator[tuple[Shot, Result]]:
    """Up to `count` further views in which somebody's head is to be seen (or nobody, as before)."""
    for _ in range(count):
        view = replace(
            shot, camera=_moved(shot, rng), seed=int(rng.integers(1 << 30)),
            damage=replace(shot.damage, seed=int(rng.integers(1 << 30))),
            finish=replace(shot.finish, exposure=shot.finish.exposure * rng.uniform(0.75, 1.3)),
        )  # fmt: skip
        result = render_shot(view, coarse=True)
        people = result.truth["people"]
        if not shot.people or any(p["head_visible_frac"] > LEAST_HEAD_SHOWN for p in people):
            yield view, result


def _moved(shot: Shot, rng: np.random.Generator) -> Camera:
    camera = shot.camera
    staged = bool(shot.foreground) or shot.kind in STAGED
    orbit_deg = rng.uniform(-1, 1) * (SMALL_ORBIT_DEG if staged else ORBIT_DEG)
    rise_deg = rng.uniform(-1, 1) * (0.3 if staged else 1.0) * 14.0
    nearer, longer = np.exp(rng.uniform(-NEARER, NEARER, 2))
    pivot = _pivot(shot, rng)
    offset = _turned(np.asarray(camera.position_m) - pivot, orbit_deg, rise_deg) * nearer
    position = pivot + offset
    position[2] = max(position[2], LEAST_HEIGHT_M)
    return replace(
        camera, position_m=tuple(float(v) for v in position),
        lens_mm=float(camera.lens_mm * longer), heading_deg=camera.heading_deg + orbit_deg,
        pitch_deg=float(np.clip(camera.pitch_deg - rise_deg + rng.normal(0, 2), -60, 60)),
        roll_deg=camera.roll_deg + float(rng.normal(0, 3) if rng.random() < 0.5 else 0.0),
    )  # fmt: skip


def _pivot(shot: Shot, rng: np.random.Generator) -> Floats:
    """A point of somebody's body, or three metres ahead of the lens."""
    beyond = [i for i in range(len(shot.people)) if i not in shot.foreground]
    if not beyond:
        return np.asarray(shot.camera.position_m) + 3.0 * shot.camera.axes[2]
    person = shot.people[int(rng.choice(beyond))]
    low = 0.5 * (person.marks_m["hip_left"] + person.marks_m["hip_right"])
    return person.eyes_m + rng.uniform(0, 0.7) * (low - person.eyes_m)


def _turned(offset: Floats, orbit_deg: float, rise_deg: float) -> Floats:
    """The offset turned about the vertical, then raised along its own meridian."""
    across = math.hypot(offset[0], offset[1])
    angle = math.atan2(offset[1], offset[0]) + math.radians(orbit_deg)
    height = math.atan2(offset[2], across) + math.radians(rise_deg)
    height = min(max(height, -1.2), 1.2)
    length = float(np.linalg.norm(offset))
    return length * np.array(
        [math.cos(height) * math.cos(angle), math.cos(height) * math.sin(angle), math.sin(height)]
    )
