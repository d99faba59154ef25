"""Builds small stand-ins for the weights, and the wheel that carries them."""

from __future__ import annotations

import hashlib
import io
import zipfile
from pathlib import Path

import pytest

from framecheck.pose.models import ModelState, model_status

flatbuffers = pytest.importorskip("flatbuffers")
schema = pytest.importorskip("mediapipe.tasks.metadata.schema_py_generated")

WHEEL = "fakeweights-1.0-cp311-cp311-manylinux_2_28_x86_64.whl"


def a_network(filler: str = "weights", width: int = 6, outputs: int = 1) -> bytes:
    """The smallest TFLite file: one subgraph, one input, some outputs, no operators.

    Args:
        filler: what its weights are.
        width: length of each tensor's last axis.
        outputs: how many.
    """
    model = schema.ModelT()
    model.version = 3
    model.operatorCodes = []
    model.buffers = [schema.BufferT(), schema.BufferT()]
    model.buffers[1].data = list(filler.encode() * 100)
    graph = schema.SubGraphT()
    graph.tensors = [schema.TensorT() for _ in range(outputs + 1)]
    for tensor in graph.tensors:
        tensor.shape = [1, width]
    graph.operators = []
    graph.inputs, graph.outputs = [0], list(range(1, outputs + 1))
    model.subgraphs = [graph]
    builder = flatbuffers.Builder(0)
    builder.Finish(model.Pack(builder), b"TFL3")
    return bytes(builder.Output())


def a_wheel(weights: dict[str, bytes]) -> bytes:
    target = io.BytesIO()
    info = "fakeweights-1.0.dist-info"
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as wheel:
        for name, data in weights.items():
            wheel.writestr(zipfile.ZipInfo(f"fake/{name}"), data)  # its fixed date: same bytes
        tag = "Wheel-Version: 1.0\nRoot-Is-Purelib: false\nTag: cp311-cp311-manylinux_2_28_x86_64\n"
        wheel.writestr(zipfile.ZipInfo(f"{info}/WHEEL"), tag)
        about = "Metadata-Version: 2.1\nName: fakeweights\nVersion: 1.0\n"
        wheel.writestr(zipfile.ZipInfo(f"{info}/METADATA"), about)
        wheel.writestr(zipfile.ZipInfo(f"{info}/RECORD"), "")
    return target.getvalue()


def digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def leftovers(cache: Path) -> list[Path]:
    return list(cache.parent.glob("tmp-*"))


def states(manifest) -> set[ModelState]:
    return {row.state for row in model_status(manifest=manifest)}
