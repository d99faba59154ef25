"""A standing body put under a head: where to start when no pose network found one there.

Proportions are those of the ruler's marks (Drillis and Contini, 1966); breadths over the stature
are common practice in figure drawing. The marks network then says where the body really is.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from framecheck.geometry.ruler import MARK_LEVELS
from framecheck.measure.head import MOUTH_TO_CHIN
from framecheck.pose.scout import HeadHint
from framecheck.records.seen import JOINT_INDEX, JOINTS, BodySeen, MaskSeen
from framecheck.records.values import Box

FloatArray = npt.NDArray[np.float64]

UNDER_HEAD = "a body put under a head that the scout saw"

LEVELS = {
    "nose": 0.907, "eye": MARK_LEVELS["eye"], "ear": 0.925, "mouth": 0.889,
    "shoulder": MARK_LEVELS["shoulder"], "elbow": 0.63, "wrist": 0.485, "pinky": 0.44,
    "index": 0.44, "thumb": 0.45, "hip": MARK_LEVELS["hip"], "knee": MARK_LEVELS["knee"],
    "ankle": MARK_LEVELS["ankle"], "heel": 0.0, "toe": 0.0,
}  # fmt: skip
BREADTHS = {
    "eye": 0.018, "ear": 0.042, "mouth": 0.013, "shoulder": 0.11, "elbow": 0.13, "wrist": 0.14,
    "pinky": 0.14, "index": 0.14, "thumb": 0.14, "hip": 0.055, "knee": 0.05, "ankle": 0.045,
    "heel": 0.045, "toe": 0.055,
}  # fmt: skip
DEPTHS = {"nose": -0.06, "eye": -0.045, "mouth": -0.05, "toe": -0.07}
HEAD_PARTS = frozenset({"nose", "eye", "ear", "mouth"})
CHAIN_PARTS = (("shoulder",), ("hip",), ("knee",), ("ankle",), ("heel", "toe"))
STATURE_M = 1.7
NOTHING = np.zeros((2, 2), dtype=np.uint8)


def body_under(head: HeadHint, picture: Box) -> BodySeen:
    """A body that stands under a head, faces the lens, and of which no joint is believed."""
    stature_px = head.height_px / (MARK_LEVELS["crown"] - MARK_LEVELS["chin"])
    unit = _standing()
    down = np.array(head.down)
    # The subject's left is at the viewer's right when the body hangs down.
    across = np.array([down[1], -down[0]])
    joints_px = (
        np.array(head.centre_px)
        + stature_px * ((LEVELS["eye"] - unit[:, 1:2]) * down + unit[:, :1] * across)
    )  # fmt: skip
    in_plane = (LEVELS["hip"] - unit[:, 1:2]) * down + unit[:, :1] * across
    joints_m = STATURE_M * np.column_stack([in_plane, unit[:, 2]])
    return BodySeen(
        joints_px=joints_px, joints_m=joints_m, presence=np.zeros(len(JOINTS)),
        mask=MaskSeen(inside=NOTHING, box=picture), score=head.belief, found_by=UNDER_HEAD,
    )  # fmt: skip


def _standing() -> FloatArray:
    """Across, level and depth of every joint, in statures; (33, 3)."""
    rows = np.zeros((len(JOINTS), 3))
    for name, row in JOINT_INDEX.items():
        part = name.split("_")[0]
        side = 1.0 if name.endswith("left") else -1.0 if name.endswith("right") else 0.0
        wide = 0.6 if "inner" in name else 1.4 if "outer" in name else 1.0
        rows[row] = side * wide * BREADTHS.get(part, 0.0), LEVELS[part], DEPTHS.get(part, 0.0)
    return rows


def settle(  # noqa: PLR0913  # all named
    body: BodySeen, *, eye_chin_px: FloatArray, chain_px: FloatArray, head_yaw_deg: float,
    mask: MaskSeen, score: float,
) -> BodySeen:  # fmt: skip
    """A body that was put under a head, moved to where somebody was seen.

    Args:
        body: from `body_under`.
        eye_chin_px: (2, 2) middle of the eyes, and chin.
        chain_px: (5, 2) shoulder, hip, knee, ankle, sole.
        head_yaw_deg: which way the head is turned.
        mask: the person's pixels.
        score: 0..1.
    """
    joints_px, joints_m = body.joints_px.copy(), body.joints_m.copy()
    head = [row for name, row in JOINT_INDEX.items() if name.split("_")[0] in HEAD_PARTS]
    joints_px[head] = _carried(joints_px[head], _eye_and_chin(joints_px), eye_chin_px)
    yaw = math.radians(head_yaw_deg)
    across, away = joints_m[head, 0].copy(), joints_m[head, 2].copy()
    joints_m[head, 0] = across * math.cos(yaw) - away * math.sin(yaw)
    joints_m[head, 2] = across * math.sin(yaw) + away * math.cos(yaw)
    for part, place in zip(CHAIN_PARTS, chain_px, strict=True):
        for name in part:
            rows = [JOINT_INDEX[f"{name}_{side}"] for side in ("left", "right")]
            joints_px[rows] += place - joints_px[rows].mean(axis=0)
    return replace(body, joints_px=joints_px, joints_m=joints_m, mask=mask, score=score)


def _eye_and_chin(joints_px: FloatArray) -> FloatArray:
    """Middle of the eyes, and the chin by proportion as `framecheck.measure.head` puts it."""
    eye, mouth = (
        joints_px[[JOINT_INDEX[f"{name}_left"], JOINT_INDEX[f"{name}_right"]]].mean(axis=0)
        for name in ("eye", "mouth")
    )
    return np.array([eye, mouth + MOUTH_TO_CHIN * (mouth - eye)])


def _carried(points_px: FloatArray, start_px: FloatArray, end_px: FloatArray) -> FloatArray:
    """Points moved as the turn, scale and shift do that carry one line of two points to another."""
    before, after = (complex(*(line[1] - line[0])) for line in (start_px, end_px))
    factor = after / before
    moved = [complex(*(point - start_px[0])) * factor for point in points_px]
    return np.array([[m.real + end_px[0, 0], m.imag + end_px[0, 1]] for m in moved])
