"""The project's own picture networks: small, kept in the package, run by OpenCV."""

from __future__ import annotations

from importlib import resources
from typing import Any

import numpy as np

from framecheck.errors import ModelBroken


def packaged_weights(name: str) -> bytes:
    """The content of a weights file that comes with the package."""
    return resources.files("framecheck.pose").joinpath("data", name).read_bytes()


def open_onnx(weights: bytes, name: str) -> Any:  # noqa: ANN401 - OpenCV has no types
    """A network from an ONNX file's content.

    Raises:
        ModelBroken: it would not load.
    """
    import cv2

    try:
        return cv2.dnn.readNetFromONNX(np.frombuffer(weights, dtype=np.uint8))
    except cv2.error as error:
        raise ModelBroken(
            f"the weights {name} would not load; install framecheck again", where=name
        ) from error
