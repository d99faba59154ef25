"""Shots made from stills: a camera that pans, zooms and shakes, moving figures, light, grain.

Every random choice is drawn from the generator that is passed in, so a seed fixes the pixels.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import cv2
import numpy as np
import numpy.typing as npt

Pixels = npt.NDArray[np.uint8]
Draw = np.random.Generator

ROOT = Path(__file__).resolve().parents[2]
SIZE_WH = (512, 288)
SHUTTER = 0.5  # share of a frame's time that the shutter is open: the usual half turn
MOST_BLUR_STEPS = 9


@cache
def still_paths() -> tuple[str, ...]:
    folders = (ROOT / "sample_frames", ROOT / "tests" / "bench" / "scenes")
    return tuple(sorted(str(path) for folder in folders for path in folder.glob("*.jpg")))


@cache
def load_still(path: str) -> Pixels:
    """Return a still, 720 px high."""
    picture = cv2.imread(path)
    scale = 720 / picture.shape[0]
    return np.asarray(
        cv2.resize(picture, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA), np.uint8
    )


@dataclass(frozen=True, kw_only=True)
class CameraPath:
    """Where the camera looks: one row a frame, in pixels of the source."""

    centre_px: npt.NDArray[np.float64]
    width_px: npt.NDArray[np.float64]
    roll_deg: npt.NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Figure:
    """A cut-out that moves through the picture; places in fractions of the frame width."""

    rgba: Pixels
    centre_wfrac: npt.NDArray[np.float64]
    width_wfrac: npt.NDArray[np.float64]


@dataclass(kw_only=True)
class ShotPlan:
    """All that a shot is rendered from; one row a frame in every path."""

    source: Pixels
    camera: CameraPath
    figures: list[Figure] = field(default_factory=list)
    gain: npt.NDArray[np.float64] | None = None
    lift: npt.NDArray[np.float64] | None = None


def choose_source(draw: Draw, *, wide: bool = False) -> Pixels:
    """Return a still, now and then mirrored and tinted; `wide` joins three into a long one."""
    count = 3 if wide else 1
    chosen = draw.choice(len(still_paths()), size=count, replace=False)
    parts = [load_still(still_paths()[int(i)]) for i in chosen]
    picture = np.hstack(parts) if wide else parts[0]
    if draw.random() < 0.4:
        picture = picture[:, ::-1]
    if draw.random() < 0.5:
        tint = draw.uniform(0.75, 1.2, 3)
        picture = np.clip(picture * tint, 0, 255).astype(np.uint8)
    return np.ascontiguousarray(picture)


def smooth_noise(draw: Draw, frames: int, rate: float, hz: float) -> npt.NDArray[np.float64]:
    """Return a wandering line of about unit size with most of its movement below `hz`."""
    time_s = np.arange(frames) / rate
    waves = draw.uniform(0.15, 1.0, 5) * hz
    phases = draw.uniform(0, 2 * np.pi, 5)
    weights = draw.uniform(0.3, 1.0, 5)
    lines = weights[:, None] * np.sin(2 * np.pi * waves[:, None] * time_s + phases[:, None])
    return np.asarray(lines.sum(axis=0) / np.sqrt((weights**2).sum() / 2))


def ease(part: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    part = np.clip(part, 0, 1)
    return part * part * (3 - 2 * part)


def plan_camera(  # noqa: PLR0915 - one branch a style, each a line or two
    draw: Draw, source: Pixels, frames: int, rate: float, *, style: str = "any"
) -> CameraPath:
    """Return a path: still, handheld, pan, zoom, crash, whip, bump or any of the mild."""
    height, width = source.shape[:2]
    aspect = SIZE_WH[0] / SIZE_WH[1]
    most = min(width, height * aspect)
    if style == "any":
        style = str(draw.choice(["still", "handheld", "handheld", "pan", "zoom"]))
    crop = most * draw.uniform(0.45, 0.95)
    time = np.linspace(0, 1, frames)
    centre = np.empty((frames, 2))
    low = np.array([crop / 2, crop / aspect / 2])
    high = np.array([width, height]) - low
    start = draw.uniform(low, np.maximum(high, low + 1))
    centre[:] = start
    widths = np.full(frames, crop)
    roll = np.full(frames, draw.normal(0, 1.0))
    if style == "pan":
        end = draw.uniform(low, np.maximum(high, low + 1))
        centre[:] = start + (end - start) * ease(time * draw.uniform(0.8, 1.5))[:, None]
    elif style in ("zoom", "crash"):
        factor = np.exp(draw.choice([-1, 1]) * draw.uniform(0.25, 0.8))
        span = draw.uniform(0.12, 0.4) * rate if style == "crash" else frames
        begin = draw.uniform(0.2, 0.6) * frames if style == "crash" else 0
        part = ease((np.arange(frames) - begin) / span)
        widths = np.minimum(crop * factor**part, most)
    elif style == "whip":
        centre, widths = _whip(draw, source, frames, rate, crop)
    elif style == "bump":
        at = draw.integers(frames // 3, 2 * frames // 3)
        decay = np.exp(-np.maximum(np.arange(frames) - at, 0) / (0.06 * rate))
        decay[:at] = 0
        swing = np.sin(2 * np.pi * 8 / rate * (np.arange(frames) - at) + 0.8)
        centre[:, 1] += decay * swing * crop * draw.uniform(0.03, 0.12)
    shake = 0.0 if style == "still" else draw.uniform(0.0008, 0.006)
    if style == "handheld":
        shake = draw.uniform(0.003, 0.02)
    for axis in (0, 1):
        centre[:, axis] += shake * widths * smooth_noise(draw, frames, rate, draw.uniform(0.8, 4))
    roll += shake * 40 * smooth_noise(draw, frames, rate, 1.5)
    return CameraPath(centre_px=centre, width_px=widths, roll_deg=roll)


def _whip(
    draw: Draw, source: Pixels, frames: int, rate: float, crop: float
) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
    """One or two fast pans along a wide source, from 0.12 to 0.6 s each."""
    height, width = source.shape[:2]
    turns = int(draw.integers(1, 3))
    stops = draw.uniform(crop / 2, width - crop / 2, turns + 1)
    for k in range(turns):  # a fast pan goes somewhere else: at least nine tenths of a width away
        side = 1 if stops[k] < width / 2 else -1
        reach = (width - crop / 2 - stops[k]) if side > 0 else (stops[k] - crop / 2)
        stops[k + 1] = stops[k] + side * draw.uniform(min(0.9 * crop, reach), reach)
    centre = np.empty((frames, 2))
    centre[:, 0] = stops[0]
    centre[:, 1] = height / 2 + draw.uniform(-0.1, 0.1) * height
    for k in range(turns):
        begin = (k + draw.uniform(0.35, 0.65)) * frames / turns
        span = max(draw.uniform(0.12, 0.6), 0.07 * abs(stops[k + 1] - stops[k]) / crop) * rate
        part = ease((np.arange(frames) - begin) / span)
        centre[:, 0] += (stops[k + 1] - stops[k]) * part
    return centre, np.full(frames, crop)


def cut_out(draw: Draw, *, dark: bool = False) -> Pixels:
    """Return a rough head-and-shoulders shape filled with a piece of another still."""
    source = choose_source(draw)
    size = int(draw.integers(160, 320))
    y = int(draw.integers(0, source.shape[0] - size))
    x = int(draw.integers(0, max(source.shape[1] - size, 1)))
    piece = cv2.resize(source[y : y + size, x : x + size], (200, 300))
    if dark:
        piece = (piece * draw.uniform(0.15, 0.6)).astype(np.uint8)
    alpha = np.zeros((300, 200), np.uint8)
    cv2.ellipse(alpha, (100, 55), (38, 48), 0, 0, 360, 255, -1)
    cv2.ellipse(alpha, (100, 260), (96, 165), 0, 0, 360, 255, -1)
    alpha = cv2.GaussianBlur(alpha, (0, 0), 9 if dark else 2)
    return np.dstack([piece, alpha])


def plan_walker(draw: Draw, frames: int, rate: float) -> Figure:
    """Return a figure of a tenth to two fifths of the width that wanders or crosses slowly."""
    width = np.full(frames, draw.uniform(0.1, 0.4))
    time_s = np.arange(frames) / rate
    start = draw.uniform(-0.1, 1.1)
    speed = draw.uniform(0.02, 0.35) * (1 if start < 0.5 else -1)
    centre = np.empty((frames, 2))
    centre[:, 0] = start + speed * time_s + 0.02 * smooth_noise(draw, frames, rate, 1)
    centre[:, 1] = 0.3 + width * 0.3 + 0.01 * np.abs(np.sin(2 * np.pi * 1.8 * time_s))
    return Figure(rgba=cut_out(draw), centre_wfrac=centre, width_wfrac=width)


def plan_crosser(draw: Draw, frames: int, rate: float) -> Figure:
    """Return somebody who passes close to the lens, in 0.25 to 0.9 s."""
    size = draw.uniform(0.6, 1.4)
    span = draw.uniform(0.25, 0.9) * rate
    begin = draw.uniform(0.2, 0.7) * frames
    part = (np.arange(frames) - begin) / span
    side = draw.choice([-1, 1])
    centre = np.empty((frames, 2))
    centre[:, 0] = 0.5 + side * (part - 0.5) * (1 + size) * 1.05
    centre[:, 1] = 0.28 + size * draw.uniform(0.0, 0.35)
    return Figure(
        rgba=cut_out(draw, dark=draw.random() < 0.7),
        centre_wfrac=centre,
        width_wfrac=np.full(frames, size),
    )


def render(plan: ShotPlan) -> list[Pixels]:
    """Return the frames of a shot, motion blur included."""
    levels = [plan.source, cv2.pyrDown(plan.source)]
    return [_render_frame(plan, levels, frame) for frame in range(len(plan.camera.width_px))]


def _render_frame(plan: ShotPlan, levels: list[Pixels], frame: int) -> Pixels:
    move_px = _move_px(plan, frame)
    steps = int(np.clip(round(move_px * SHUTTER / 3), 1, MOST_BLUR_STEPS))
    total = np.zeros((SIZE_WH[1], SIZE_WH[0], 3), np.float32)
    for step in range(steps):
        at = frame + SHUTTER * (step / steps)
        picture = _look(plan, levels, at)
        for figure in plan.figures:
            picture = _lay(picture, figure, at)
        if steps == 1:
            return _expose(picture, plan, frame)
        total += picture
    return _expose(np.asarray(total / steps + 0.5, np.uint8), plan, frame)


def _move_px(plan: ShotPlan, frame: int) -> float:
    """How far the picture or a figure moves until the next frame, in pixels of the output."""
    after = min(frame + 1, len(plan.camera.width_px) - 1)
    scale = SIZE_WH[0] / plan.camera.width_px[frame]
    moves = [
        float(np.abs(plan.camera.centre_px[after] - plan.camera.centre_px[frame]).max() * scale)
    ]
    zoom = abs(plan.camera.width_px[after] / plan.camera.width_px[frame] - 1)
    moves.append(zoom * SIZE_WH[0] / 2)
    for figure in plan.figures:
        place = figure.centre_wfrac[frame]
        if abs(place[0] - 0.5) < 0.5 + figure.width_wfrac[frame]:
            moves.append(float(np.abs(figure.centre_wfrac[after] - place).max() * SIZE_WH[0]))
    return max(moves)


def _at(path: npt.NDArray[np.float64], at: float) -> npt.NDArray[np.float64]:
    low = int(at)
    high = min(low + 1, len(path) - 1)
    return np.asarray(path[low] + (path[high] - path[low]) * (at - low))


def _look(plan: ShotPlan, levels: list[Pixels], at: float) -> Pixels:
    centre = _at(plan.camera.centre_px, at)
    width = float(_at(plan.camera.width_px, at))
    angle = np.radians(float(_at(plan.camera.roll_deg, at)))
    scale = width / SIZE_WH[0]
    level = 1 if scale > 1.6 else 0
    c, s = np.cos(angle) * scale, np.sin(angle) * scale
    half = np.array(SIZE_WH) / 2
    matrix = np.array([[c, -s, 0.0], [s, c, 0.0]])
    matrix[:, 2] = centre - matrix[:, :2] @ half
    matrix /= 2**level
    return np.asarray(
        cv2.warpAffine(
            levels[level], matrix, SIZE_WH,
            flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP, borderMode=cv2.BORDER_REFLECT_101,
        ),
        np.uint8,
    )  # fmt: skip


def _lay(picture: Pixels, figure: Figure, at: float) -> Pixels:
    centre = _at(figure.centre_wfrac, at) * SIZE_WH[0]
    width = float(_at(figure.width_wfrac, at)) * SIZE_WH[0]
    height = width * figure.rgba.shape[0] / figure.rgba.shape[1]
    left, top = centre[0] - width / 2, centre[1] - height / 2
    x0, y0 = max(int(left), 0), max(int(top), 0)
    x1, y1 = min(int(left + width) + 1, SIZE_WH[0]), min(int(top + height) + 1, SIZE_WH[1])
    if x1 <= x0 or y1 <= y0:
        return picture
    scale = width / figure.rgba.shape[1]
    matrix = np.array([[scale, 0, left - x0], [0, scale, top - y0]])
    laid = cv2.warpAffine(figure.rgba, matrix, (x1 - x0, y1 - y0), flags=cv2.INTER_LINEAR)
    alpha = laid[:, :, 3:].astype(np.float32) / 255
    result = picture.copy()
    under = result[y0:y1, x0:x1]
    result[y0:y1, x0:x1] = (under + alpha * (laid[:, :, :3].astype(np.float32) - under)).astype(
        np.uint8
    )
    return result


def _expose(picture: Pixels, plan: ShotPlan, frame: int) -> Pixels:
    if plan.gain is None and plan.lift is None:
        return picture
    gain = 1.0 if plan.gain is None else float(plan.gain[frame])
    lift = 0.0 if plan.lift is None else float(plan.lift[frame])
    if gain == 1.0 and lift == 0.0:
        return picture
    table = np.clip(np.arange(256) * gain + lift, 0, 255).astype(np.uint8)
    return np.asarray(cv2.LUT(picture, table), np.uint8)


def add_grain(draw: Draw, picture: Pixels, sigma: float) -> Pixels:
    """Return the picture with grain of `sigma` levels, the same in the three colours."""
    if sigma <= 0:
        return picture
    noise = draw.standard_normal(picture.shape[:2], dtype=np.float32) * sigma
    return np.clip(picture + noise[:, :, None], 0, 255).astype(np.uint8)


Style = Callable[[Draw, int, float], ShotPlan]
