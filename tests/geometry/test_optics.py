"""Optics against published angles of view and worked distances.

Formulas: angle of view 2 atan(d / 2f) (sciencezero.4hv.org, "Angle of view"; ayton.id.au,
"photo:fov"); pinhole D = f H / h and thin lens D = f (1 + H / h) are textbook optics.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.geometry.optics import (
    angle_of_view_deg,
    distance_for_field_m,
    field_m,
    focal_for_angle_mm,
    focal_for_field_mm,
    image_height_mm,
    pinhole_distance_m,
    relative_size,
    same_size_distance_m,
    thin_lens_distance_m,
    used_sensor_mm,
)

ACADEMY, SUPER_35, THREE_PERF = (21.95, 16.00), (24.89, 18.66), (24.89, 13.87)
FULL_FRAME, SUPER_16, TWO_THIRDS = (36.0, 24.0), (12.52, 7.41), (9.59, 5.39)
LENGTHS = st.floats(0.1, 500)


@pytest.mark.parametrize(
    ("side_mm", "focal_mm", "angle_deg"),
    [
        (36, 18, 90.0),  # exact: tan 45 = 1
        (24, 12, 90.0),
        (16, 16, 53.130),  # exact: the 3-4-5 triangle
    ],
)
def test_exact_angles(side_mm, focal_mm, angle_deg) -> None:
    assert angle_of_view_deg(side_mm, focal_mm) == pytest.approx(angle_deg, abs=5e-4)


@pytest.mark.parametrize(
    ("side_mm", "focal_mm", "published_deg", "digits"),
    [
        (36, 50, 39.6, 1), (24, 50, 27.0, 1), (math.hypot(36, 24), 50, 46.8, 1),  # ayton.id.au
        (22.5, 30, 41.1, 1),  # sciencezero.4hv.org
        (43.2, 50, 46.7, 1),  # the diagonal of 135 in tables of lenses
        # openusd.org, UsdGeomCamera: default aperture 20.955 x 15.2908, focal length 50; angles
        # computed from them, as its documentation gives no angle.
        (20.955, 50, 23.670, 3), (15.2908, 50, 17.387, 3),
    ],
)  # fmt: skip
def test_published_angles(side_mm, focal_mm, published_deg, digits) -> None:
    assert round(angle_of_view_deg(side_mm, focal_mm), digits) == published_deg


# Worked out apart from this code for the apertures that the trade uses, H / V in degrees.
TABLE = {
    9: "101.29/83.27 108.25/92.06 108.25/75.23 126.87/106.26 69.64/44.75 56.10/33.34",
    12: "84.89/67.38 92.09/75.73 92.09/60.05 112.62/90.00 55.10/34.32 43.56/25.32",
    18: "62.74/47.92 69.32/54.80 69.32/42.14 90.00/67.38 38.35/23.26 29.83/17.03",
    25: "47.40/35.49 52.93/40.93 52.93/31.01 71.51/51.28 28.12/16.86 21.71/12.31",
    35: "34.82/25.75 39.15/29.85 39.15/22.42 54.43/37.85 20.28/12.09 15.60/8.81",
    50: "24.76/18.18 27.95/21.14 27.95/15.79 39.60/26.99 14.27/8.48 10.96/6.17",
    85: "14.71/10.75 16.66/12.53 16.66/9.33 23.91/16.07 8.42/4.99 6.46/3.63",
    100: "12.53/9.15 14.19/10.66 14.19/7.93 20.41/13.69 7.16/4.24 5.49/3.09",
}


@pytest.mark.parametrize("focal_mm", TABLE)
def test_the_table_of_angles(focal_mm) -> None:
    sensors = (ACADEMY, SUPER_35, THREE_PERF, FULL_FRAME, SUPER_16, TWO_THIRDS)
    cells = [
        "/".join(f"{angle_of_view_deg(side, focal_mm):.2f}" for side in sensor)
        for sensor in sensors
    ]
    assert " ".join(cells) == TABLE[focal_mm]


@pytest.mark.parametrize(
    ("object_m", "image_mm", "focal_mm", "pinhole_m", "thin_m"),
    [
        (1.75, 16.00, 50, 5.469, 5.519),
        (1.75, 18.66, 35, 3.282, 3.317),
        (1.75, 24.00, 50, 3.646, 3.696),
        (1.75, 0.8 * 24, 50, 4.557, 4.607),
        (1.75, 20.25, 35, 3.025, 3.060),
        (1.75, 7.41, 16, 3.779, 3.795),
        (0.22, 8.0, 85, 2.338, 2.423),
        (0.2275, 13.87 / 2, 50, 1.640, 1.690),
        (0.063, 0.05 * 36, 50, 1.750, 1.800),
        (1.70, 720 / 1080 * 20.25, 50, 6.296, 6.346),
    ],
)
def test_worked_distances(object_m, image_mm, focal_mm, pinhole_m, thin_m) -> None:
    half_mm = 0.0005001
    assert pinhole_distance_m(object_m, image_mm, focal_mm) == pytest.approx(pinhole_m, abs=half_mm)
    assert thin_lens_distance_m(object_m, image_mm, focal_mm) == pytest.approx(thin_m, abs=half_mm)


@pytest.mark.parametrize(
    ("focal_mm", "distance_m"), [(24, 1.20), (35, 1.75), (50, 2.50), (85, 4.25), (100, 5.00)]
)
def test_a_lens_change_that_keeps_the_field(focal_mm, distance_m) -> None:
    assert field_m(36, distance_m, focal_mm) == pytest.approx(1.8)
    assert same_size_distance_m(1.20, 24, focal_mm) == pytest.approx(distance_m)
    assert distance_for_field_m(1.8, 36, focal_mm) == pytest.approx(distance_m)
    assert focal_for_field_mm(1.8, 36, distance_m) == pytest.approx(focal_mm)


def test_a_published_field() -> None:
    # primidi.com, "Dolly zoom": 90 degrees at 2 m take in 4 m.
    assert field_m(36, 2.0, focal_for_angle_mm(36, 90)) == pytest.approx(4.0)


def test_perspective_of_two_people() -> None:
    assert relative_size(2.0, 2.0) == 0.5
    assert relative_size(8.0, 2.0) == 0.8
    assert relative_size(3.0, -1.0) == 1.5
    with pytest.raises(ValueError, match="behind the lens"):
        relative_size(2.0, -2.0)


def test_a_picture_takes_as_much_of_the_sensor_as_fits() -> None:
    # 16:9 on 36 x 24 uses 36 x 20.25, the height that the worked distances above start from
    assert used_sensor_mm(FULL_FRAME, (1920, 1080)) == pytest.approx((36, 20.25))
    assert used_sensor_mm(FULL_FRAME, (1080, 1920)) == pytest.approx((13.5, 24))
    assert used_sensor_mm((24, 36), (1080, 1920)) == pytest.approx((20.25, 36))


@given(LENGTHS, LENGTHS, LENGTHS)
def test_ways_there_and_back(object_m, distance_m, focal_mm) -> None:
    image_mm = image_height_mm(object_m, distance_m, focal_mm)
    assert pinhole_distance_m(object_m, image_mm, focal_mm) == pytest.approx(distance_m)
    angle_deg = angle_of_view_deg(image_mm, focal_mm)
    assert focal_for_angle_mm(image_mm, angle_deg) == pytest.approx(focal_mm)


def test_nearer_focus_narrows_the_angle() -> None:
    assert angle_of_view_deg(36, 50, magnification=1.0) == angle_of_view_deg(36, 100)


@pytest.mark.parametrize("wrong", [0.0, -1.0, math.nan, math.inf])
def test_what_cannot_be(wrong) -> None:
    for call in (
        lambda: angle_of_view_deg(wrong, 50),
        lambda: angle_of_view_deg(36, wrong),
        lambda: pinhole_distance_m(wrong, 1, 1),
        lambda: relative_size(wrong, 0),
        lambda: used_sensor_mm((36, 24), (wrong, 1)),
    ):
        with pytest.raises(ValueError, match="must be above 0"):
            call()
    with pytest.raises(ValueError, match="below 180"):
        focal_for_angle_mm(36, 180)
