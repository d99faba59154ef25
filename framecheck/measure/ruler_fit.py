"""Lay the ruler along a body: trust what was seen inside the picture, infer the rest."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from framecheck.geometry.ruler import MARK_LEVELS, ruler_length_px
from framecheck.measure.head import Head
from framecheck.records.framing import BodyRuler, RulerMark
from framecheck.records.seen import JOINT_INDEX, BodySeen
from framecheck.records.values import Box, PointPx

CHAIN = ("shoulder", "hip", "knee", "ankle", "sole")


def middles_px(body: BodySeen) -> dict[str, PointPx]:
    """Middles of the left and right joints of the chain, as the network gave them."""
    found = {name: _middle(body, name) for name in ("shoulder", "hip", "knee", "ankle")}
    heel, toe = _middle(body, "heel"), _middle(body, "toe")
    found["sole"] = ((found["ankle"][0] + heel[0]) / 2, max(heel[1], (heel[1] + toe[1]) / 2))
    return found


def _middle(body: BodySeen, name: str) -> PointPx:
    left = body.joints_px[JOINT_INDEX[f"{name}_left"]]
    right = body.joints_px[JOINT_INDEX[f"{name}_right"]]
    x_px, y_px = (left + right) / 2
    return float(x_px), float(y_px)


def fit_ruler(head: Head, crown_px: PointPx, body: BodySeen | None, picture: Box) -> BodyRuler:
    """The ruler of one person."""
    raw = {} if body is None else middles_px(body)
    points: dict[str, PointPx] = {"crown": crown_px, "eye": head.eye_px, "chin": head.chin_px}
    seen = {name: True for name in points}
    scale_px = (math.dist(head.eye_px, head.chin_px)) / 0.066
    down = np.array(head.down)
    prev = "chin"
    for name in CHAIN:
        seg = (MARK_LEVELS[prev] - MARK_LEVELS[name]) * scale_px
        guess = np.array(points[prev]) + down * seg
        use = name in raw and raw[name][1] < picture.bottom_px - 0.02 * scale_px and seen[prev]
        if use:
            guess = np.array(raw[name])
            d = guess - np.array(points[prev])
            down = d / max(1e-6, np.linalg.norm(d))
            scale_px = math.dist(points["eye"], guess) / (0.936 - MARK_LEVELS[name])
        points[name] = (float(guess[0]), float(guess[1]))
        seen[name] = use
        prev = name
    return ruler_from_points(points, seen, 0.01)


def ruler_from_points(
    points: Mapping[str, PointPx], seen: Mapping[str, bool], error_level: float
) -> BodyRuler:
    """A ruler from named points."""
    marks = tuple(
        RulerMark(
            name=name, level=level, x_px=points[name][0], y_px=points[name][1], seen=seen[name]
        )
        for name, level in MARK_LEVELS.items()
    )
    length_px = ruler_length_px([(mark.x_px, mark.y_px) for mark in marks])
    return BodyRuler(marks=marks, figure_px=max(length_px, 1e-6), error_level=error_level)
