"""Composition: put people beside each other and solve the camera for the wanted crop."""

from __future__ import annotations

from dataclasses import dataclass, replace

import cv2
import numpy as np

from sample_frames.stage import truth
from sample_frames.stage.bodies import Floats
from sample_frames.stage.cameras import Camera, Framing, place_camera
from sample_frames.stage.parts import Part
from sample_frames.stage.people import Person
from sample_frames.stage.sets import stool

SENSOR_WIDTH_MM = 24.89
MIN_DISTANCE_M = 0.4
LOWEST_CAMERA_M = 0.15
HIGHEST_CAMERA_M = 7.0


def make_camera(lens_mm: float, aspect: float, *, pixels: float = 921600.0) -> Camera:
    """Return a camera at the origin; upright pictures use the sensor turned on its side."""
    width = round(float(np.sqrt(pixels * aspect)) / 2) * 2
    height = round(width / aspect / 2) * 2
    long_mm, ratio = SENSOR_WIDTH_MM, width / height
    sensor = (long_mm, long_mm / ratio) if ratio >= 1 else (long_mm * ratio, long_mm)
    return Camera((0.0, 0.0, 0.0), lens_mm, sensor, (width, height))


def ruler_marks_m(person: Person) -> tuple[Floats, Floats]:
    """Levels (crown first) and world points of a person's body ruler."""
    levels, points = [], []
    for name, level in truth.LEVELS:
        if name in person.marks_m:
            points.append(person.marks_m[name])
        else:
            points.append(0.5 * (person.marks_m[f"{name}_left"] + person.marks_m[f"{name}_right"]))
        levels.append(level)
    return np.array(levels), np.array(points)


def body_point_m(person: Person, level: float) -> Floats:
    """World point of the body ruler at a level; below the sole it goes on straight down."""
    levels, points = ruler_marks_m(person)
    if level < 0:
        return points[-1] + np.array([0.0, 0.0, level * person.stature_m])
    return np.array([np.interp(level, levels[::-1], points[::-1, k]) for k in range(3)])


def highest_point_m(people: list[Person], camera: Camera) -> Floats:
    """Head point that lies highest in the picture."""
    points = np.concatenate([p.head_points_m for p in people])
    if np.allclose(camera.position_m, 0):
        return points[np.argmax(points @ -camera.axes[1])]
    return points[np.nanargmin(camera.project(points)[:, 1])]


@dataclass(frozen=True)
class Crop:
    """A wanted composition.

    Attributes:
        bottom: Level of the bottom edge on the first person.
        headroom: Room over the highest head, of the picture height.
        across: Horizontal place of the middle of all faces, of the picture width.
    """

    bottom: float
    headroom: float
    across: float


def frame_people(camera: Camera, people: list[Person], crop: Crop) -> Camera:
    """Return the camera moved so that the crop comes out.

    Args:
        camera: Lens and aim.
        people: The first one carries the crop level; the highest head the headroom.
        crop: Wanted composition.
    """
    aim = np.mean([p.eyes_m for p in people], axis=0)
    for _ in range(3):
        low = body_point_m(people[0], crop.bottom)
        points = np.array([highest_point_m(people, camera), low, aim])
        camera = place_camera(camera, Framing(crop.headroom, 1.0, crop.across), points)
    return camera


def settle_camera(
    camera: Camera, people: list[Person], crop: Crop, lenses_mm: tuple[float, ...]
) -> Camera:
    """Frame people, changing lens or pitch where the first wish is physically impossible.

    Raises:
        ValueError: If no lens and pitch gives the crop.
    """
    for lens in [camera.lens_mm, *(v for v in lenses_mm if v > camera.lens_mm)]:
        found = _settle_pitch(replace(camera, lens_mm=lens), people, crop)
        if found is not None:
            return found
    msg = "no camera position gives the wanted framing"
    raise ValueError(msg)


def _settle_pitch(wish: Camera, people: list[Person], crop: Crop) -> Camera | None:
    for _ in range(12):
        try:
            found = frame_people(replace(wish, position_m=(0.0, 0.0, 0.0)), people, crop)
        except ValueError:
            wish = replace(wish, pitch_deg=wish.pitch_deg * 0.6)
            continue
        height = found.position_m[2]
        if LOWEST_CAMERA_M <= height <= HIGHEST_CAMERA_M:
            distance_m = np.linalg.norm(people[0].eyes_m - found.position_m)
            return found if distance_m >= MIN_DISTANCE_M else None
        step_deg = -3.0 if height < LOWEST_CAMERA_M else 3.0
        wish = replace(wish, pitch_deg=wish.pitch_deg + step_deg)
    return None


def footprint(person: Person) -> Floats:
    """Outline of a person on the floor, metres, as a convex polygon."""
    points = np.concatenate([p.points_m[p.points_m[:, 2] > 0.25] for p in person.parts])
    return cv2.convexHull(points[:, :2].astype(np.float32))


def overlap_m2(a: Person, b: Person) -> float:
    """Shared floor area of two people; more than 0 may mean that they touch."""
    return float(cv2.intersectConvexConvex(footprint(a), footprint(b))[0])


def stand_clear(first: Person, second: Person, direction: tuple[float, float]) -> Person:
    """Return the second person moved along a direction until the two do not touch."""
    for _ in range(30):
        if overlap_m2(first, second) <= 0.0:
            return second
        second = second.moved(0.05 * direction[0], 0.05 * direction[1])
    return second


def yaw_toward(origin: Floats, target: Floats) -> float:
    """Body turn that makes a person at `origin` face `target`."""
    dx, dy = (target - origin)[:2]
    return float(np.degrees(np.arctan2(dx, -dy)))


def seat_of(person: Person, *, back: bool, colour: tuple[int, int, int]) -> list[Part]:
    """Return the stool or chair under a seated person."""
    hip = 0.5 * (person.marks_m["hip_left"] + person.marks_m["hip_right"])
    yaw = person.pose.body_yaw_deg
    forward = np.array([np.sin(np.radians(yaw)), -np.cos(np.radians(yaw)), 0.0])
    return stool(hip + 0.03 * forward, float(hip[2]) - 0.105, back=back, yaw_deg=yaw, colour=colour)
