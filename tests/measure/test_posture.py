"""Facing by its limits, posture by limbs of known angles."""

import numpy as np
import pytest

from framecheck.geometry.ruler import MARK_LEVELS
from framecheck.measure.posture import judge_facing, judge_posture
from framecheck.measure.ruler_fit import ruler_from_points
from framecheck.records.framing import Facing, Posture
from framecheck.records.seen import JOINT_INDEX, BodySeen
from tests.measure.figures import a_body


@pytest.mark.parametrize(
    ("yaw_deg", "facing"),
    [
        (0.0, Facing.TO_LENS), (22.5, Facing.TO_LENS), (22.6, Facing.THREE_QUARTER),
        (45.0, Facing.THREE_QUARTER), (67.5, Facing.THREE_QUARTER), (67.6, Facing.PROFILE),
        (90.0, Facing.PROFILE), (112.5, Facing.PROFILE), (112.6, Facing.AWAY), (180.0, Facing.AWAY),
    ],
)  # fmt: skip
def test_facing_is_the_same_on_both_sides(yaw_deg, facing) -> None:
    assert judge_facing(yaw_deg) is facing
    assert judge_facing(-yaw_deg) is facing


def ruler(*unseen: str):
    points = {name: (0.0, 1000 * (1 - level)) for name, level in MARK_LEVELS.items()}
    return ruler_from_points(points, {name: name not in unseen for name in points}, 0.01)


def bent(*, torso: tuple[float, float], thigh: tuple[float, float]) -> BodySeen:
    """A body in the plane across the lens: torso and thigh as (x, y) directions, y down."""
    body = a_body()
    metres = np.array(body.joints_m)
    for side in ("left", "right"):
        metres[JOINT_INDEX[f"hip_{side}"]] = 0.0
        metres[JOINT_INDEX[f"shoulder_{side}"]] = [-0.5 * torso[0], -0.5 * torso[1], 0]
        metres[JOINT_INDEX[f"knee_{side}"]] = [0.4 * thigh[0], 0.4 * thigh[1], 0]
    return BodySeen(
        joints_px=body.joints_px, joints_m=metres, presence=body.presence, mask=body.mask,
        score=1.0, found_by="a test",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("torso", "thigh", "posture"),
    [
        ((0, 1), (0, 1), Posture.STANDING),
        ((0, 1), (1, 0), Posture.SEATED),
        ((0, 1), (-1, 0.3), Posture.SEATED),
        ((1, 0), (1, 0), Posture.OTHER),
        ((0.3, 1), (0.1, 1), Posture.STANDING),
    ],
    ids=["upright", "thighs level", "thighs forward", "lying", "leaning"],
)
def test_posture_follows_from_the_limbs(torso, thigh, posture) -> None:
    assert judge_posture(bent(torso=torso, thigh=thigh), ruler()) is posture


@pytest.mark.parametrize("unseen", ["hip", "knee"])
def test_no_posture_without_hips_and_knees_in_the_picture(unseen) -> None:
    assert judge_posture(a_body(), ruler(unseen)) is None


def test_no_posture_without_a_body() -> None:
    assert judge_posture(None, ruler()) is None
