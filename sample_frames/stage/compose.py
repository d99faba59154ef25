"""Composition: put people beside each other and solve the camera for the wanted crop."""

from __future__ import annotations

from dataclasses import replace

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


def make_camera(lens_mm: float, aspect: float, *, pixels: float = 921600.0) -> Camera:
    """Return a camera at the origin; upright pictures use the sensor turned on its side."""
    width = int(round(np.sqrt(pixels * aspect) / 2)) * 2
    height = int(round(width / aspect / 2)) * 2
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


def frame_people(
    camera: Camera, people: list[Person], *, bottom: float, headroom: float, across: float
) -> Camera:
    """Return the camera moved so that the crop level, headroom and place come out.

    Args:
        camera: Lens and aim.
        people: The first one carries the crop level; the highest head the headroom.
        bottom: Wanted level of the bottom edge.
        headroom: Wanted room over the highest head, of the picture height.
        across: Wanted horizontal place of the middle of all faces, of the picture width.
    """
    aim = np.mean([p.eyes_m for p in people], axis=0)
    for _ in range(3):
        points = np.array([highest_point_m(people, camera), body_point_m(people[0], bottom), aim])
        camera = place_camera(camera, Framing(headroom, 1.0, across), points)
    return camera


def settle_camera(
    camera: Camera,
    people: list[Person],
    *,
    bottom: float,
    headroom: float,
    across: float,
    lenses_mm: tuple[float, ...],
) -> Camera:
    """Frame people, changing lens or pitch where the first wish is physically impossible."""
    for lens in [camera.lens_mm, *(v for v in lenses_mm if v > camera.lens_mm)]:
        wish = replace(camera, lens_mm=lens)
        for _ in range(12):
            try:
                found = frame_people(
                    replace(wish, position_m=(0.0, 0.0, 0.0)),
                    people,
                    bottom=bottom,
                    headroom=headroom,
                    across=across,
                )
            except ValueError:
                wish = replace(wish, pitch_deg=wish.pitch_deg * 0.6)
                continue
            height = found.position_m[2]
            if height < LOWEST_CAMERA_M:
                wish = replace(wish, pitch_deg=wish.pitch_deg - 3.0)
            elif height > 7.0:
                wish = replace(wish, pitch_deg=wish.pitch_deg + 3.0)
            elif np.linalg.norm(people[0].eyes_m - found.position_m) < MIN_DISTANCE_M:
                break
            else:
                return found
    msg = "no camera position gives the wanted framing"
    raise ValueError(msg)


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
