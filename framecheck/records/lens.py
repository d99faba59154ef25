"""Lens, sensor and stature, and what follows from them for a measured picture."""

from __future__ import annotations

from dataclasses import dataclass

from framecheck.records.values import Measured


@dataclass(frozen=True, slots=True, kw_only=True)
class SensorFormat:
    """A film aperture or sensor size.

    Attributes:
        name: short, for options.
        width_mm, height_mm: of the whole aperture.
        title: one line for people. source: where the figures come from.
    """

    name: str
    width_mm: float
    height_mm: float
    title: str
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stature:
    """How tall somebody is, as far as it is known.

    Attributes:
        mean_m: the expected height. sd_m: one standard deviation, 0 when it was measured.
    """

    mean_m: float
    sd_m: float = 0.0

    def __post_init__(self) -> None:
        if not 0.3 <= self.mean_m <= 2.8 or not 0 <= self.sd_m < self.mean_m / 3:
            raise ValueError(f"a stature lies between 0.3 and 2.8 m, got {self}")


POPULATION = Stature(mean_m=1.70, sd_m=0.09)
"""Nothing known: men and women half and half (mean 1.692 m, standard deviation 0.092 m, worked out
from ANSUR II, Gordon and others 2014, NATICK/TR-15/007)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lens:
    """The lens and the sensor behind it.

    Attributes:
        focal_mm: focal length.
        sensor_wh_mm: width and height of the aperture; of it the picture uses as much as its shape
            allows.
        squeeze: of an anamorphic lens, 1 for a spherical one.
        tilt_deg: where it is known; + looks up.
        height_m: of the lens over the floor, where it is known.
    """

    focal_mm: float
    sensor_wh_mm: tuple[float, float]
    squeeze: float = 1.0
    tilt_deg: float | None = None
    height_m: float | None = None

    def __post_init__(self) -> None:
        sizes = (self.focal_mm, *self.sensor_wh_mm, self.squeeze)
        if not all(0 < size < 10_000 for size in sizes):
            raise ValueError(f"a lens and its sensor have sizes above 0, got {self}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A number with the interval that holds the truth nine times out of ten."""

    value: float
    low: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.value <= self.high:
            raise ValueError(f"an estimate lies in its own interval, got {self}")


@dataclass(frozen=True, slots=True, kw_only=True)
class CameraPlace:
    """Where the camera stood, seen from one person.

    Attributes:
        distance_m: from the lens (its entrance pupil) to the eyes.
        ahead_m: along the floor, in the direction of the lens, to where the person stands.
        aside_m: from the middle of the view, + to the viewer's right.
        over_eyes_m: height of the lens over the person's eyes; < 0 below them.
        height_m: of the lens over the floor that the person stands on; not known of people who
            are not seen to stand.
        tilt_deg: of the lens, + looks up.
        view_deg: horizontal, vertical and diagonal angle of view of the picture.
        marks: names of the marks on the body that it rests on.
        notes: what the reader should know.
    """

    distance_m: Estimate
    ahead_m: float
    aside_m: float
    over_eyes_m: Estimate
    height_m: Estimate | Measured
    tilt_deg: Estimate
    view_deg: tuple[float, float, float]
    marks: tuple[str, ...]
    notes: tuple[str, ...] = ()
