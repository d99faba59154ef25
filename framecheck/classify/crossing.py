"""Where a chain of body points leaves the picture, and by how much a point lies beyond an edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from framecheck.geometry.boxes import holds
from framecheck.geometry.ruler import edge_position_px
from framecheck.records.framing import Edge
from framecheck.records.values import Box, PointPx

_EDGES = (Edge.TOP, Edge.BOTTOM, Edge.LEFT, Edge.RIGHT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """The place where a chain leaves the picture.

    Attributes:
        segment: index of the chain's last point inside.
        share: 0..1 from that point to the next, at the edge.
        edge: the edge that is crossed.
    """

    segment: int
    share: float
    edge: Edge


def beyond_px(point_px: PointPx, picture: Box, edge: Edge) -> float:
    """Distance of a point beyond one edge; > 0 outside, < 0 on the picture's side of it."""
    sideways = edge is Edge.LEFT or edge is Edge.RIGHT
    inward = edge is Edge.LEFT or edge is Edge.TOP
    distance_px = point_px[0 if sideways else 1] - edge_position_px(picture, edge)
    return -distance_px if inward else distance_px


def first_crossing(points_px: Sequence[PointPx], picture: Box) -> Crossing | None:
    """The first place where a chain goes from inside the picture to outside, None if it never does.

    Args:
        points_px: the chain, from the trunk outwards or from the crown down.
        picture: the active picture.
    """
    before = False
    for index, point in enumerate(points_px):
        inside = holds(picture, point)
        if before and not inside:
            share, edge = _leave(points_px[index - 1], point, picture)
            return Crossing(segment=index - 1, share=share, edge=edge)
        before = inside
    return None


def _leave(inner_px: PointPx, outer_px: PointPx, picture: Box) -> tuple[float, Edge]:
    starts, ends = _beyond_each_px(inner_px, picture), _beyond_each_px(outer_px, picture)
    shares = [
        (start / (start - end), edge)
        for edge, start, end in zip(_EDGES, starts, ends, strict=True)
        if end > 0
    ]
    # The edge that is met first is the one that cuts; through a corner, the order of the words
    # decides, the same on every run.
    return min(shares)


def _beyond_each_px(point_px: PointPx, picture: Box) -> tuple[float, float, float, float]:
    """`beyond_px` of each of `_EDGES`: looked for thousands of times in the search for advice."""
    x_px, y_px = point_px
    return (
        picture.y_px - y_px,
        y_px - picture.bottom_px,
        picture.x_px - x_px,
        x_px - picture.right_px,
    )
