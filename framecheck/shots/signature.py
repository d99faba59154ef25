"""What is kept of a frame to compare it with others: a few thousand numbers."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
import numpy.typing as npt

Small = npt.NDArray[np.uint8]
Floats = npt.NDArray[np.float32]

SMALL_SHAPE = (72, 128, 3)  # height, width; Y, U, V
LOOK_WH = (64, 36)
LUMA_WH = (32, 18)
CHROMA_WH = (16, 9)
EDGE_WH = (8, 6)
UNITS_A_LEVEL = 2.0  # steps of a vector's brightness numbers to one of the 256 levels
VECTOR_LENGTH = LUMA_WH[0] * LUMA_WH[1] + 2 * CHROMA_WH[0] * CHROMA_WH[1]
EDGE_LENGTH = 2 * EDGE_WH[0] * EDGE_WH[1]
MIDDLE = 128
# Colour differences are smaller in numbers than those of brightness; doubled, they count alike.
CHROMA_WEIGHT = 2.0
# Bars around the picture lie outside this part: rows 20 to 80 %, columns 15 to 85 %.
CENTRE = (slice(4, 14), slice(5, 27))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Signature:
    """A frame reduced.

    Attributes:
        vector: brightness on 32 x 18 cells and colour on 16 x 9, in whole numbers: products of
            two vectors come out exact, in whatever order a processor adds them up, so that
            nothing depends on the machine or on what else is in the history.
        look: (36, 64, 3) Y, U, V for comparing pictures in motion.
        edges: mean squared steps across and down, on 8 x 6 cells each.
        level, spread: mean and standard deviation of the brightness, in levels.
        centre_level, centre_spread: the same of the middle of the picture, without any bars.
    """

    vector: Floats
    look: Small
    edges: Floats
    level: float
    spread: float
    centre_level: float
    centre_spread: float


def sign(small: Small) -> Signature:
    """Reduce a frame of (72, 128, 3) Y, U, V."""
    if small.shape != SMALL_SHAPE or small.dtype != np.uint8:
        raise ValueError(f"small needs shape {SMALL_SHAPE} uint8, got {small.shape} {small.dtype}")
    look = cv2.resize(small, LOOK_WH, interpolation=cv2.INTER_AREA)
    planes = look.astype(np.float32)
    luma = cv2.resize(np.ascontiguousarray(planes[:, :, 0]), LUMA_WH, interpolation=cv2.INTER_AREA)
    chroma = cv2.resize(planes, CHROMA_WH, interpolation=cv2.INTER_AREA)[:, :, 1:]
    vector = np.empty(VECTOR_LENGTH, np.float32)
    vector[: luma.size] = (luma.ravel() - MIDDLE) * UNITS_A_LEVEL
    scale = np.sqrt(CHROMA_WEIGHT * luma.size / (chroma.size / 2)) * UNITS_A_LEVEL
    vector[luma.size :] = (chroma.ravel() - MIDDLE) * scale
    centre = luma[CENTRE]
    return Signature(
        vector=np.rint(vector), look=look, edges=_edges(small),
        level=float(luma.mean()), spread=float(luma.std()),
        centre_level=float(centre.mean()), centre_spread=float(centre.std()),
    )  # fmt: skip


def _edges(small: Small) -> Floats:
    luma = np.ascontiguousarray(small[:, :, 0])
    across = cv2.Sobel(luma, cv2.CV_32F, 1, 0, ksize=1)
    down = cv2.Sobel(luma, cv2.CV_32F, 0, 1, ksize=1)
    squares = cv2.merge([across * across, down * down])
    cells = cv2.resize(squares, EDGE_WH, interpolation=cv2.INTER_AREA)
    return np.ascontiguousarray(cells.ravel())
