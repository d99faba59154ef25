"""Set-ups compared: where a lens must stand, and what it then makes of the background."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from framecheck.geometry.optics import (
    angle_of_view_deg,
    distance_for_field_m,
    field_m,
    focal_for_field_mm,
    relative_size,
    same_size_distance_m,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUp:
    """The set-up that others are compared with.

    Attributes:
        distance_m: from the lens to the subject.
        focal_mm: of the lens.
        used_wh_mm: the part of the sensor that the picture uses, as if the lens were spherical.
        behind_m: how far behind the subject the background is looked at.
        most_distance_m: the farthest that the place allows; None for no limit.
    """

    distance_m: float
    focal_mm: float
    used_wh_mm: tuple[float, float]
    behind_m: float
    most_distance_m: float | None = None

    @property
    def field_height_m(self) -> float:
        """What the picture takes in at the subject, from top to bottom."""
        return field_m(self.used_wh_mm[1], self.distance_m, self.focal_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class LensRow:
    """The same size of the subject on another lens.

    Attributes:
        view_wh_deg: angles of view across and down.
        distance_m: where the lens must stand. move_m: how far that is, + back from the subject.
        behind_size: how large a person `behind_m` behind the subject looks beside it.
        background_m: width of the background that is seen there.
        fits: whether the place is deep enough.
    """

    focal_mm: float
    view_wh_deg: tuple[float, float]
    distance_m: float
    move_m: float
    behind_size: float
    background_m: float
    fits: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeRow:
    """Another size of the same subject.

    Attributes:
        name, abbr: of the size.
        field_m: height of the picture at the subject in its middle.
        walk_m: distance on the same lens; walk_low_m to walk_high_m give the size as well.
        move_m: how far to walk, + back from the subject.
        zoom_mm: focal length from the same place.
        longest_mm: the longest lens of the set for which the place is deep enough; None for none.
        room_mm: the focal length that takes all of the depth; None where the place has no limit.
    """

    name: str
    abbr: str
    field_m: float
    walk_m: float
    walk_low_m: float
    walk_high_m: float
    move_m: float
    zoom_mm: float
    longest_mm: float | None
    room_mm: float | None


def compare_lenses(now: SetUp, focals_mm: Sequence[float]) -> tuple[LensRow, ...]:
    """The subject at the same size on each lens, short to long."""
    return tuple(_lens_row(now, focal_mm) for focal_mm in sorted(set(focals_mm)))


def compare_sizes(
    now: SetUp,
    sizes: Sequence[tuple[str, str, tuple[float, float, float]]],
    focals_mm: Sequence[float],
) -> tuple[SizeRow, ...]:
    """Each size by walking, by zooming, and in the room that there is.

    Args:
        now: the set-up to start from.
        sizes: name, abbreviation, and the least, middle and largest height of the picture at the
            subject, metres.
        focals_mm: the lenses at hand.
    """
    return tuple(_size_row(now, size, focals_mm) for size in sizes)


def longest_lens_mm(now: SetUp, field_height_m: float, focals_mm: Sequence[float]) -> float | None:
    """The longest lens that takes in that height from within the place, None when none does."""
    fitting = [
        focal_mm
        for focal_mm in focals_mm
        if _fits(now, distance_for_field_m(field_height_m, now.used_wh_mm[1], focal_mm))
    ]
    return max(fitting, default=None)


def _lens_row(now: SetUp, focal_mm: float) -> LensRow:
    distance_m = same_size_distance_m(now.distance_m, now.focal_mm, focal_mm)
    width_mm, height_mm = now.used_wh_mm
    return LensRow(
        focal_mm=focal_mm,
        view_wh_deg=(
            angle_of_view_deg(width_mm, focal_mm),
            angle_of_view_deg(height_mm, focal_mm),
        ),
        distance_m=distance_m,
        move_m=distance_m - now.distance_m,
        behind_size=relative_size(distance_m, now.behind_m),
        background_m=field_m(width_mm, distance_m + now.behind_m, focal_mm),
        fits=_fits(now, distance_m),
    )


def _size_row(
    now: SetUp, size: tuple[str, str, tuple[float, float, float]], focals_mm: Sequence[float]
) -> SizeRow:
    name, abbr, fields_m = size
    height_mm = now.used_wh_mm[1]
    low_m, walk_m, high_m = (distance_for_field_m(f, height_mm, now.focal_mm) for f in fields_m)
    return SizeRow(
        name=name,
        abbr=abbr,
        field_m=fields_m[1],
        walk_m=walk_m,
        walk_low_m=low_m,
        walk_high_m=high_m,
        move_m=walk_m - now.distance_m,
        zoom_mm=focal_for_field_mm(fields_m[1], height_mm, now.distance_m),
        longest_mm=longest_lens_mm(now, fields_m[1], focals_mm),
        room_mm=(
            None
            if now.most_distance_m is None
            else focal_for_field_mm(fields_m[1], height_mm, now.most_distance_m)
        ),
    )


def _fits(now: SetUp, distance_m: float) -> bool:
    return now.most_distance_m is None or distance_m <= now.most_distance_m
