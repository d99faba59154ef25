"""What a bench finds: figures with their noise and their aims, and curves with their exponents."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

LEAST_NOISE = 0.02
"""Share of a timed figure that is taken for noise at least: a few repeats alone tell too little."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One number that a bench found.

    Attributes:
        name: what it is, as the tables and the JSON have it.
        value: the number; NaN when it could not be had.
        unit: "" for a ratio or a share.
        noise: about one standard error; 0 for what comes out the same in every run.
        aim: as ">= 0.8" or "<= 1.3"; "" for none.
        under: what it was measured on; figures of unlike conditions are not compared.
        beside: the naive baseline's, where there is one.
    """

    name: str
    value: float
    unit: str = ""
    noise: float = 0.0
    aim: str = ""
    under: str = ""
    beside: float | None = None

    @property
    def met(self) -> bool | None:
        """Whether the aim is reached; None without an aim or a number."""
        if not self.aim or math.isnan(self.value):
            return None
        relation, limit = self.aim.split()
        return self.value <= float(limit) if relation == "<=" else self.value >= float(limit)


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """How a time grows with something.

    Attributes:
        name: what with what. unit_x: of `x`; `y` is in seconds of processor time.
        exponent: b of y = a x^b, by least squares on the logarithms; noise: its standard error.
    """

    name: str
    unit_x: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    exponent: float
    noise: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Findings:
    """What one part of the bench found.

    Attributes:
        figures: the numbers. curves: of growth.
        notes: lines that say what the numbers are made of.
    """

    figures: tuple[Figure, ...] = ()
    curves: tuple[Curve, ...] = ()
    notes: tuple[str, ...] = ()


def middle_and_noise(values: Sequence[float]) -> tuple[float, float]:
    """The median of repeats and its standard error, the latter at least `LEAST_NOISE` of it.

    Raises:
        ValueError: there are no repeats.
    """
    if not values:
        raise ValueError("no repeats to take the middle of")
    middle = float(np.median(values))
    spread = float(np.std(values, ddof=1)) if len(values) > 1 else 0.0
    return middle, max(spread / math.sqrt(len(values)), LEAST_NOISE * abs(middle))


def ratio_figure(name: str, over: Sequence[float], under: Sequence[float], aim: str = "") -> Figure:
    """The ratio of two things that were timed in turns: the median of the ratios of the rounds.

    Args:
        name: of the figure.
        over: seconds of each round, above the stroke.
        under: seconds of the same rounds, below it.
        aim: see `Figure`.
    """
    ratios = [a / b for a, b in zip(over, under, strict=True)]
    middle, noise = middle_and_noise(ratios)
    return Figure(name=name, value=middle, noise=noise, aim=aim)


def fit_curve(name: str, unit_x: str, x: Sequence[float], y: Sequence[float]) -> Curve:
    """The curve through measured points and its exponent, by least squares on the logarithms.

    Raises:
        ValueError: fewer than three points, or one that is not above zero.
    """
    if len(x) < 3 or min(*x, *y) <= 0:
        raise ValueError(f"an exponent takes three points above zero, got {list(x)}, {list(y)}")
    along, up = np.log(np.asarray(x, float)), np.log(np.asarray(y, float))
    exponent, start = np.polyfit(along, up, 1)
    left = up - (start + exponent * along)
    freedom = max(1, len(x) - 2)
    noise = math.sqrt(float(left @ left) / freedom / float(((along - along.mean()) ** 2).sum()))
    return Curve(
        name=name, unit_x=unit_x, x=tuple(map(float, x)), y=tuple(map(float, y)),
        exponent=float(exponent), noise=noise,
    )  # fmt: skip
