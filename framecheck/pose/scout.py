"""The scout: a small network of this project that looks for near backs and heads in a picture.

A near back is the figure past whose shoulder a shot looks, often no more than a shoulder and a
piece of a head, which no pose network knows. Of each head it tells the size, and where the body is.
Trained on rendered pictures by `models/fit/train_networks.py`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from framecheck.pose.leftovers import Leftover, explains, find_leftovers
from framecheck.pose.own import OwnNetwork, as_shares
from framecheck.pose.views import View
from framecheck.records.seen import BodySeen, FaceSeen, MaskSeen
from framecheck.records.values import Box, PointPx

SCOUT_PX = 320
"""Side of the input; the picture is squeezed into this square whatever its shape."""

MAP_PX = 80
"""Side of the maps that come out."""

BACK, HEAD, LOG_HEIGHT, DOWN_X, DOWN_Y = range(5)
"""The maps: logits of near back and of head; at a head the logarithm of its height over the
picture's, and the direction from the head to the hips."""


LEAST_FRAC = 0.02
"""Least area of a near back over the picture's."""


MOST_FRAC = 0.65
"""Most area of one: what covers more hides whom the shot looks at."""

LEAST_BELIEF = 0.15
"""Least belief in a head."""

HEAD_APART = 0.5
"""Least distance between two heads, over the surer one's height."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadHint:
    """A place where a head may be.

    Attributes:
        centre_px: its middle, pixels of the whole file.
        height_px: about how high it is, crown to chin.
        belief: 0..1.
        down: unit vector in the picture from the head towards the hips.
    """

    centre_px: PointPx
    height_px: float
    belief: float
    down: PointPx = (0.0, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sighting:
    """What the scout saw: where near backs are, and the heads of anybody, the surest first."""

    back: MaskSeen | None = None
    heads: tuple[HeadHint, ...] = ()


class Scout:
    """Looks for near backs and for heads. Not safe to share between threads.

    Args:
        weights: an ONNX file's content.

    Raises:
        ModelBroken: it would not load.
    """

    def __init__(self, weights: bytes) -> None:
        self._net = OwnNetwork(weights, "scout.onnx")

    def look(self, view: View, anybody: MaskSeen) -> Sighting:
        """Near backs, and heads.

        Args:
            view: the whole active picture.
            anybody: the people mask of the same.
        """
        layers = scout_layers(view, anybody, SCOUT_PX)
        # The same picture in a mirror must read the same, so both are shown to it the same way.
        turned = is_brighter_at_right(layers)
        shown = layers[:, ::-1] if turned else layers
        maps = self._net.answer(layers=as_shares(shown))
        if turned:
            maps = maps[:, :, ::-1].copy()
            maps[DOWN_X] *= -1.0
        belief = np.asarray(1 / (1 + np.exp(-maps[[BACK, HEAD]])))
        return Sighting(
            back=MaskSeen(inside=np.round(belief[0] * 255).astype(np.uint8), box=view.box),
            heads=find_heads(belief[1], maps[LOG_HEIGHT:], view.box),
        )


def near_backs(
    sighting: Sighting, bodies: Sequence[BodySeen], faces: Sequence[FaceSeen]
) -> tuple[Leftover, ...]:
    """The near backs that are none of the known people, largest first."""
    if sighting.back is None:
        return ()
    found = find_leftovers(sighting.back, bodies, faces, LEAST_FRAC)
    backs = (back for back in found if back.area_frac <= MOST_FRAC)
    return tuple(back for back in backs if not any(explains(body, back) for body in bodies))


def is_brighter_at_right(layers: npt.NDArray[np.uint8]) -> bool:
    """Whether the right half of a picture is brighter than the left one."""
    green = layers[..., 1].sum(axis=0, dtype=np.int64)
    half = len(green) // 2
    return bool(green[half:].sum() > green[:half].sum())


def find_heads(
    belief: npt.NDArray[np.float64], told: npt.NDArray[np.float64], picture: Box
) -> tuple[HeadHint, ...]:
    """The heads that a map of beliefs shows, the surest first.

    Args:
        belief: (MAP_PX, MAP_PX), 0..1, over the picture.
        told: (3, MAP_PX, MAP_PX), the maps from `LOG_HEIGHT` on.
        picture: what they cover.
    """
    import cv2

    highest = cv2.dilate(belief, np.ones((3, 3), np.uint8))
    rows, columns = np.nonzero((belief == highest) & (belief >= LEAST_BELIEF))
    order = np.argsort(-belief[rows, columns], kind="stable")
    hints: list[HeadHint] = []
    for row, column in zip(rows[order], columns[order], strict=True):
        hint = _hint(belief, told[:, row, column], (int(row), int(column)), picture)
        if all(math.dist(hint.centre_px, h.centre_px) > HEAD_APART * h.height_px for h in hints):
            hints.append(hint)
    return tuple(hints)


def _hint(
    belief: npt.NDArray[np.float64], told: npt.NDArray[np.float64], cell: tuple[int, int],
    picture: Box,
) -> HeadHint:  # fmt: skip
    row, column = cell
    rows, columns = (slice(max(0, v - 1), v + 2) for v in cell)
    near = belief[rows, columns]
    y, x = (
        float((near * grid).sum() / near.sum()) + 0.5
        for grid in np.mgrid[rows.start : rows.start + near.shape[0],
                             columns.start : columns.start + near.shape[1]]
    )  # fmt: skip
    length = max(math.hypot(told[1], told[2]), 1e-6)
    return HeadHint(
        centre_px=(
            picture.x_px + x / MAP_PX * picture.w_px, picture.y_px + y / MAP_PX * picture.h_px
        ),
        height_px=math.exp(min(max(float(told[0]), -6.0), 1.5)) * picture.h_px,
        belief=float(belief[row, column]),
        down=(float(told[1]) / length, float(told[2]) / length),
    )  # fmt: skip


def scout_layers(view: View, anybody: MaskSeen, side_px: int) -> npt.NDArray[np.uint8]:
    """What the scout sees, (side_px, side_px, 4) uint8: colours and people mask.

    Args:
        view: the whole active picture.
        anybody: the people mask of the same.
        side_px: `SCOUT_PX`; training keeps them larger.
    """
    import cv2

    size = (side_px, side_px)
    parts = (view.rgb, anybody.inside)
    layers = cv2.merge([cv2.resize(p, size, interpolation=cv2.INTER_AREA) for p in parts])
    return np.asarray(layers, dtype=np.uint8)
