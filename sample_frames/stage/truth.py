"""Ground truth of a frame, from 3-D points and silhouettes; independent of the measuring tool."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from sample_frames.stage.bodies import Floats
from sample_frames.stage.cameras import NEAR_M, Camera
from sample_frames.stage.people import Person

Mask = NDArray[np.bool_]

# Heights as fractions of stature: Drillis & Contini, Body Segment Parameters, 1966.
LEVELS = (
    ("crown", 1.0),
    ("eye", 0.936),
    ("chin", 0.870),
    ("shoulder", 0.818),
    ("hip", 0.530),
    ("knee", 0.285),
    ("ankle", 0.039),
    ("sole", 0.0),
)
FACING_DEG = (("to lens", 22.5), ("three-quarter", 67.5), ("profile", 112.5))
# Longest side of the canvas that measures a whole silhouette.
CANVAS_PX = 900
# Side of the cells of a coarse silhouette, pixels.
COARSE_PX = 4


@dataclass(frozen=True)
class Picture:
    """The active picture inside the file, pixels."""

    x_px: int
    y_px: int
    width_px: int
    height_px: int


def ruler_points_px(person: Person, camera: Camera) -> tuple[Floats, Floats]:
    """Levels and pixel positions of the body ruler's marks, crown first."""
    levels, points = [], []
    for name, level in LEVELS:
        single = name in person.marks_m
        names = [name] if single else [f"{name}_left", f"{name}_right"]
        pixels = np.array([camera.project(person.marks_m[n]) for n in names])
        levels.append(level)
        points.append(pixels.mean(axis=0))
    return np.array(levels), np.array(points)


def bottom_level(levels: Floats, points: Floats, edge_px: float) -> float:
    """Level where the walk from the crown down the body first leaves through the bottom edge."""
    y = points[:, 1]
    figure_px = _length(points)
    if y[0] >= edge_px:
        return float(1.0 + (y[0] - edge_px) / figure_px)
    for k in range(len(y) - 1):
        if y[k] < edge_px <= y[k + 1]:
            t = (edge_px - y[k]) / (y[k + 1] - y[k])
            return float(levels[k] + t * (levels[k + 1] - levels[k]))
        if np.isnan(y[k + 1]):
            # The rest of the body is beside or behind the lens: the cut is on this segment.
            return float(levels[k])
    return float(-(edge_px - np.nanmax(y)) / figure_px)


def top_level(levels: Floats, points: Floats, edge_px: float) -> float:
    """Level where the top edge cuts the body, or the clear distance above the crown."""
    y = points[:, 1]
    figure_px = _length(points)
    if y[0] >= edge_px:
        return float(1.0 + (np.nanmin(y) - edge_px) / figure_px)
    for k in range(len(y) - 1):
        if y[k] < edge_px <= y[k + 1]:
            t = (edge_px - y[k]) / (y[k + 1] - y[k])
            return float(levels[k] + t * (levels[k + 1] - levels[k]))
    return float(levels[-1])


def _length(points: Floats) -> float:
    return float(np.nansum(np.linalg.norm(np.diff(points, axis=0), axis=1)))


def side_levels(mask: Mask, column: int, levels: Floats, points: Floats) -> list[float] | None:
    """Lowest and highest ruler level where a silhouette touches a side edge, or None."""
    rows = np.flatnonzero(mask[:, column])
    if len(rows) == 0:
        return None
    steps = np.linspace(0, len(levels) - 1, 400)
    dense_y = np.interp(steps, np.arange(len(levels)), points[:, 1])
    dense_level = np.interp(steps, np.arange(len(levels)), levels)
    found = [float(dense_level[np.nanargmin(np.abs(dense_y - r))]) for r in (rows[-1], rows[0])]
    return [min(found), max(found)]


def head_angles_deg(person: Person, camera: Camera) -> tuple[float, float, float]:
    """Yaw, pitch and roll of the head as seen from the lens, degrees."""
    toward = np.asarray(camera.position_m) - person.eyes_m
    toward /= np.linalg.norm(toward)
    up = -camera.axes[1]
    up = up - (up @ toward) * toward
    up /= np.linalg.norm(up)
    right = np.cross(up, toward)
    face = person.face_forward
    yaw = np.degrees(np.arctan2(face @ right, face @ toward))
    pitch = np.degrees(np.arcsin(np.clip(face @ up, -1, 1)))
    level = up - (up @ face) * face
    level /= np.linalg.norm(level)
    roll = np.degrees(np.arctan2(person.face_up @ np.cross(level, face), person.face_up @ level))
    return float(yaw), float(pitch), float(roll if abs(yaw) <= 90 else -roll)


def facing_word(yaw_deg: float) -> str:
    """Word for a head yaw."""
    for word, limit in FACING_DEG:
        if abs(yaw_deg) <= limit:
            return word
    return "away"


def silhouette(
    person: Person, camera: Camera, *, head_only: bool = False, coarse: bool = False
) -> tuple[Mask, float]:
    """Unoccluded silhouette in the picture, and the share of the whole that lies inside it.

    Coarse ones take a third of the time and are good to some pixels: for training, not for truth.
    """
    triangles = _triangles_px(person, camera, head_only=head_only)
    width, height = camera.picture_wh_px
    fill = _dab if coarse else _fill
    inside = fill(triangles, np.zeros(2), 1.0, (width, height))
    low, high = triangles.reshape(-1, 2).min(axis=0), triangles.reshape(-1, 2).max(axis=0)
    scale = CANVAS_PX / max(high - low)
    size = tuple(int(v) + 2 for v in np.ceil((high - low) * scale))
    whole = fill(triangles, low, scale, size)
    window = [
        slice(*np.clip(np.round((np.array([0, n]) - o) * scale), 0, None).astype(int))
        for n, o in zip((height, width), low[::-1], strict=True)
    ]
    return inside, float(whole[window[0], window[1]].sum() / max(1, whole.sum()))


def _triangles_px(person: Person, camera: Camera, *, head_only: bool) -> Floats:
    out = []
    for part in person.parts:
        local = camera.to_camera(part.points_m)
        triangles = part.triangles
        keep = (local[triangles, 2] > NEAR_M * 2).all(axis=1)
        if head_only:
            keep &= part.head[triangles].all(axis=1)
        out.append(camera.project(part.points_m)[triangles[keep]])
    return np.concatenate(out)


def _fill(triangles: Floats, origin: Floats, scale: float, size_wh: tuple[int, int]) -> Mask:
    """Fill triangles on a canvas; pixel centres lie at half-integers."""
    canvas = np.zeros((size_wh[1], size_wh[0]), np.uint8)
    moved = (triangles - origin) * scale
    low, high = moved.min(axis=1), moved.max(axis=1)
    seen = (high[:, 0] > 0) & (high[:, 1] > 0) & (low[:, 0] < size_wh[0]) & (low[:, 1] < size_wh[1])
    moved = np.clip(moved[seen] - 0.5, -30000, 30000)
    # 4 fractional bits keep thin triangles from growing by half a pixel each.
    fixed = np.round(moved * 16).astype(np.int32)
    for triangle in fixed:
        cv2.fillConvexPoly(canvas, triangle, 1, lineType=cv2.LINE_8, shift=4)
    return canvas.astype(bool)


def _dab(triangles: Floats, origin: Floats, scale: float, size_wh: tuple[int, int]) -> Mask:
    """The same, coarsely: from the corners and the middles of the triangles' sides."""
    moved = (triangles - origin) * (scale / COARSE_PX)
    dots = np.concatenate([moved, 0.5 * (moved + moved[:, [1, 2, 0]])]).reshape(-1, 2)
    columns, rows = (size // COARSE_PX + 1 for size in size_wh)
    held = ((dots >= 0) & (dots < (columns, rows))).all(axis=1)
    x, y = dots[held].astype(int).T
    canvas = np.zeros((rows, columns), np.uint8)
    canvas[y, x] = 1
    closed = cv2.morphologyEx(canvas, cv2.MORPH_CLOSE, np.ones((5, 5), np.uint8))
    large = np.repeat(np.repeat(closed, COARSE_PX, axis=0), COARSE_PX, axis=1)
    return large[: size_wh[1], : size_wh[0]].astype(bool)


def person_truth(  # noqa: PLR0913  # what may be left out goes by name
    person: Person, camera: Camera, visible: Mask, picture: Picture, role: str,
    *, coarse: bool = False,
) -> dict[str, Any]:  # fmt: skip
    """Truth record of one person; see the schema note in the sample frames' README.

    Args:
        person: The person.
        camera: The camera, whose picture is the active picture.
        visible: Pixels of the active picture that show this person.
        picture: Where the active picture lies in the file.
        role: subject, foreground or background.
        coarse: Whether the shares that are seen may be rough; see `silhouette`.
    """
    levels, points = ruler_points_px(person, camera)
    mask, inside_frac = silhouette(person, camera, coarse=coarse)
    head, head_inside = silhouette(person, camera, head_only=True, coarse=coarse)
    yaw, pitch, roll = head_angles_deg(person, camera)
    width, height = camera.picture_wh_px
    shift = np.array([picture.x_px, picture.y_px], float)
    crown, chin = (camera.project(person.marks_m[n]) for n in ("crown", "chin"))
    top = person.head_points_m[np.nanargmin(camera.project(person.head_points_m)[:, 1])]
    marks = person.marks_m | {"head_top": top}
    shown = float(visible.sum() / max(1, mask.sum()))
    return {
        "role": role,
        "stature_m": person.stature_m,
        "posture": person.pose.posture,
        "distance_m": float(np.linalg.norm(person.eyes_m - camera.position_m)),
        "head_yaw_deg": yaw,
        "head_pitch_deg": pitch,
        "head_roll_deg": roll,
        "facing": facing_word(yaw),
        "marks_px": {n: _listed(camera.project(p) + shift) for n, p in marks.items()},
        "marks_m": {n: _listed(camera.to_camera(p)) for n, p in marks.items()},
        "ruler": {
            "bottom": bottom_level(levels, points, height),
            "top": top_level(levels, points, 0.0),
            "left": side_levels(mask, 0, levels, points),
            "right": side_levels(mask, width - 1, levels, points),
            "head_height_px": float(np.linalg.norm(chin - crown)),
            "figure_px": _length(points),
        },
        "headroom_frac": float(camera.project(top)[1] / height),
        "mask_visible_frac": inside_frac * min(1.0, shown),
        "head_visible_frac": head_inside * float((visible & head).sum() / max(1, head.sum())),
        "occluded_frac": max(0.0, 1.0 - shown),
        "box_xywh_px": _box(visible, picture),
    }


def _listed(point: Floats) -> list[float] | None:
    return None if np.isnan(point).any() else [float(v) for v in point]


def _box(mask: Mask, picture: Picture) -> list[int] | None:
    if not mask.any():
        return None
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    return [
        int(columns[0]) + picture.x_px,
        int(rows[0]) + picture.y_px,
        int(columns[-1] - columns[0] + 1),
        int(rows[-1] - rows[0] + 1),
    ]


def counted(record: dict[str, Any]) -> bool:
    """Whether enough of a person is visible to be listed: 4 % of the head or 2 % of the body."""
    return record["head_visible_frac"] >= 0.04 or record["mask_visible_frac"] >= 0.02


def rounded(value: Any) -> Any:  # noqa: ANN401 - any JSON value
    """A JSON value with all floats rounded to 4 decimals."""
    if isinstance(value, float):
        return round(value, 4) + 0.0
    if isinstance(value, dict):
        return {k: rounded(v) for k, v in value.items()}
    if isinstance(value, (list, tuple)):
        return [rounded(v) for v in value]
    return value
