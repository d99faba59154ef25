"""A pinhole camera with exact projection, and the solver that places it for a wanted framing.

World: metres, z up; the camera looks along +y when its heading is 0.
Picture: pixels, origin at the top left corner, x right, y down.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sample_frames.stage.bodies import Floats

NEAR_M = 0.02


@dataclass(frozen=True)
class Camera:
    """Position, aim, lens and picture size.

    Attributes:
        pitch_deg: Positive looks up.
        roll_deg: Positive draws the horizon tilted clockwise.
        heading_deg: Turn of the view about the vertical, counter-clockwise from above.
    """

    position_m: tuple[float, float, float]
    lens_mm: float
    sensor_wh_mm: tuple[float, float]
    picture_wh_px: tuple[int, int]
    pitch_deg: float = 0.0
    roll_deg: float = 0.0
    heading_deg: float = 0.0

    @property
    def focal_px(self) -> float:
        """Lens in pixels."""
        return self.lens_mm / self.sensor_wh_mm[0] * self.picture_wh_px[0]

    @property
    def axes(self) -> Floats:
        """Rows: picture right, picture down, forward, in world axes."""
        h, p, r = np.radians([self.heading_deg, self.pitch_deg, self.roll_deg])
        right = np.array([np.cos(h), np.sin(h), 0.0])
        ahead = np.array([-np.sin(h), np.cos(h), 0.0])
        forward = np.cos(p) * ahead + np.array([0.0, 0.0, np.sin(p)])
        down = np.cross(forward, right)
        c, s = np.cos(r), np.sin(r)
        return np.stack([c * right - s * down, s * right + c * down, forward])

    def to_camera(self, points_m: Floats) -> Floats:
        """World points in camera axes (x right, y down, z forward), metres."""
        return (np.asarray(points_m, float) - self.position_m) @ self.axes.T

    def project(self, points_m: Floats) -> Floats:
        """Pixel positions of world points; NaN behind the lens."""
        local = self.to_camera(points_m)
        depth = np.where(local[..., 2:] > NEAR_M, local[..., 2:], np.nan)
        centre = np.asarray(self.picture_wh_px) / 2.0
        return centre + self.focal_px * local[..., :2] / depth


@dataclass(frozen=True)
class Framing:
    """Where two points of the subject shall fall in the picture.

    Attributes:
        top_frac: Height of the upper point below the picture's top, of the picture height.
        low_frac: The same for the lower point; 1 is the bottom edge.
        across_frac: Horizontal place of the aim point, of the picture width.
    """

    top_frac: float
    low_frac: float = 1.0
    across_frac: float = 0.5


def place_camera(camera: Camera, framing: Framing, points_m: Floats) -> Camera:
    """Return the camera moved (not turned) so that the framing comes out exactly.

    Args:
        camera: Lens, aim and picture; its position is ignored.
        framing: Wanted places.
        points_m: (3, 3) upper point, lower point, aim point.

    Raises:
        ValueError: If no position in front of the subject gives the framing.
    """
    width, height = camera.picture_wh_px
    local = np.asarray(points_m) @ camera.axes.T
    v_top = (framing.top_frac - 0.5) * height / camera.focal_px
    v_low = (framing.low_frac - 0.5) * height / camera.focal_px
    drop, deeper = (local[1] - local[0])[1:]
    depth = (drop - v_low * deeper) / (v_low - v_top)
    if not np.isfinite(depth) or depth < 0.2:
        msg = f"framing needs a distance of {depth:.2f} m"
        raise ValueError(msg)
    u = (framing.across_frac - 0.5) * width / camera.focal_px
    aim_depth = depth + local[2, 2] - local[0, 2]
    offset = np.array([u * aim_depth - (local[2, 0] - local[0, 0]), v_top * depth, depth])
    position = camera.axes.T @ (local[0] - offset)
    return replace(camera, position_m=tuple(float(v) for v in position))
