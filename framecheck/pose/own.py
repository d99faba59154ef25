"""The project's own picture networks: small, kept in the package, run by ONNX Runtime.

OpenCV, which mediapipe brings anyway, runs them as well, and takes six tenths longer over it.
"""

from __future__ import annotations

from importlib import resources
from typing import Any

import numpy as np
import numpy.typing as npt

from framecheck.errors import ModelBroken

ERRORS_ALONE = 3
"""Severity from which ONNX Runtime speaks; warnings are about what it looks for on a machine."""


def packaged_weights(name: str) -> bytes:
    """The content of a weights file that comes with the package."""
    return resources.files("framecheck.pose").joinpath("data", name).read_bytes()


class OwnNetwork:
    """A network from an ONNX file's content. Not safe to share between threads.

    It takes one core and starts no threads: workers take the others, and sums are then made in the
    same order whatever else runs.

    Args:
        weights: the content.
        name: the file's, for messages.

    Raises:
        ModelBroken: it would not load.
    """

    def __init__(self, weights: bytes, name: str) -> None:
        import onnxruntime

        onnxruntime.set_default_logger_severity(ERRORS_ALONE)
        onnxruntime.disable_telemetry_events()
        try:
            self._session: Any = onnxruntime.InferenceSession(
                weights, _one_core(), providers=["CPUExecutionProvider"]
            )
        except Exception as error:  # its classes of errors share no other base
            raise ModelBroken(
                f"the weights {name} would not load; install framecheck again", where=name
            ) from error

    def answer(self, **layers: npt.NDArray[np.float32]) -> npt.NDArray[np.float64]:
        """What it says of one input; each layer by its name, without the axis of a batch."""
        given = {name: np.ascontiguousarray(layer[None]) for name, layer in layers.items()}
        return np.asarray(self._session.run(None, given)[0][0], dtype=np.float64)


def as_shares(layers: npt.NDArray[np.uint8]) -> npt.NDArray[np.float32]:
    """Layers as the networks take them: (rows, columns, N), 0..255, to (N, rows, columns), 0..1."""
    return np.divide(layers.transpose(2, 0, 1), np.float32(255), dtype=np.float32)


def _one_core() -> Any:  # noqa: ANN401 - ONNX Runtime has no types
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    options.inter_op_num_threads = 1
    options.execution_mode = onnxruntime.ExecutionMode.ORT_SEQUENTIAL
    options.log_severity_level = ERRORS_ALONE
    return options
