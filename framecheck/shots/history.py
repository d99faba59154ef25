"""The last few seconds of signatures, and every distance between them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from framecheck.shots.signature import (
    EDGE_LENGTH,
    LOOK_WH,
    LUMA_WH,
    UNITS_A_LEVEL,
    VECTOR_LENGTH,
    Floats,
    Signature,
    Small,
)

LUMA_LENGTH = LUMA_WH[0] * LUMA_WH[1]
PER_LEVEL = 1.0 / (UNITS_A_LEVEL**2 * LUMA_WH[0] * LUMA_WH[1])  # products in levels squared


class History:
    """A sliding window of signatures, addressed by the number of the frame.

    Twice the window is held and the newer half moved down when it is full, so that any stretch
    of it is one slice and moving costs next to nothing a frame.
    """

    def __init__(self, window: int) -> None:
        self._window = window
        size = 2 * window
        self._vectors = np.zeros((size, VECTOR_LENGTH), np.float32)
        self._products = np.zeros((size, size), np.float32)
        self._squares = np.zeros(size, np.float64)
        self._edges = np.zeros((size, EDGE_LENGTH), np.float32)
        self._looks = np.zeros((size, LOOK_WH[1], LOOK_WH[0], 3), np.uint8)
        self._scalars = np.zeros((size, 4), np.float64)
        self.first = 0  # number of the frame in the first row
        self.end = 0  # number of the frame that comes next

    def add(self, signature: Signature) -> None:
        """Append the frame numbered `end`."""
        if self.end - self.first == len(self._vectors):
            self._forget(self._window)
        row = self.end - self.first
        self._vectors[row] = signature.vector
        low = max(row + 1 - self._window, 0)
        products = self._vectors[low : row + 1] @ signature.vector * PER_LEVEL
        self._products[row, low : row + 1] = products
        self._products[low : row + 1, row] = products
        self._squares[row] = products[-1]
        self._edges[row] = signature.edges
        self._looks[row] = signature.look
        self._scalars[row] = (
            signature.level, signature.spread, signature.centre_level, signature.centre_spread
        )  # fmt: skip
        self.end += 1

    def _forget(self, count: int) -> None:
        kept = len(self._vectors) - count
        for store in (self._vectors, self._squares, self._edges, self._looks, self._scalars):
            store[:kept] = store[count:].copy()
        self._products[:kept, :kept] = self._products[count:, count:].copy()
        self.first += count

    def square(self, one: int, other: int) -> float:
        """Return the squared distance of two frames."""
        i, j = one - self.first, other - self.first
        apart = self._squares[i] + self._squares[j] - 2.0 * float(self._products[i, j])
        return max(float(apart), 0.0)

    def distance(self, one: int, other: int) -> float:
        """Return the root mean square difference of two frames, in levels."""
        return float(np.sqrt(self.square(one, other)))

    def squares_to(self, frame: int, start: int, stop: int) -> npt.NDArray[np.float64]:
        """Return the squared distances from a frame to the frames from `start` to before `stop`."""
        i, low, high = frame - self.first, start - self.first, stop - self.first
        apart = self._squares[i] + self._squares[low:high] - 2.0 * self._products[i, low:high]
        return np.asarray(np.maximum(apart, 0.0))

    def steps(self, start: int, stop: int) -> npt.NDArray[np.float64]:
        """Return the distances of each frame from `start` to before `stop` to the one before it."""
        low, high = start - self.first, stop - self.first
        rows = np.arange(low, high)
        apart = (
            self._squares[low:high]
            + self._squares[low - 1 : high - 1]
            - 2.0 * self._products[rows, rows - 1]
        )
        return np.asarray(np.sqrt(np.maximum(apart, 0.0)))

    def nearest(self, left: tuple[int, int], right: tuple[int, int]) -> float:
        """Return the smallest distance between a frame of one stretch and one of the other."""
        rows = slice(left[0] - self.first, left[1] - self.first)
        columns = slice(right[0] - self.first, right[1] - self.first)
        apart = (
            self._squares[rows, None] + self._squares[None, columns]
            - 2.0 * self._products[rows, columns]
        )  # fmt: skip
        return float(np.sqrt(max(float(apart.min()), 0.0)))

    def alike(self, one: int, other: int) -> float:
        """Return the correlation of the brightness of two frames, whatever the light; 1 if flat."""
        first, second = (
            v - v.mean()
            for v in (self._vectors[f - self.first, :LUMA_LENGTH] for f in (one, other))
        )
        scale = float(np.linalg.norm(first) * np.linalg.norm(second))
        return float(first @ second) / scale if scale else 1.0

    def edges(self, start: int, stop: int) -> Floats:
        """Return the edge energies of the frames from `start` to before `stop`."""
        return np.asarray(self._edges[start - self.first : stop - self.first])

    def look(self, frame: int) -> Small:
        """Return the (36, 64, 3) picture of a frame."""
        return np.asarray(self._looks[frame - self.first])

    def scalars(self, start: int, stop: int) -> npt.NDArray[np.float64]:
        """Return level, spread, centre level and centre spread, one row a frame."""
        return np.asarray(self._scalars[start - self.first : stop - self.first])
