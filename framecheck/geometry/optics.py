"""Optics of a pinhole and of a thin lens: angles, distances and fields.

Lengths on the sensor are millimetres, lengths in front of the lens are metres. Distances of the
pinhole are counted from the centre of perspective (the entrance pupil), where the angles of a
picture come together; a focus scale counts from the sensor, which lies some centimetres behind.
Focus changes the angle a little (breathing); everything here is for a lens focused far away unless
a magnification is given.
"""

from __future__ import annotations

import math

MM_PER_M = 1000.0


def angle_of_view_deg(side_mm: float, focal_mm: float, *, magnification: float = 0.0) -> float:
    """The angle that one side of the sensor sees.

    Args:
        side_mm: width, height or diagonal of the sensor, > 0.
        focal_mm: > 0.
        magnification: image over object, 0 at infinity; the lens then works at f (1 + m).

    Returns:
        0 to 180 degrees.

    Note:
        2 atan(d / 2 f (1 + m)).
    """
    _check_positive(side_mm=side_mm, focal_mm=focal_mm)
    return math.degrees(2 * math.atan(side_mm / (2 * focal_mm * (1 + magnification))))


def focal_for_angle_mm(side_mm: float, angle_deg: float) -> float:
    """The focal length at which a side of the sensor sees that angle, focused far away."""
    _check_positive(side_mm=side_mm, angle_deg=angle_deg)
    if angle_deg >= 180:
        raise ValueError(f"an angle of view must be below 180 degrees, got {angle_deg}")
    return side_mm / (2 * math.tan(math.radians(angle_deg) / 2))


def pinhole_distance_m(object_m: float, image_mm: float, focal_mm: float) -> float:
    """How far away an object of that height is whose image is that high: D = f H / h."""
    _check_positive(object_m=object_m, image_mm=image_mm, focal_mm=focal_mm)
    return focal_mm * object_m / image_mm


def thin_lens_distance_m(object_m: float, image_mm: float, focal_mm: float) -> float:
    """The same for a thin lens focused on the object: D = f (1 + H / h), one f farther away."""
    return pinhole_distance_m(object_m, image_mm, focal_mm) + focal_mm / MM_PER_M


def image_height_mm(object_m: float, distance_m: float, focal_mm: float) -> float:
    """How high the image of an object is on the sensor."""
    _check_positive(object_m=object_m, distance_m=distance_m, focal_mm=focal_mm)
    return focal_mm * object_m / distance_m


def field_m(side_mm: float, distance_m: float, focal_mm: float) -> float:
    """What a side of the sensor takes in at a distance, square to the lens: D d / f."""
    _check_positive(side_mm=side_mm, distance_m=distance_m, focal_mm=focal_mm)
    return distance_m * side_mm / focal_mm


def distance_for_field_m(field_side_m: float, side_mm: float, focal_mm: float) -> float:
    """From how far away a side of the sensor takes in that much."""
    _check_positive(field_side_m=field_side_m, side_mm=side_mm, focal_mm=focal_mm)
    return field_side_m * focal_mm / side_mm


def focal_for_field_mm(field_side_m: float, side_mm: float, distance_m: float) -> float:
    """The focal length with which a side of the sensor takes in that much from there."""
    _check_positive(field_side_m=field_side_m, side_mm=side_mm, distance_m=distance_m)
    return distance_m * side_mm / field_side_m


def same_size_distance_m(distance_m: float, focal_mm: float, other_focal_mm: float) -> float:
    """From how far away another lens shows the subject at the same size: D f' / f."""
    _check_positive(distance_m=distance_m, focal_mm=focal_mm, other_focal_mm=other_focal_mm)
    return distance_m * other_focal_mm / focal_mm


def relative_size(distance_m: float, behind_m: float) -> float:
    """How large a person looks who stands that far behind another of the same height.

    Args:
        distance_m: from the lens to the nearer person, > 0.
        behind_m: from the nearer to the farther one, along the line of sight; > -distance_m.

    Returns:
        1 at the same distance, towards 1 from far away, towards 0 from near. Above 1 for a person
        in front.
    """
    _check_positive(distance_m=distance_m)
    if behind_m <= -distance_m:
        raise ValueError(
            f"a person {-behind_m} m in front of one {distance_m} m away is behind the lens"
        )
    return distance_m / (distance_m + behind_m)


def used_sensor_mm(
    sensor_wh_mm: tuple[float, float], picture_wh_px: tuple[float, float]
) -> tuple[float, float]:
    """The part of the sensor that a picture of that shape is taken from: as large as it fits.

    Args:
        sensor_wh_mm: width and height of the whole aperture.
        picture_wh_px: width and height of the picture, square pixels.

    Returns:
        Width and height in millimetres; one of them is the aperture's own.
    """
    (width_mm, height_mm), (width_px, height_px) = sensor_wh_mm, picture_wh_px
    _check_positive(width_mm=width_mm, height_mm=height_mm, width_px=width_px, height_px=height_px)
    mm_per_px = min(width_mm / width_px, height_mm / height_px)
    return (width_px * mm_per_px, height_px * mm_per_px)


def _check_positive(**values: float) -> None:
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0):
            raise ValueError(f"{name} must be above 0 and finite, got {value}")
