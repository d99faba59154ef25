"""The annotated still: the body ruler, the cuts, the air and the flags, drawn on the picture."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt
from PIL import Image

from framecheck.records.judged import FrameResult
from framecheck.report.canvas import Canvas
from framecheck.report.caption import draw_caption
from framecheck.report.overlay_air import draw_air
from framecheck.report.overlay_edges import draw_active_picture, draw_cuts
from framecheck.report.overlay_flags import draw_flags
from framecheck.report.overlay_people import draw_people
from framecheck.report.overlay_staff import draw_staff, name_marks
from framecheck.report.palette import Sizes
from framecheck.report.scene import Scene

RgbArray: TypeAlias = npt.NDArray[np.uint8]

_LEAST_LONG_SIDE_PX = 960
_MOST_LONG_SIDE_PX = 3840
_MOST_ENLARGED = 8.0


def draw_overlay(rgb: RgbArray, result: FrameResult) -> RgbArray:
    """The picture with its measurement drawn on it and told below it.

    Args:
        rgb: (height, width, 3) uint8, the picture that was measured.
        result: its measurement and judgement.

    Returns:
        (height + caption, width, 3) uint8. Small pictures are enlarged to a long side of 960
        pixels, so that the words can be read, and large ones reduced to 3840.
    """
    height_px, width_px = rgb.shape[:2]
    scale = overlay_scale(width_px, height_px)
    base = Image.fromarray(np.ascontiguousarray(rgb))
    if scale != 1.0:
        size = (max(1, round(width_px * scale)), max(1, round(height_px * scale)))
        base = base.resize(size, Image.Resampling.LANCZOS)
    sizes = Sizes.for_picture(*base.size)
    scene = Scene(result=result, scale=scale, canvas=Canvas(base, sizes.line_px), sizes=sizes)
    _draw_layers(scene)
    picture = scene.canvas.finish()
    return np.asarray(_stack(picture, draw_caption(result, picture.width, sizes)))


def overlay_scale(width_px: int, height_px: int) -> float:
    """How much larger than the picture its annotated copy is."""
    long_side_px = max(width_px, height_px)
    if long_side_px < _LEAST_LONG_SIDE_PX:
        return min(_MOST_ENLARGED, _LEAST_LONG_SIDE_PX / long_side_px)
    return min(1.0, _MOST_LONG_SIDE_PX / long_side_px)


def _draw_layers(scene: Scene) -> None:
    draw_people(scene)
    draw_air(scene)
    draw_staff(scene)
    scene.canvas.clear_outside(scene.picture)
    draw_active_picture(scene)
    draw_cuts(scene)
    draw_flags(scene)
    scene.place_waiting(up_to_rank=2)
    name_marks(scene)
    scene.place_waiting(up_to_rank=9)
    scene.draw_texts()


def _stack(picture: Image.Image, caption: Image.Image) -> Image.Image:
    whole = Image.new("RGB", (picture.width, picture.height + caption.height))
    whole.paste(picture, (0, 0))
    whole.paste(caption, (0, picture.height))
    return whole
