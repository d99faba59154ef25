"""The scout: a small network of this project that looks for near backs and heads in a picture.

A near back is the figure past whose shoulder a shot looks, often no more than a shoulder and a
piece of a head, which no pose network knows. Trained on rendered pictures by
`models/fit/train_networks.py`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from framecheck.pose.leftovers import Leftover, find_leftovers, known_people
from framecheck.pose.own import open_onnx
from framecheck.pose.views import View
from framecheck.records.seen import BodySeen, FaceSeen, MaskSeen
from framecheck.records.values import Box, PointPx

SCOUT_PX = 160
"""Side of the input; the picture is squeezed into this square whatever its shape."""

MAP_PX = 40
"""Side of the maps that come out."""


LEAST_FRAC = 0.02
"""Least area of a near back over the picture's."""


MOST_FRAC = 0.65
"""Most area of one: what covers more hides whom the shot looks at."""

LEAST_BELIEF = 0.35
"""Least belief in a head."""

SPOT_RADIUS = 0.294
"""Radius at half height of the spot that stands for a head in training, over the head's height."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadHint:
    """A place where a head may be.

    Attributes:
        centre_px: its middle, pixels of the whole file.
        height_px: about how high it is.
        belief: 0..1.
    """

    centre_px: PointPx
    height_px: float
    belief: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Sighting:
    """What the scout saw: near backs that are none of the known people, and heads of anybody."""

    backs: tuple[Leftover, ...] = ()
    heads: tuple[HeadHint, ...] = ()


class Scout:
    """Looks for near backs and for heads. Not safe to share between threads.

    Args:
        weights: an ONNX file's content.

    Raises:
        ModelBroken: it would not load.
    """

    def __init__(self, weights: bytes) -> None:
        self._net = open_onnx(weights, "scout.onnx")

    def look(
        self, view: View, anybody: MaskSeen, bodies: Sequence[BodySeen], faces: Sequence[FaceSeen]
    ) -> Sighting:
        """Near backs, largest first, and heads, the surest first.

        Args:
            view: the whole active picture.
            anybody: the people mask of the same.
            bodies: known people.
            faces: known faces.
        """
        rows, columns = view.rgb.shape[:2]
        known = known_people(bodies, faces, view.box, (columns, rows))
        seen_layers = scout_layers(view, anybody, known).transpose(2, 0, 1)
        layers = np.asarray(seen_layers / 255.0, dtype=np.float32)
        # The same picture in a mirror must read the same, so both answers count alike.
        plain, mirror = self._run(layers), self._run(layers[:, :, ::-1])
        back, head = (plain + mirror[:, :, ::-1]) / 2
        seen = MaskSeen(inside=np.round(back * 255).astype(np.uint8), box=view.box)
        backs = find_leftovers(seen, bodies, faces, LEAST_FRAC)
        return Sighting(
            backs=tuple(back for back in backs if back.area_frac <= MOST_FRAC),
            heads=find_heads(head, view.box),
        )

    def _run(self, layers: npt.NDArray[np.float32]) -> npt.NDArray[np.float64]:
        self._net.setInput(np.ascontiguousarray(layers[None]))
        return np.asarray(1 / (1 + np.exp(-self._net.forward()[0].astype(np.float64))))


def find_heads(belief: npt.NDArray[np.float64], picture: Box) -> tuple[HeadHint, ...]:
    """The heads that a map of beliefs shows, the surest first.

    Args:
        belief: (MAP_PX, MAP_PX), 0..1, over the picture.
        picture: what it covers.
    """
    import cv2

    highest = cv2.dilate(belief, np.ones((3, 3), np.uint8))
    rows, columns = np.nonzero((belief == highest) & (belief >= LEAST_BELIEF))
    order = np.argsort(-belief[rows, columns], kind="stable")
    hints: list[HeadHint] = []
    for row, column in zip(rows[order], columns[order], strict=True):
        hint = _hint(belief, (int(row), int(column)), picture)
        if all(math.dist(hint.centre_px, h.centre_px) > 0.7 * h.height_px for h in hints):
            hints.append(hint)
    return tuple(hints)


def _hint(belief: npt.NDArray[np.float64], cell: tuple[int, int], picture: Box) -> HeadHint:
    import cv2

    above = (belief >= belief[cell] / 2).astype(np.uint8)
    _, labels = cv2.connectedComponents(above)
    own = labels == labels[cell]
    share = float(np.sqrt(own.sum() / belief.size / math.pi)) / SPOT_RADIUS
    rows, columns = np.nonzero(own)
    weights = belief[rows, columns]
    x, y = (float((v * weights).sum() / weights.sum()) + 0.5 for v in (columns, rows))
    return HeadHint(
        centre_px=(
            picture.x_px + x / MAP_PX * picture.w_px, picture.y_px + y / MAP_PX * picture.h_px
        ),
        height_px=share * picture.h_px,
        belief=float(belief[cell]),
    )  # fmt: skip


def scout_layers(
    view: View, anybody: MaskSeen, known: npt.NDArray[np.bool_]
) -> npt.NDArray[np.uint8]:
    """What the scout sees, (SCOUT_PX, SCOUT_PX, 5) uint8: colours, people mask, known people.

    Args:
        view: the whole active picture.
        anybody: the people mask of the same.
        known: where people were found already, over the same, any size.
    """
    import cv2

    size = (SCOUT_PX, SCOUT_PX)
    layers = np.empty((SCOUT_PX, SCOUT_PX, 5), dtype=np.uint8)
    layers[..., :3] = cv2.resize(view.rgb, size, interpolation=cv2.INTER_AREA)
    layers[..., 3] = cv2.resize(anybody.inside, size, interpolation=cv2.INTER_AREA)
    solid = known.astype(np.uint8) * 255
    layers[..., 4] = cv2.resize(solid, size, interpolation=cv2.INTER_AREA)
    return layers
