"""The runner of the project's own networks, against another one."""

from __future__ import annotations

import multiprocessing

import cv2
import numpy as np
import numpy.typing as npt
import pytest

from framecheck.errors import ModelBroken
from framecheck.pose.own import OwnNetwork, as_shares, packaged_weights

SHAPES = {
    "scout.onnx": {"layers": (4, 320, 320)},
    "marks.onnx": {"layers": (5, 192, 192), "spots": (6, 48, 48), "numbers": (52,)},
}


def an_input(name: str) -> dict[str, npt.NDArray[np.float32]]:
    rng = np.random.default_rng(5)
    return {layer: rng.random(shape).astype(np.float32) for layer, shape in SHAPES[name].items()}


def answer_of(name: str) -> bytes:
    return OwnNetwork(packaged_weights(name), name).answer(**an_input(name)).tobytes()


@pytest.mark.parametrize("name", sorted(SHAPES))
def test_opencv_answers_the_same(name: str) -> None:
    weights = packaged_weights(name)
    other = cv2.dnn.readNetFromONNX(np.frombuffer(weights, dtype=np.uint8))
    for layer, content in an_input(name).items():
        other.setInput(content[None], layer)
    ours = OwnNetwork(weights, name).answer(**an_input(name))
    assert ours == pytest.approx(other.forward()[0], abs=1e-4)


def test_another_process_answers_with_the_same_bytes() -> None:
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        assert pool.apply(answer_of, ("marks.onnx",)) == answer_of("marks.onnx")


def test_it_says_nothing_while_it_loads(capfd: pytest.CaptureFixture[str]) -> None:
    answer_of("marks.onnx")
    assert capfd.readouterr() == ("", "")


def test_broken_weights_are_refused() -> None:
    with pytest.raises(ModelBroken, match="install framecheck again"):
        OwnNetwork(b"not a network", "marks.onnx")


def test_shares_of_all_values() -> None:
    values = np.arange(256, dtype=np.uint8).reshape(16, 8, 2)
    shares = as_shares(values)
    assert shares.shape == (2, 16, 8)
    assert shares.dtype == np.float32
    assert np.array_equal(shares, (values.transpose(2, 0, 1) / 255.0).astype(np.float32))
