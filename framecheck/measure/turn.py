"""Which way a body is turned, from the lines through its shoulders and its hips."""

from __future__ import annotations

import math

from framecheck.measure.cuttable import is_inside
from framecheck.records.seen import JOINT_INDEX, BodySeen
from framecheck.records.values import Box, Measured, NotMeasured


def measure_body_yaw(body: BodySeen | None, picture: Box) -> Measured:
    """The turn of the shoulders in degrees: 0 with the chest to the lens, + to the viewer's right.

    The shoulder line of the pose network's metres; not read where both shoulders are outside.
    """
    if body is None:
        return NotMeasured(reason="only the face was found")
    left, right = JOINT_INDEX["shoulder_left"], JOINT_INDEX["shoulder_right"]
    inside = [
        is_inside((float(body.joints_px[row, 0]), float(body.joints_px[row, 1])), picture)
        for row in (left, right)
    ]
    if not any(inside):
        return NotMeasured(reason="both shoulders are outside the picture")
    across = body.joints_m[left] - body.joints_m[right]
    if math.hypot(across[0], across[2]) < 1e-6:
        return NotMeasured(reason="the shoulders lie on each other")
    return math.degrees(math.atan2(float(across[2]), float(across[0])))
