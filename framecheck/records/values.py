"""The smallest records: boxes, points, and the value for what cannot be measured."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias


@dataclass(frozen=True, slots=True, kw_only=True)
class NotMeasured:
    """Stands where a measurement would, and says why there is none.

    Attributes:
        reason: short plain words, lower case, no full stop ("faces the lens").
    """

    reason: str

    def __post_init__(self) -> None:
        if not self.reason:
            raise ValueError("a NotMeasured needs a reason, got an empty string")


Measured: TypeAlias = float | NotMeasured
"""A number, or the reason why there is none."""

PointPx: TypeAlias = tuple[float, float]
"""x to the right and y down, in pixels of the whole file, origin at the top left corner."""


def is_number(value: Measured) -> bool:
    """True when the value was measured."""
    return not isinstance(value, NotMeasured)


def number_or(value: Measured, default: float) -> float:
    """The measured number, or the default when there is none."""
    return default if isinstance(value, NotMeasured) else value


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """An upright rectangle in pixels: x right, y down, origin top left, far edges not in it."""

    x_px: float
    y_px: float
    w_px: float
    h_px: float

    def __post_init__(self) -> None:
        for name in ("x_px", "y_px", "w_px", "h_px"):
            object.__setattr__(
                self, name, float(getattr(self, name))
            )  # no NumPy scalars in records
        if not all(map(math.isfinite, (self.x_px, self.y_px, self.w_px, self.h_px))):
            raise ValueError(f"a box needs finite numbers, got {self}")
        if self.w_px < 0 or self.h_px < 0:
            raise ValueError(f"a box needs sizes >= 0, got {self.w_px} x {self.h_px}")

    @property
    def right_px(self) -> float:
        """The x of the right edge."""
        return self.x_px + self.w_px

    @property
    def bottom_px(self) -> float:
        """The y of the bottom edge."""
        return self.y_px + self.h_px

    @property
    def centre_px(self) -> PointPx:
        """The middle of the box."""
        return (self.x_px + self.w_px / 2, self.y_px + self.h_px / 2)

    @property
    def area_px2(self) -> float:
        """Width times height."""
        return self.w_px * self.h_px
