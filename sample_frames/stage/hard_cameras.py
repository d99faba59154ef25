"""Cameras for the hard scenes: any set of points into any window, and details of a head."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from sample_frames.stage.bodies import Floats
from sample_frames.stage.cameras import Camera
from sample_frames.stage.people import Person

LOWEST_M = 0.12
NEAREST_M = 0.3


@dataclass(frozen=True)
class Frame:
    """Where points shall fall: middle and largest extent, in shares of the picture."""

    x: float
    y: float
    width: float
    height: float


def fit_camera(camera: Camera, points_m: Floats, frame: Frame) -> Camera:
    """Return the camera moved (not turned) so that the points just fill the frame.

    Args:
        camera: Lens, aim and picture; its position is ignored.
        points_m: (N, 3) world points.
        frame: Where they shall fall.

    Raises:
        ValueError: If the camera would come too near.
    """
    wh = np.asarray(camera.picture_wh_px, float)
    wanted, middle = wh * (frame.width, frame.height), wh * (frame.x, frame.y)
    local = points_m @ camera.axes.T
    spans = np.ptp(local[:, :2], axis=0)
    depth = float((camera.focal_px * spans / wanted).max()) + 0.5 * float(np.ptp(local[:, 2]))
    origin = np.array(
        [*(0.5 * (local[:, :2].min(axis=0) + local[:, :2].max(axis=0))), local[:, 2].mean()]
    )
    for _ in range(12):
        moved = local - origin + [0.0, 0.0, depth]
        if moved[:, 2].min() < NEAREST_M:
            depth += NEAREST_M - float(moved[:, 2].min()) + 0.05
            continue
        pixels = wh / 2 + camera.focal_px * moved[:, :2] / moved[:, 2:]
        low, high = pixels.min(axis=0), pixels.max(axis=0)
        scale = float(((high - low) / wanted).max())
        origin[:2] += (0.5 * (low + high) - middle) * depth / camera.focal_px
        depth *= scale
    if (local[:, 2] - origin[2] + depth).min() < NEAREST_M:
        raise ValueError("the lens would have to stand in the people")
    position = camera.axes.T @ (origin - [0.0, 0.0, depth])
    return replace(camera, position_m=tuple(float(v) for v in position))


def keep_above_floor(place: Callable[[Camera], Camera], camera: Camera) -> Camera:
    """Place a camera, looking down more and more until it stands over the floor.

    Raises:
        ValueError: If it never does.
    """
    for _ in range(16):
        found = place(camera)
        if found.position_m[2] >= LOWEST_M:
            return found
        camera = replace(camera, pitch_deg=camera.pitch_deg - 4.0)
    raise ValueError("the camera would lie under the floor")


def aim_close(camera: Camera, person: Person, variant: str, rng: np.random.Generator) -> Camera:
    """Return the camera so near that a part of the head fills the picture.

    Raises:
        ValueError: If no distance gives it.
    """
    marks = person.marks_m
    ears = float(np.linalg.norm(marks["ear_left"] - marks["ear_right"]))
    eye = marks["eye_left" if rng.random() < 0.5 else "eye_right"]
    middle, wide = {
        "ear to ear": (0.55 * person.eyes_m + 0.45 * marks["nose"], ears * rng.uniform(0.95, 1.25)),
        "one eye": (eye, ears * rng.uniform(0.38, 0.65)),
        "mouth": (0.5 * marks["nose"] + 0.5 * marks["chin"], ears * rng.uniform(0.5, 0.85)),
        "back of head": (
            0.5 * (marks["ear_left"] + marks["ear_right"]) + 0.03 * person.face_up,
            ears * rng.uniform(1.1, 2.2),
        ),
    }[variant]
    height_limit = ears * {"mouth": 0.55, "one eye": 0.6}.get(variant, 2.4)
    width, height = camera.picture_wh_px
    wide = min(float(wide), height_limit * width / height)
    depth = wide * camera.focal_px / width
    shift = rng.uniform(-0.06, 0.06, 2) * wide
    position = middle - camera.axes[2] * max(depth, NEAREST_M) + shift @ camera.axes[:2]
    if position[2] < LOWEST_M:
        raise ValueError("the camera would lie under the floor")
    return replace(camera, position_m=tuple(float(v) for v in position))
