"""A body that is put under a head, and moved to where somebody is seen."""

import numpy as np
import pytest

from framecheck.geometry.ruler import MARK_LEVELS
from framecheck.measure.head import head_from_body
from framecheck.pose.scout import HeadHint
from framecheck.pose.template import body_under, settle
from framecheck.records.seen import JOINT_INDEX, MaskSeen
from tests.pose.figures import PICTURE

HEAD = HeadHint(centre_px=(300.0, 100.0), height_px=65.0, belief=0.7)
"""Of somebody 500 px high, since crown to chin is 0.13 of the stature (Drillis & Contini 1966)."""


def middle(body, name: str) -> np.ndarray:
    rows = [JOINT_INDEX[f"{name}_{side}"] for side in ("left", "right")]
    return body.joints_px[rows].mean(axis=0)


def test_the_body_hangs_under_the_head_at_the_handbooks_levels() -> None:
    body = body_under(HEAD, PICTURE)
    for name in ("shoulder", "hip", "knee", "ankle"):
        below = (MARK_LEVELS["eye"] - MARK_LEVELS[name]) * 500
        assert middle(body, name) == pytest.approx((300, 100 + below))
    left, right = (body.joints_px[JOINT_INDEX[f"shoulder_{s}"]][0] for s in ("left", "right"))
    assert left > right  # who faces the lens has the left at the viewer's right
    assert body.is_put


def test_a_head_on_its_side_has_its_body_beside_it() -> None:
    lying = HeadHint(centre_px=(300.0, 100.0), height_px=65.0, belief=0.7, down=(1.0, 0.0))
    hip = middle(body_under(lying, PICTURE), "hip")
    assert hip == pytest.approx((300 + (MARK_LEVELS["eye"] - MARK_LEVELS["hip"]) * 500, 100))


def test_a_settled_body_has_its_face_and_its_marks_where_they_were_seen() -> None:
    body = body_under(HEAD, PICTURE)
    chain = np.array([[310, 180], [320, 320], [330, 440], [335, 560], [336, 580]], float)
    mask = MaskSeen(inside=np.full((4, 4), 255, np.uint8), box=PICTURE)
    seen = settle(
        body, eye_chin_px=np.array([[305.0, 110.0], [301.0, 150.0]]), chain_px=chain,
        head_yaw_deg=40.0, mask=mask, score=0.6,
    )  # fmt: skip
    head = head_from_body(seen)
    assert head.eye_px == pytest.approx((305.0, 110.0))
    assert head.chin_px == pytest.approx((301.0, 150.0))
    assert head.yaw_deg == pytest.approx(40.0, abs=1.0)
    for name, place in zip(("shoulder", "hip", "knee", "ankle"), chain, strict=False):
        assert middle(seen, name) == pytest.approx(place)
    assert seen.mask is mask
    assert seen.is_put
