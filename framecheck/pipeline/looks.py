"""A picture reduced to the means of its cells, to see whether anything moved between two frames."""

from __future__ import annotations

import numpy as np

from framecheck.classify.shot_sampling import Look
from framecheck.records.picture import Picture

COLUMNS, ROWS = 64, 36
SAMPLES = 5
"""Pixels along each side of a cell that are looked at; of the rest nothing is read."""


def reduce_picture(picture: Picture) -> Look:
    """The means of about 64 x 36 cells; pictures of one size give looks of one shape."""
    height, width = picture.rgb.shape[:2]
    down, across = _stride(height, ROWS), _stride(width, COLUMNS)
    thin = picture.rgb[::down, ::across]
    high, wide = min(SAMPLES, thin.shape[0]), min(SAMPLES, thin.shape[1])
    rows, columns = thin.shape[0] // high, thin.shape[1] // wide
    cells = thin[: rows * high, : columns * wide].reshape(rows, high, columns, wide, 3)
    return np.asarray(cells.mean(axis=(1, 3), dtype=np.float32))


def _stride(side: int, cells: int) -> int:
    return max(1, side // (cells * SAMPLES))
