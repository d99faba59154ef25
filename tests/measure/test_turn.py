"""The camera's pitch, as the bodies tell it."""

import numpy as np
import pytest

from framecheck.measure.head import Head
from framecheck.measure.turn import read_camera_pitch, turn_head
from framecheck.records.seen import AnglesSeen, MarksSeen, MaskSeen, PersonSeen
from framecheck.records.values import Box, NotMeasured


def someone(pitch_deg: float | None, error_deg: float = 3.0) -> PersonSeen:
    angles = None
    if pitch_deg is not None:
        angles = AnglesSeen(
            head_yaw_deg=0, body_yaw_deg=0,
            camera_pitch_deg=pitch_deg, camera_pitch_error_deg=error_deg,
        )  # fmt: skip
    marks = MarksSeen(
        points_px=np.zeros((5, 2)), errors_px=np.ones(5), head_top_px=0.0, angles=angles
    )
    mask = MaskSeen(inside=np.zeros((2, 2), np.uint8), box=Box(x_px=0, y_px=0, w_px=2, h_px=2))
    return PersonSeen(outline=mask, marks=marks)


def test_one_body_tells_its_own() -> None:
    assert read_camera_pitch([someone(-12.0)]) == pytest.approx(-12.0)


def test_the_surer_body_weighs_more() -> None:
    """Errors of 2 and 4 degrees weigh 4 to 1: (4 x 10 + 1 x 0) / 5."""
    assert read_camera_pitch([someone(10.0, 2.0), someone(0.0, 4.0)]) == pytest.approx(8.0)


def test_without_a_body_it_is_not_measured() -> None:
    assert isinstance(read_camera_pitch([]), NotMeasured)
    assert isinstance(read_camera_pitch([someone(None)]), NotMeasured)


def test_the_middle_of_two_opinions_is_taken_the_short_way_round() -> None:
    """170 and -170 degrees are 20 apart by 180; three tenths of the way back from -170 are -176.

    The long way round it would be -68. The arc bends the mean by under 0.1.
    """
    head = a_head(yaw_deg=170.0, from_mesh=False)
    assert turn_head(head, told(-170)).yaw_deg == pytest.approx(-176.0, abs=0.1)


def test_a_mesh_weighs_more_than_the_network() -> None:
    """10 degrees weigh 0.7, 20 degrees 0.3: about 13 (the arc bends it by under 0.1)."""
    assert turn_head(a_head(yaw_deg=10.0), told(20)).yaw_deg == pytest.approx(13.0, abs=0.1)


def test_a_network_that_is_astray_hardly_moves_a_mesh() -> None:
    """60 degrees off, twice 30: 0.3 / (1 + 2^4) of the way, 1.06 degrees but for the arc."""
    assert turn_head(a_head(yaw_deg=10.0), told(70)).yaw_deg == pytest.approx(11.06, abs=0.2)


def test_a_single_opinion_is_left_alone() -> None:
    head = a_head(yaw_deg=33.0)
    assert turn_head(head, None) == head


def a_head(*, yaw_deg: float, from_mesh: bool = True) -> Head:
    return Head(
        eye_px=(0, 0), chin_px=(0, 10), nose_px=(0, 4), down=(0, 1), eye_to_chin_px=10,
        yaw_deg=yaw_deg, pitch_deg=0, roll_deg=0, from_mesh=from_mesh,
    )  # fmt: skip


def told(yaw_deg: float) -> AnglesSeen:
    return AnglesSeen(
        head_yaw_deg=yaw_deg, body_yaw_deg=0, camera_pitch_deg=0, camera_pitch_error_deg=5
    )
