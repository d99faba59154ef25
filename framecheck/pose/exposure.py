"""Dark pictures lifted, for networks that were trained on well-lit ones."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from framecheck.records.picture import Picture

BRIGHT_SHARE = 0.95
"""Share of the pixels that are no brighter than what is called the picture's light."""

LIT = 150.0
"""What that light is lifted to, 0..255; a picture that has it is left alone."""

BLACK = 2.0
"""Light under which there is nothing to lift."""

SAMPLE_STEP = 4
"""Every so many rows and columns are looked at."""


def lift_shadows(picture: Picture) -> Picture | None:
    """The picture lifted by a power curve, so that its light is `LIT`; None when it needs none.

    A curve, as a gain would burn out what is lit: `255 (v / 255)^g`, g = log(LIT / 255) /
    log(light / 255).
    """
    light = _light(picture)
    if not BLACK < light < LIT:
        return None
    power = math.log(LIT / 255.0) / math.log(light / 255.0)
    curve = np.round(255.0 * (np.arange(256) / 255.0) ** power).astype(np.uint8)
    return replace(picture, rgb=curve[picture.rgb])


def _light(picture: Picture) -> float:
    import cv2

    a = picture.active
    part = picture.rgb[
        round(a.y_px) : round(a.bottom_px) : SAMPLE_STEP,
        round(a.x_px) : round(a.right_px) : SAMPLE_STEP,
    ]
    grey = cv2.cvtColor(np.ascontiguousarray(part), cv2.COLOR_RGB2GRAY)
    return float(np.quantile(grey, BRIGHT_SHARE))
