"""The naive baseline: one pass of the landmark network, its points read as they come."""

from __future__ import annotations

import math

import numpy as np

from framecheck.geometry.ruler import MARK_LEVELS, read_bottom_edge
from framecheck.measure.corrector import middles_px
from framecheck.measure.head import head_from_body
from framecheck.measure.ruler_fit import ruler_from_points
from framecheck.pose.networks import Networks
from framecheck.pose.views import View, cut_view
from framecheck.records.picture import Picture
from framecheck.records.seen import BodySeen
from framecheck.records.values import PointPx

NaiveReading = dict[str, float | PointPx]


def whole_view(picture: Picture) -> View:
    """The whole picture at its own size, as a bare call of the network would see it."""
    longest_px = max(picture.rgb.shape[:2])
    return cut_view(picture.rgb, picture.active, picture.active, longest_px)


def read_naively(networks: Networks, picture: Picture) -> list[NaiveReading]:
    """Every body of one bare pass, the largest first."""
    bodies = networks.find_bodies(whole_view(picture), "one bare pass")
    return [_reading(body, picture) for body in sorted(bodies, key=_spread_px, reverse=True)]


def _spread_px(body: BodySeen) -> float:
    return float(np.ptp(body.joints_px[:, 1]) + np.ptp(body.joints_px[:, 0]))


def _reading(body: BodySeen, picture: Picture) -> NaiveReading:
    head = head_from_body(body)
    share = (1.0 - MARK_LEVELS["eye"]) / (MARK_LEVELS["eye"] - MARK_LEVELS["chin"])
    crown = (
        head.eye_px[0] - share * (head.chin_px[0] - head.eye_px[0]),
        head.eye_px[1] - share * (head.chin_px[1] - head.eye_px[1]),
    )
    points = {"crown": crown, "eye": head.eye_px, "chin": head.chin_px, **middles_px(body)}
    ruler = ruler_from_points(points, dict.fromkeys(points, True), 0.0)
    active = picture.active
    return {
        "eye": head.eye_px,
        "head_height_px": math.dist(crown, head.chin_px),
        "crop_level": read_bottom_edge(ruler, active.bottom_px),
        "figure_frac": ruler.figure_px / active.h_px,
        "headroom_frac": (crown[1] - active.y_px) / active.h_px,
        "head_yaw_deg": head.yaw_deg,
    }
