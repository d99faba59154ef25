"""What a picture file says of the lens that it was shot with."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class LensData:
    """Lens and camera settings as a file states them; None for what it does not.

    Attributes:
        focal_mm: focal length.
        focal_35_mm: the focal length that gives the same diagonal angle on 36 x 24 mm.
        sensor_wh_mm: size of the sensor, where resolution of the focal plane is stated.
        aperture: f-number.
        subject_distance_m: where the lens was focused.
        lens: name of the lens, "" for none.
        turned: the camera stood on its side, so that width and height of the sensor change places.
    """

    focal_mm: float | None = None
    focal_35_mm: float | None = None
    sensor_wh_mm: tuple[float, float] | None = None
    aperture: float | None = None
    subject_distance_m: float | None = None
    lens: str = ""
    turned: bool = False
