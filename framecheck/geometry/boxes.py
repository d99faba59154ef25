"""Boxes and points."""

from __future__ import annotations

from framecheck.records.values import Box, PointPx


def holds(box: Box, point_px: PointPx) -> bool:
    """True when a point lies in a box; its rim belongs to it."""
    x_px, y_px = point_px
    return box.x_px <= x_px <= box.right_px and box.y_px <= y_px <= box.bottom_px
