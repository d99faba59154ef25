"""Whether two frames show the same outlines, as when the camera moved between them."""

from __future__ import annotations

import cv2
import numpy as np

from framecheck.shots.signature import Floats, Small

EDGE = 2
"""Cells at the rim of a small picture that may move out of sight."""

LEAST_OUTLINE = 0.5
"""Least contrast of outlines that say anything."""


def outlines_alike(one: Small, other: Small) -> float:
    """Correlation of the outlines of two frames, one moved a little where that fits better.

    Args:
        one: (36, 64, 3) uint8, Y, U and V.
        other: the same.

    Returns:
        -1..1; 0 where either shows no outlines.
    """
    first, second = _outlines(one), _outlines(other)
    core = first[EDGE:-EDGE, EDGE:-EDGE]
    if min(float(core.std()), float(second.std())) < LEAST_OUTLINE:
        return 0.0
    return float(cv2.matchTemplate(second, core, cv2.TM_CCOEFF_NORMED).max())


def _outlines(look: Small) -> Floats:
    """Strength of the edges of a small picture, (36, 64)."""
    luma = look[:, :, 0].astype(np.float32)
    across, down = (cv2.Sobel(luma, cv2.CV_32F, *way) for way in ((1, 0), (0, 1)))
    return np.asarray(np.hypot(across, down), dtype=np.float32)
