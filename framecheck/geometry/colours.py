"""Colours as people tell them apart: sRGB to CIE 1976 L*a*b*, and two colours for many."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

FloatArray = npt.NDArray[np.float64]

_TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)  # of linear sRGB to CIE XYZ, white D65 (IEC 61966-2-1)
_WHITE = _TO_XYZ.sum(axis=1)
_ROUNDS = 6


def lab_from_srgb(rgb: npt.NDArray[np.uint8]) -> FloatArray:
    """CIE 1976 L*a*b* of sRGB colours.

    Args:
        rgb: (N, 3) uint8.

    Returns:
        (N, 3): L* 0..100, a*, b*, under D65 (CIE 15; IEC 61966-2-1 for the curve of sRGB).
    """
    coded = np.asarray(rgb, dtype=np.float64) / 255.0
    linear = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    ratios = linear @ _TO_XYZ.T / _WHITE
    edge = 6.0 / 29.0
    curved = np.where(ratios > edge**3, np.cbrt(ratios), ratios / (3 * edge**2) + 4.0 / 29.0)
    x, y, z = curved[:, 0], curved[:, 1], curved[:, 2]
    return np.column_stack([116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)])


def two_colours(colours: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The two colours that stand best for many.

    Args:
        colours: (N, 3), at least one.

    Returns:
        (2, 3) means and (2,) shares, the larger share first; both means alike when all are.
    """
    middle = colours.mean(axis=0)
    _, _, axes = np.linalg.svd(colours - middle, full_matrices=False)
    axis = axes[0] * np.sign(axes[0][np.argmax(np.abs(axes[0]))] or 1.0)  # the same every time
    second = (colours - middle) @ axis > 0
    means = _means(colours, second)
    for _ in range(_ROUNDS):
        gaps = np.linalg.norm(colours[:, None, :] - means[None], axis=2)
        nearer = gaps[:, 1] < gaps[:, 0]
        if np.array_equal(nearer, second):
            break  # the means would be the same again
        second, means = nearer, _means(colours, nearer)
    share = float(second.mean())
    order = [1, 0] if share > 0.5 else [0, 1]
    return means[order], np.array([1.0 - share, share])[order]


def _means(colours: FloatArray, second: npt.NDArray[np.bool_]) -> FloatArray:
    whole = colours.mean(axis=0)
    one = colours[~second].mean(axis=0) if (~second).any() else whole
    other = colours[second].mean(axis=0) if second.any() else whole
    return np.stack([one, other])
