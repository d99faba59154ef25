"""Encodes clips for the tests: a scene with parts at known places, which counts its frames."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

import av
import numpy as np

GREY, RED, BLUE = (110, 110, 110), (225, 45, 45), (45, 70, 225)
DIGITS = 6  # squares along the lower edge that show the frame's number in binary, lowest first
RED_FRAC = (1 / 8, 1 / 4, 3 / 8, 5 / 8)  # left, top, right, bottom of the picture
BLUE_FRAC = (3 / 4, 1 / 8, 7 / 8, 1 / 4)
INTERLACED_DCT, INTERLACED_MOTION = 0x40000, 0x20000000  # flags of FFmpeg's coders


@dataclass(frozen=True, kw_only=True)
class Recipe:
    """How a clip is encoded; the stored size is the coded one."""

    codec: str = "libx264"
    pixels: str = "yuv420p"
    wh: tuple[int, int] = (256, 144)
    rate: Fraction = Fraction(25)
    frames: int = 16
    options: dict[str, str] = field(default_factory=dict)
    container: dict[str, str] = field(default_factory=dict)
    timecode: str = ""
    aspect: Fraction | None = None
    turn: int | None = None
    mirrored: bool = False
    fields: bool = False
    flags: int = 0
    stamps: tuple[int, ...] = ()
    sound: bool = False


def a_picture(width: int, height: int, number: int = 0) -> np.ndarray:
    """The scene as a viewer sees it."""
    pixels = np.full((height, width, 3), GREY, np.uint8)
    for (x0, y0, x1, y1), colour in ((RED_FRAC, RED), (BLUE_FRAC, BLUE)):
        rows = slice(round(y0 * height), round(y1 * height))
        pixels[rows, round(x0 * width) : round(x1 * width)] = colour
    for digit in range(DIGITS):
        columns = slice(round(digit * width / 8), round((digit + 1) * width / 8))
        pixels[round(height * 13 / 16) :, columns] = 240 if number >> digit & 1 else 16
    return pixels


def a_clip(path: Path, recipe: Recipe | None = None, pictures: Any = None) -> Path:
    """Encodes the scene, or the pictures given, frame by frame."""
    recipe = recipe or Recipe()
    shown = (lambda number: a_picture(*recipe.wh, number)) if pictures is None else pictures
    with av.open(str(path), "w", options=recipe.container) as output:
        stream = _stream(output, recipe)
        mark = _field_marker(recipe) if recipe.fields else None
        if recipe.sound:
            _add_sound(output, recipe)
        for number in range(recipe.frames):
            frame = av.VideoFrame.from_ndarray(shown(number), "rgb24")
            frame = frame.reformat(format=recipe.pixels)
            frame.pts = recipe.stamps[number] if recipe.stamps else number
            frame.time_base = 1 / recipe.rate
            if mark:
                mark.push(frame)
                frame = mark.pull()
            output.mux(stream.encode(frame))
        output.mux(stream.encode())
    return path


def _stream(output: Any, recipe: Recipe) -> Any:
    stream = output.add_stream(recipe.codec, rate=recipe.rate, options=recipe.options)
    stream.width, stream.height = recipe.wh
    stream.pix_fmt = recipe.pixels
    stream.codec_context.thread_count = 1
    stream.codec_context.flags |= recipe.flags
    if recipe.stamps:
        stream.codec_context.time_base = 1 / recipe.rate
    if recipe.aspect:
        stream.codec_context.sample_aspect_ratio = recipe.aspect
    if recipe.timecode:
        stream.metadata["timecode"] = recipe.timecode
    if recipe.turn is not None:
        stream.set_display_rotation(recipe.turn, hflip=recipe.mirrored)
    return stream


def _field_marker(recipe: Recipe) -> Any:
    """Marks frames as two fields, the upper one first, which the coders then write down."""
    graph = av.filter.Graph()
    width, height = recipe.wh
    source = graph.add_buffer(
        width=width, height=height, format=recipe.pixels, time_base=1 / recipe.rate
    )
    marker, sink = graph.add("setfield", "tff"), graph.add("buffersink")
    source.link_to(marker)
    marker.link_to(sink)
    graph.configure()
    return graph


def _add_sound(output: Any, recipe: Recipe) -> None:
    """A second longer than the pictures."""
    stream = output.add_stream("aac", rate=8000, layout="mono")
    count = int(8000 * (recipe.frames / recipe.rate + 1))
    for start in range(0, count, 1024):
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), "fltp", "mono")
        frame.sample_rate, frame.pts = 8000, start
        output.mux(stream.encode(frame))
    output.mux(stream.encode())


def number_of(rgb: np.ndarray) -> int:
    """The number that a picture of the scene shows."""
    height, width = rgb.shape[:2]
    row = rgb[round(height * 14.5 / 16)].mean(axis=1)
    lit = [row[round((digit + 0.5) * width / 8)] > 128 for digit in range(DIGITS)]
    return sum(1 << digit for digit, is_lit in enumerate(lit) if is_lit)


def place_of(rgb: np.ndarray, colour: tuple[int, int, int]) -> tuple[float, ...]:
    """Left, top, right and bottom of a colour, in shares of the picture."""
    height, width = rgb.shape[:2]
    like = np.abs(rgb.astype(int) - colour).max(axis=2) < 60
    rows, columns = np.flatnonzero(like.any(axis=1)), np.flatnonzero(like.any(axis=0))
    return (
        columns[0] / width,
        rows[0] / height,
        (columns[-1] + 1) / width,
        (rows[-1] + 1) / height,
    )


def assert_scene(rgb: np.ndarray, within_px: float = 2.0) -> None:
    """The red and blue parts lie where they belong, and so nothing is turned or squeezed."""
    height, width = rgb.shape[:2]
    sizes = np.array([width, height, width, height])
    for colour, expected in ((RED, RED_FRAC), (BLUE, BLUE_FRAC)):
        off_px = np.abs(np.subtract(place_of(rgb, colour), expected)) * sizes
        assert off_px.max() <= within_px, (colour, place_of(rgb, colour))
