"""Facing and posture."""

from __future__ import annotations

import math

import numpy as np

from framecheck.records.framing import BodyRuler, Facing, Posture
from framecheck.records.seen import JOINT_INDEX, BodySeen

FACING_LIMITS_DEG = (22.5, 67.5, 112.5)
"""Half way between 0 (to lens), 45 (three-quarter), 90 (profile) and 135 (three-quarter back)."""

AWAY_DEG = FACING_LIMITS_DEG[-1]
"""Yaw beyond which a head is away: not even a profile of its face shows."""

SEATED_THIGH_DEG = 50.0
"""Angle of the thighs off the torso's axis from which a person counts as seated."""

LYING_TORSO_DEG = 50.0
"""Tilt of the torso off the vertical from which a posture is neither standing nor seated."""


def judge_facing(yaw_deg: float) -> Facing:
    """Which way the head is turned; limits belong to the nearer side."""
    names = (Facing.TO_LENS, Facing.THREE_QUARTER, Facing.PROFILE)
    for limit_deg, name in zip(FACING_LIMITS_DEG, names, strict=True):
        if abs(yaw_deg) <= limit_deg:
            return name
    return Facing.AWAY


def judge_posture(body: BodySeen | None, ruler: BodyRuler) -> Posture | None:
    """How the body is held; None when the hips or the knees are outside the picture."""
    marks = {mark.name: mark for mark in ruler.marks}
    if body is None or not (marks["hip"].seen and marks["knee"].seen):
        return None
    torso = _middle_m(body, "hip") - _middle_m(body, "shoulder")
    thigh = _middle_m(body, "knee") - _middle_m(body, "hip")
    if _angle_deg(torso, np.array([0.0, 1.0, 0.0])) > LYING_TORSO_DEG:
        return Posture.OTHER
    return Posture.SEATED if _angle_deg(torso, thigh) > SEATED_THIGH_DEG else Posture.STANDING


def _middle_m(body: BodySeen, name: str) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
    left, right = JOINT_INDEX[f"{name}_left"], JOINT_INDEX[f"{name}_right"]
    return np.asarray((body.joints_m[left] + body.joints_m[right]) / 2)


def _angle_deg(
    one: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
    other: np.ndarray[tuple[int, ...], np.dtype[np.float64]],
) -> float:
    lengths = float(np.linalg.norm(one) * np.linalg.norm(other))
    if lengths == 0:
        return 0.0
    return math.degrees(math.acos(float(np.clip(one @ other / lengths, -1.0, 1.0))))
