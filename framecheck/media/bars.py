"""Finds the active picture: what is left when black bars are taken off.

A bar is a strip of lines along one side that all look alike, dark, and end in one straight step.
A dark scene has no such step, or has it along a small part of its border only. Steps count more
when the bar across has the same size; a bar on one side alone must be spotless.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from framecheck.records.values import Box

Pixels: TypeAlias = npt.NDArray[np.uint8]
Levels: TypeAlias = npt.NDArray[np.float32]

LARGEST_BAR = 0.4  # of the picture's side; a 9:16 picture in a 16:9 frame has bars of 0.34
DARKEST_LEVEL = 28.0  # of 255; video black is 16, and worn copies lift it further
MOST_NOISE = 9.0  # standard deviation along a line of a bar; evenly spread 0..24 has 7.2
LINE_TOLERANCE = 2.0  # how far the mean of one line of a bar may lie from another's, of 255
SPECK = 24.0  # a sample this much above the bar ends it
SAMPLES = 128  # along each line for the first look
CLOSE_SAMPLES = 640  # along each line near the border
LOOK_AHEAD = 17  # lines; compression stains one block (up to 16 lines) outside the border
LOOK_BACK = 8  # lines of the bar that the step is measured against
RATIO_FLOOR = 2.0  # of 255, keeps the ratio of two almost black lines from meaning much
SOFT_LINES = 2  # at most so many half-lit lines belong to the bar
SOFT_SHARE = 0.8  # a line that has less of its inner neighbour's light is half-lit
SEGMENTS = 32  # pieces of the border that are judged by themselves
SMALL_STEP, BIG_STEP = 6.0, 16.0  # of 255, between the lines on both sides of the border
SAME_LEVEL = 3.0  # of 255, between two bars of one picture
SPOTLESS = 1.5  # standard deviation along a line


@dataclass(frozen=True, slots=True, kw_only=True)
class _Strip:
    """What one side looks like.

    Attributes:
        dark_px: how far the even darkness reaches.
        size_px: where the straight step lies; 0 when there is none.
        small_share, big_share: 0..1, the part of the border with a small, or a big, step.
        level, noise: mean and standard deviation along the outermost line, of 255.
    """

    dark_px: int = 0
    size_px: int = 0
    small_share: float = 0.0
    big_share: float = 0.0
    level: float = 0.0
    noise: float = 0.0


def find_active_picture(rgb: Pixels) -> Box:
    """The picture without black bars, in whole pixels.

    Args:
        rgb: (height, width, 3).

    Returns:
        The whole picture when there are no bars, or nothing but black. Half-lit lines at the
        border (at most two) count as bar. No bar is larger than 0.4 of its side.
    """
    height, width = rgb.shape[:2]
    top, bottom = _pair(rgb)
    left, right = _pair(rgb[top : height - bottom].swapaxes(0, 1))
    if left or right:  # the rows are judged again without the dark ends that the columns had
        top, bottom = _pair(rgb[:, left : width - right])
    return Box(
        x_px=float(left),
        y_px=float(top),
        w_px=float(width - left - right),
        h_px=float(height - top - bottom),
    )


def _pair(view: Pixels) -> tuple[int, int]:
    """Sizes of the bars at the first and at the last lines of the view."""
    if min(view.shape[:2]) < 8:
        return 0, 0
    near, far = _look(view), _look(view[::-1])
    same = abs(near.level - far.level) <= SAME_LEVEL
    first, last = _alone(near), _alone(far)
    if same and _alike(near, far, len(view)):
        first, last = near.size_px, far.size_px
    elif same and not first and _hides(near, behind=far):
        first = last = far.size_px
    elif same and not last and _hides(far, behind=near):
        first = last = near.size_px
    return first, last


def _alike(near: _Strip, far: _Strip, lines: int) -> bool:
    """True when both end in a step, at the same distance from their sides."""
    alike = abs(near.size_px - far.size_px) <= max(2, round(0.02 * lines))
    both = min(near.small_share, far.small_share) > 0
    return alike and both and near.small_share + far.small_share >= 3 / SEGMENTS


def _alone(strip: _Strip) -> int:
    """The size of a bar that has none like it across; 0 when it is not beyond doubt."""
    return strip.size_px if strip.noise <= SPOTLESS and strip.big_share >= 0.5 else 0


def _hides(strip: _Strip, *, behind: _Strip) -> bool:
    """True when a dark sky may hide the end of this bar, and the one across shows where it is."""
    least = 0.5 if behind.noise <= SPOTLESS else 0.75
    return behind.big_share >= least and 0 < behind.size_px <= strip.dark_px


def _look(view: Pixels) -> _Strip:
    """Looks at the strip that begins with the view's first line."""
    outermost = _levels(view[:1])
    level, noise = float(outermost.mean()), float(outermost.std())
    if level > DARKEST_LEVEL or noise > MOST_NOISE:
        return _Strip()
    dark = _dark_lines(view, level, noise)
    limit = int(LARGEST_BAR * len(view))
    if dark == 0 or dark > limit:
        return _Strip(dark_px=min(dark, limit), level=level, noise=noise)
    start = max(0, dark - LOOK_BACK)
    stride = max(1, view.shape[1] // CLOSE_SAMPLES)
    near = _levels(view[start : dark + 2 * LOOK_AHEAD, ::stride])
    hard = _sharpest_step(near, level, dark - start)
    size = hard + _soft_lines(near, level, hard)
    small, big = _step_shares(near, hard, size)
    if start + size > limit:
        return _Strip(dark_px=limit, level=level, noise=noise)
    return _Strip(
        dark_px=dark,
        size_px=start + size,
        small_share=small,
        big_share=big,
        level=level,
        noise=noise,
    )


def _levels(pixels: Pixels) -> Levels:
    """Mean of the three channels; unlike luma it sees saturated colours."""
    total = pixels[..., 0].astype(np.uint16) + pixels[..., 1] + pixels[..., 2]
    return total.astype(np.float32) / np.float32(3)


def _dark_lines(view: Pixels, level: float, noise: float) -> int:
    """How many lines from the first one on look like it."""
    stride = max(1, view.shape[1] // SAMPLES)
    limit = int(LARGEST_BAR * len(view)) + 1
    sampled = _levels(view[:limit, stride // 2 :: stride])
    drift = np.abs(sampled.mean(axis=1) - level)
    own = LINE_TOLERANCE * min(1.0, 0.25 + noise)  # a spotless bar shows the smallest change
    tolerance = own + 4 * noise / math.sqrt(sampled.shape[1])
    alike = (drift <= tolerance) & (sampled.max(axis=1) <= level + SPECK + noise)
    return limit if alike.all() else int(alike.argmin())


def _sharpest_step(near: Levels, level: float, dark: int) -> int:
    """The first line inside: where the light grows by the largest factor.

    A factor and not a difference, as the first content lines may be darker than later ones.
    """
    light = np.abs(near - level).mean(axis=1)
    light = np.maximum(light - light[:dark].mean(), 0) + RATIO_FLOOR
    first = max(1, dark - 2)
    ratios = light[first : dark + LOOK_AHEAD] / light[first - 1 : dark + LOOK_AHEAD - 1]
    return first + int(ratios.argmax())


def _soft_lines(near: Levels, level: float, start: int) -> int:
    """How many lines from `start` on are blends of the bar and the line after."""
    for count in range(SOFT_LINES):
        if start + count + 1 >= len(near):
            return count
        here, inner = near[start + count] - level, near[start + count + 1] - level
        energy = float(inner @ inner)
        share = float(here @ inner) / energy if energy > 0 else 1.0
        likeness = share * math.sqrt(energy / max(float(here @ here), 1e-6))
        if share >= SOFT_SHARE or likeness < 0.97:
            return count
    return SOFT_LINES


def _step_shares(near: Levels, hard: int, size: int) -> tuple[float, float]:
    """Parts of the border with a small and with a big step, 0..1 each."""
    inside, outside = near[size : size + 3], near[max(0, hard - 3) : hard]
    if not len(inside) or not len(outside):
        return 0.0, 0.0
    step = inside.mean(axis=0) - outside.mean(axis=0)
    pieces = np.array([piece.mean() for piece in np.array_split(step, min(SEGMENTS, len(step)))])
    return float((pieces >= SMALL_STEP).mean()), float((pieces >= BIG_STEP).mean())
