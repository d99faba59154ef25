"""Finding room for labels: near their place, clear of each other, of faces and of the rim."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from framecheck.records.values import Box, PointPx

_DIRECTIONS: tuple[PointPx, ...] = (
    (1, 0), (-1, 0), (0, -1), (0, 1), (1, -1), (-1, -1), (1, 1), (-1, 1),
)  # fmt: skip
_ROUNDING_PX = 1e-6
_REACHES = (0.0, 0.5, 1.0, 2.0, 3.5, 5.5, 8.0, 11.0, 15.0, 20.0)  # times the label's height


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelWish:
    """A label that wants a place.

    Attributes:
        anchor: the point that it speaks of.
        size: its width and height, pixels.
        towards: direction that it would rather lie in, seen from the anchor.
        needed: True when it must be placed, even over something; False when it may be left out.
        gap_px: least distance from the anchor.
    """

    anchor: PointPx
    size: PointPx
    towards: PointPx
    needed: bool
    gap_px: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Avoid:
    """An area that labels should stay out of; the higher the cost, the more so."""

    box: Box
    cost: float


def place_labels(
    wishes: Sequence[LabelWish], bounds: Box, avoid: Sequence[Avoid], taken: Sequence[Box] = ()
) -> tuple[Box | None, ...]:
    """A box for each wish, in their order, none overlapping another; None for one left out.

    Wishes are served in order, so the ones that matter most come first. A needed label that finds
    no free place near its anchor is put into the nearest free one anywhere inside the bounds.
    """
    placed = list(taken)
    answers: list[Box | None] = []
    for wish in wishes:
        box = _best_place(wish, bounds, avoid, placed)
        answers.append(box)
        if box is not None:
            placed.append(box)
    return tuple(answers)


def stack_heights(
    wanted_px: Sequence[float], step_px: float, room_px: tuple[float, float]
) -> list[float]:
    """Tops of labels stacked in a column, each as near as it can be to where it wants to be.

    Args:
        wanted_px: tops that they would like, from the top down.
        step_px: least distance from one top to the next.
        room_px: top and bottom of the column.
    """
    tops: list[float] = []
    for wanted in wanted_px:
        lowest = tops[-1] + step_px if tops else room_px[0]
        tops.append(max(wanted, lowest))
    # Whatever was pushed out of the bottom pushes the ones above it back up.
    limit = room_px[1] - step_px
    for index in reversed(range(len(tops))):
        tops[index] = max(room_px[0], min(tops[index], limit))
        limit = tops[index] - step_px
    return tops


def overlap_px2(one: Box, other: Box) -> float:
    """Area that two boxes share, square pixels."""
    width = min(one.right_px, other.right_px) - max(one.x_px, other.x_px)
    height = min(one.bottom_px, other.bottom_px) - max(one.y_px, other.y_px)
    return max(0.0, width) * max(0.0, height)


def _best_place(
    wish: LabelWish, bounds: Box, avoid: Sequence[Avoid], placed: Sequence[Box]
) -> Box | None:
    slid = (_slid_into(bounds, box) for box in _candidates(wish))
    inside = [box for box in slid if _contains(bounds, box)]
    free = [box for box in inside if all(overlap_px2(box, other) == 0 for other in placed)]
    if free:
        return min(free, key=lambda box: _cost(wish, box, avoid))
    if not wish.needed:
        return None
    return _forced_place(wish, bounds, placed)


def _forced_place(wish: LabelWish, bounds: Box, placed: Sequence[Box]) -> Box | None:
    """Scan the whole bounds in label-sized steps for the nearest free place."""
    width, height = wish.size
    if width > bounds.w_px or height > bounds.h_px:
        return None
    columns = max(1, math.ceil((bounds.w_px - width) / max(1.0, width / 4)))
    rows = max(1, math.ceil((bounds.h_px - height) / max(1.0, height / 2)))
    grid = (
        Box(
            x_px=bounds.x_px + (bounds.w_px - width) * column / columns,
            y_px=bounds.y_px + (bounds.h_px - height) * row / rows,
            w_px=width,
            h_px=height,
        )
        for row in range(rows + 1)
        for column in range(columns + 1)
    )
    free = [box for box in grid if all(overlap_px2(box, other) == 0 for other in placed)]
    return min(free, key=lambda box: math.dist(box.centre_px, wish.anchor), default=None)


def _candidates(wish: LabelWish) -> Iterator[Box]:
    (x, y), (width, height) = wish.anchor, wish.size
    for reach in _REACHES:
        step = wish.gap_px + reach * height
        for right, down in _DIRECTIONS:
            yield Box(
                x_px=x + right * step + (right - 1) * width / 2,
                y_px=y + down * step + (down - 1) * height / 2,
                w_px=width,
                h_px=height,
            )


def _cost(wish: LabelWish, box: Box, avoid: Sequence[Avoid]) -> float:
    height = wish.size[1]
    away = (box.centre_px[0] - wish.anchor[0], box.centre_px[1] - wish.anchor[1])
    length = math.hypot(*away) or 1.0
    turn = 1.0 - (away[0] * wish.towards[0] + away[1] * wish.towards[1]) / length
    covered = sum(area.cost * overlap_px2(box, area.box) for area in avoid) / box.area_px2
    return _gap_between(box, wish.anchor) / height + 1.5 * turn + covered


def _gap_between(box: Box, point: PointPx) -> float:
    dx = max(box.x_px - point[0], 0.0, point[0] - box.right_px)
    dy = max(box.y_px - point[1], 0.0, point[1] - box.bottom_px)
    return math.hypot(dx, dy)


def _slid_into(bounds: Box, box: Box) -> Box:
    """The box moved just far enough to lie inside the bounds, where it is not too large."""
    x_px = max(bounds.x_px, min(box.x_px, bounds.right_px - box.w_px))
    y_px = max(bounds.y_px, min(box.y_px, bounds.bottom_px - box.h_px))
    return Box(x_px=x_px, y_px=y_px, w_px=box.w_px, h_px=box.h_px)


def _contains(bounds: Box, box: Box) -> bool:
    return (
        box.x_px >= bounds.x_px
        and box.y_px >= bounds.y_px
        and box.right_px <= bounds.right_px + _ROUNDING_PX
        and box.bottom_px <= bounds.bottom_px + _ROUNDING_PX
    )
