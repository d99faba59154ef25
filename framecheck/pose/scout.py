"""The scout: a small network of this project that looks over a whole picture for near backs.

A near back is the figure past whose shoulder a shot looks, often no more than a shoulder and a
piece of a head, which no pose network knows. Trained on rendered pictures by
`models/fit/train_networks.py`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from framecheck.pose.leftovers import Leftover, find_leftovers, known_people
from framecheck.pose.own import open_onnx
from framecheck.pose.views import View
from framecheck.records.seen import BodySeen, FaceSeen, MaskSeen

SCOUT_PX = 160
"""Side of the input; the picture is squeezed into this square whatever its shape."""

MAP_PX = 40
"""Side of the maps that come out."""


LEAST_FRAC = 0.02
"""Least area of a near back over the picture's."""


class Scout:
    """Looks for near backs. Not safe to share between threads.

    Args:
        weights: an ONNX file's content.

    Raises:
        ModelBroken: it would not load.
    """

    def __init__(self, weights: bytes) -> None:
        self._net = open_onnx(weights, "scout.onnx")

    def find_backs(
        self, view: View, anybody: MaskSeen, bodies: Sequence[BodySeen], faces: Sequence[FaceSeen]
    ) -> tuple[Leftover, ...]:
        """Near backs that are none of the known people, largest first.

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
        likely = (plain + mirror[:, ::-1]) / 2
        seen = MaskSeen(inside=np.round(likely * 255).astype(np.uint8), box=view.box)
        return find_leftovers(seen, bodies, faces, LEAST_FRAC)

    def _run(self, layers: npt.NDArray[np.float32]) -> npt.NDArray[np.float64]:
        self._net.setInput(np.ascontiguousarray(layers[None]))
        return np.asarray(1 / (1 + np.exp(-self._net.forward()[0, 0].astype(np.float64))))


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
