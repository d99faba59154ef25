"""Head angles from landmarks.

Signs: yaw positive when the subject looks to the viewer's right, pitch positive when it looks up,
roll positive when the head leans clockwise in the picture. Axes: x right, y down, z away.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

# Rows of the 468-point face mesh; left and right are the subject's own.
MESH_EYE_RIGHT = (33, 133)
MESH_EYE_LEFT = (362, 263)
MESH_CHIN = 152
MESH_NOSE = 1
_MESH_ACROSS = ((33, 263), (133, 362), (234, 454), (61, 291))
_MESH_DOWN = ((10, 152), (151, 199), (9, 17))


def mean_direction(points: FloatArray, pairs: tuple[tuple[int, int], ...]) -> FloatArray:
    """Unit vector of the mean of the unit vectors from the first to the second of each pair."""
    vectors = np.array([points[b] - points[a] for a, b in pairs])
    lengths = np.linalg.norm(vectors, axis=1, keepdims=True)
    mean = (vectors / np.maximum(lengths, 1e-9)).mean(axis=0)
    return np.asarray(mean / max(float(np.linalg.norm(mean)), 1e-9))


def angles_from_axes(across: FloatArray, down: FloatArray) -> tuple[float, float, float]:
    """Yaw, pitch and roll in degrees of a head with the given axes.

    Args:
        across: (3,) from the subject's right to its left side.
        down: (3,) from the forehead to the chin.

    Returns:
        Yaw and roll in -180..180, pitch in -90..90.
    """
    (ax, ay, az), (dx, dy, dz) = across.tolist(), down.tolist()
    # Written out: NumPy's own cross product takes thirty times longer over three numbers.
    forward = -np.array([ay * dz - az * dy, az * dx - ax * dz, ax * dy - ay * dx])
    forward = forward / max(float(np.linalg.norm(forward)), 1e-9)
    yaw_deg = math.degrees(math.atan2(forward[0], -forward[2]))
    pitch_deg = math.degrees(math.asin(float(np.clip(-forward[1], -1.0, 1.0))))
    roll_deg = math.degrees(math.atan2(-down[0], down[1]))
    return yaw_deg, pitch_deg, roll_deg


def angles_from_mesh(points_px: FloatArray) -> tuple[float, float, float]:
    """Yaw, pitch and roll in degrees of a face mesh of shape (468, 3)."""
    across = mean_direction(points_px, _MESH_ACROSS)
    down = mean_direction(points_px, _MESH_DOWN)
    return angles_from_axes(across, down)


def wrap_deg(angle_deg: float) -> float:
    """The same angle in -180..180, 180 itself kept positive."""
    wrapped = math.fmod(angle_deg, 360.0)
    if wrapped > 180.0:
        return wrapped - 360.0
    return wrapped + 360.0 if wrapped <= -180.0 else wrapped
