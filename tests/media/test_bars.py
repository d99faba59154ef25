from __future__ import annotations

import io
import time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from framecheck.media.bars import find_active_picture

data = pytest.importorskip("skimage.data")

PHOTOS = {"portrait": data.astronaut(), "cat": data.chelsea(), "table": data.coffee()}
PAIRS = {
    "none": (0, 0, 0, 0),
    "letterbox": (61, 61, 0, 0),
    "pillarbox": (0, 0, 83, 83),
    "windowbox": (30, 30, 100, 100),
    "uneven": (40, 41, 70, 71),
    "thin": (3, 3, 0, 0),
}
LEVELS = {"black": (0, 0), "video black": (16, 0), "noise": (12, 12), "both": (16, 8)}


def framed(content, bars, level=0, noise=0, seed=0):
    """The content with bars (top, bottom, left, right), level +- noise."""
    top, bottom, left, right = bars
    height, width = content.shape[:2]
    shape = (height + top + bottom, width + left + right, 3)
    canvas = level + np.random.default_rng(seed).uniform(-noise, noise, shape)
    canvas = np.clip(canvas, 0, 255).astype(np.uint8)
    canvas[top : top + height, left : left + width] = content
    return canvas


def jpeg(pixels, quality):
    target = io.BytesIO()
    Image.fromarray(pixels).save(target, "JPEG", quality=quality)
    return np.asarray(Image.open(target))


def dimmed(content, light):
    return (content * light).astype(np.uint8)


def errors_px(pixels, bars) -> tuple[int, ...]:
    """How far each found edge lies inside of the true one."""
    box = find_active_picture(pixels)
    height, width = pixels.shape[:2]
    found = (box.y_px, height - box.bottom_px, box.x_px, width - box.right_px)
    return tuple(int(a - b) for a, b in zip(found, bars, strict=True))


@pytest.mark.parametrize("light", [1.0, 0.5], ids=["bright", "half"])
@pytest.mark.parametrize("quality", [None, 95, 75])
@pytest.mark.parametrize("levels", LEVELS)
@pytest.mark.parametrize("bars", PAIRS)
@pytest.mark.parametrize("photo", PHOTOS)
def test_to_the_pixel(photo, bars, levels, quality, light):
    pixels = framed(dimmed(PHOTOS[photo], light), PAIRS[bars], *LEVELS[levels])
    if quality:
        pixels = jpeg(pixels, quality)
    assert errors_px(pixels, PAIRS[bars]) == (0, 0, 0, 0)


@pytest.mark.parametrize("bars", ["letterbox", "pillarbox"])
@pytest.mark.parametrize("photo", PHOTOS)
def test_dark_content_and_strong_compression_miss_by_two_pixels_at_most(photo, bars):
    for quality, light in ((50, 1.0), (50, 0.25), (30, 0.5)):
        pixels = jpeg(framed(dimmed(PHOTOS[photo], light), PAIRS[bars], 16), quality)
        assert max(map(abs, errors_px(pixels, PAIRS[bars]))) <= 2


@pytest.mark.parametrize("bars", [(0, 37, 0, 0), (90, 0, 0, 0), (0, 0, 0, 50), (20, 60, 0, 0)])
def test_bars_of_different_sizes_count_when_spotless(bars):
    assert errors_px(framed(PHOTOS["table"], bars), bars) == (0, 0, 0, 0)


@settings(max_examples=60, deadline=None)
@given(
    seed=st.integers(0, 10_000),
    sizes=st.tuples(*[st.integers(0, 40)] * 4),
    height=st.integers(60, 140),
    width=st.integers(60, 140),
    level=st.integers(0, 16),
)
def test_adding_bars_gives_back_the_content(seed, sizes, height, width, level):
    content = np.random.default_rng(seed).integers(60, 256, (height, width, 3)).astype(np.uint8)
    top, bottom, left, right = sizes
    if max(top, bottom) > 0.39 * (height + top + bottom):
        return
    if max(left, right) > 0.39 * (width + left + right):
        return
    assert errors_px(framed(content, sizes, level), sizes) == (0, 0, 0, 0)


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 10_000), light=st.floats(0.02, 1.0), photo=st.sampled_from([*PHOTOS]))
def test_no_bars_added_none_found(seed, light, photo):
    rng = np.random.default_rng(seed)
    y, x = rng.integers(0, 60, 2)
    content = dimmed(PHOTOS[photo][y : y + 230, x : x + 330], light)
    assert errors_px(content, (0, 0, 0, 0)) == (0, 0, 0, 0)


@pytest.mark.parametrize("soft", [(0.5,), (0.33, 0.67), (0.25, 0.75)], ids=["1", "2", "2 steep"])
def test_half_lit_lines_belong_to_the_bar(soft):
    pixels = framed(PHOTOS["portrait"], (60, 60, 0, 0)).astype(float)
    for place, share in enumerate(soft):
        pixels[60 + place] = pixels[60 + len(soft)] * share
        pixels[-61 - place] = pixels[-61 - len(soft)] * share
    expected = 60 + len([share for share in soft if share < 0.8])
    box = find_active_picture(pixels.astype(np.uint8))
    assert (box.y_px, len(pixels) - box.bottom_px) == (expected, expected)


def test_a_dark_sky_under_the_upper_bar_is_not_eaten():
    sky = PHOTOS["portrait"].copy()
    sky[:150] = np.random.default_rng(1).integers(0, 3, (150, 512, 3))
    assert errors_px(framed(sky, (60, 60, 0, 0)), (60, 60, 0, 0)) == (0, 0, 0, 0)


def a_night_scene(kind: str) -> np.ndarray:
    rng = np.random.default_rng(5)
    height, width = 360, 640
    y, x = np.mgrid[:height, :width]
    light = {
        "gradient": np.clip((y - 80) * 0.4, 0, 255),
        "lamp": 200 * np.exp(-(((x - 320) / 60) ** 2) - ((y - 180) / 60) ** 2),
        "window": 180.0 * ((abs(x - 400) < 40) & (abs(y - 150) < 50)),
        "skyline": 90.0 * (y > 180 + 40 * np.sin(x / 37) + (x // 64 % 3) * 25),
        "slanted": 120.0 * (y > 120 + x * 0.1),
    }[kind]
    grain = rng.normal(4, 2.5, (height, width))
    return np.clip((light + grain)[..., None].repeat(3, 2), 0, 255).astype(np.uint8)


@pytest.mark.parametrize("quality", [None, 90, 40])
@pytest.mark.parametrize("kind", ["gradient", "lamp", "window", "skyline", "slanted"])
def test_a_night_scene_has_no_bars(kind, quality):
    pixels = a_night_scene(kind)
    if quality:
        pixels = jpeg(pixels, quality)
    assert errors_px(pixels, (0, 0, 0, 0)) == (0, 0, 0, 0)


def test_a_round_matte_loses_nothing_but_darkness():
    """Its four ends count as borders: what is left is the upright box around the light."""
    y, x = np.mgrid[:360, :640]
    light = 150 * (((x - 320) / 300) ** 2 + ((y - 180) / 160) ** 2 < 1)
    errors = errors_px(np.repeat(light[..., None], 3, axis=2).astype(np.uint8), (20, 20, 20, 20))
    assert max(errors) <= 4
    assert min(errors) >= -20


def test_the_dark_ground_of_a_photograph_is_no_bar():
    camera = data.camera()
    pixels = np.repeat(camera[..., None], 3, axis=2)
    assert errors_px(pixels, (0, 0, 0, 0)) == (0, 0, 0, 0)


@pytest.mark.parametrize("level", [0, 16, 24, 128, 255])
def test_an_even_picture_is_all_picture(level):
    assert errors_px(np.full((90, 160, 3), level, np.uint8), (0, 0, 0, 0)) == (0, 0, 0, 0)


def test_white_and_coloured_borders_are_no_black_bars():
    for colour in ((255, 255, 255), (60, 60, 60), (0, 0, 160)):
        pixels = framed(PHOTOS["cat"], (50, 50, 0, 0))
        pixels[:50] = pixels[-50:] = colour
        assert errors_px(pixels, (0, 0, 0, 0)) == (0, 0, 0, 0)


def test_never_more_than_the_limit():
    pixels = np.zeros((1000, 400, 3), np.uint8)
    pixels[450:550] = 200
    assert errors_px(pixels, (0, 0, 0, 0)) == (0, 0, 0, 0)


def test_upright_video_in_a_wide_frame():
    assert errors_px(framed(data.coffee()[:, :220], (0, 0, 240, 240)), (0, 0, 240, 240)) == (
        0, 0, 0, 0,
    )  # fmt: skip


@pytest.mark.parametrize("shape", [(1, 1), (7, 300), (300, 7), (16, 16)])
def test_tiny_pictures(shape):
    box = find_active_picture(np.zeros((*shape, 3), np.uint8))
    assert (box.w_px, box.h_px) == shape[::-1]


def test_colour_alone_is_content():
    content = np.zeros((200, 320, 3), np.uint8)
    content[..., 2] = np.random.default_rng(2).integers(90, 200, (200, 320))
    assert errors_px(framed(content, (40, 40, 0, 0)), (40, 40, 0, 0)) == (0, 0, 0, 0)


def test_fast_enough_for_every_frame():
    """Generous, as machines differ; the figures are in the report of the bench."""
    pixels = np.random.default_rng(0).integers(40, 255, (1080, 1920, 3)).astype(np.uint8)
    pixels[:140] = pixels[-140:] = 0
    find_active_picture(pixels)
    best = min(timed(pixels) for _ in range(5))
    assert best < 0.05


def timed(pixels) -> float:
    began = time.perf_counter()
    find_active_picture(pixels)
    return time.perf_counter() - began
