"""The share of a Gaussian error that falls between two borders."""

from __future__ import annotations

import math


def mass_between(mean: float, error: float, low: float, high: float) -> float:
    """Share, 0..1, of a Gaussian around `mean` that lies between two borders.

    Args:
        mean: the reading.
        error: its standard deviation, same unit; 0 for an exact reading.
        low: lower border, -inf when open; belongs to the range.
        high: upper border, inf when open; does not belong to the range of an exact reading.
    """
    if error <= 0:
        return 1.0 if low <= mean < high else 0.0
    return _mass_below(high, mean, error) - _mass_below(low, mean, error)


def _mass_below(border: float, mean: float, error: float) -> float:
    return 0.5 * (1.0 + math.erf((border - mean) / (error * math.sqrt(2.0))))
