from __future__ import annotations

import io
import zipfile

import numpy as np
import pytest

from framecheck.errors import ModelBroken
from framecheck.pose.bundle import METADATA_NAME, with_iris_places, with_normalization, zip_task
from tests.pose.model_builders import a_network

schema = pytest.importorskip("mediapipe.tasks.metadata.schema_py_generated")
metadata = pytest.importorskip("mediapipe.tasks.metadata.metadata_schema_py_generated")


def parsed(weights: bytes):
    return schema.ModelT.InitFromObj(schema.Model.GetRootAsModel(weights, 0))


def read_metadata(data: bytes):
    return metadata.ModelMetadataT.InitFromObj(
        metadata.ModelMetadata.GetRootAsModelMetadata(data, 0)
    )


def metadata_of(weights: bytes) -> list[object]:
    model = parsed(weights)
    found = [entry for entry in model.metadata or [] if entry.name == METADATA_NAME]
    return [read_metadata(bytes(model.buffers[entry.buffer].data)) for entry in found]


@pytest.mark.parametrize(("mean", "std", "low"), [(127.5, 127.5, -1.0), (0.0, 255.0, 0.0)])
def test_normalisation_is_written_and_can_be_read_back(mean, std, low):
    (written,) = metadata_of(
        with_normalization(a_network(outputs=2), mean=mean, std=std, name="net")
    )
    tensor = written.subgraphMetadata[0].inputTensorMetadata[0]
    assert tensor.processUnits[0].options.mean == [mean]
    assert tensor.processUnits[0].options.std == [std]
    assert tensor.stats.min == [low]
    assert tensor.stats.max == [1.0]
    assert len(written.subgraphMetadata[0].outputTensorMetadata) == 2


def test_metadata_that_is_there_is_replaced_not_doubled():
    once = with_normalization(a_network(), mean=0.0, std=255.0, name="net")
    twice = with_normalization(once, mean=127.5, std=127.5, name="net")
    (written,) = metadata_of(twice)
    assert written.subgraphMetadata[0].inputTensorMetadata[0].processUnits[0].options.mean == [
        127.5
    ]


def test_weights_are_kept():
    out = with_normalization(a_network(filler="0123456789"), mean=0.0, std=1.0, name="net")
    assert b"0123456789" * 50 in out


def test_same_bytes_every_time():
    first = with_normalization(a_network(), mean=127.5, std=127.5, name="net")
    assert first == with_normalization(a_network(), mean=127.5, std=127.5, name="net")
    assert zip_task({"a": first}) == zip_task({"a": first})


@pytest.mark.parametrize(
    "data",
    [b"", b"abcd", b"PK\x03\x04" * 20, b"\xff\xff\xff\x7fTFL3" + bytes(40)],
    ids=["empty", "short", "zip", "mad offset"],
)
def test_what_is_no_network_is_refused(data):
    with pytest.raises(ModelBroken, match="net"):
        with_normalization(data, mean=0.0, std=1.0, name="net")


def test_a_task_is_a_stored_zip_in_the_given_order():
    data = zip_task({"b.tflite": b"1" * 100, "a.tflite": b"2" * 100})
    with zipfile.ZipFile(io.BytesIO(data)) as bundle:
        assert bundle.namelist() == ["b.tflite", "a.tflite"]
        assert all(info.compress_type == zipfile.ZIP_STORED for info in bundle.infolist())
        assert bundle.read("a.tflite") == b"2" * 100


def test_a_face_mesh_is_filled_up_in_order_and_every_iris_point_is_an_eyelid_point():
    model = parsed(with_iris_places(a_network(width=468 * 3), name="mesh"))
    graph = model.subgraphs[0]
    step = graph.operators[-1]
    assert model.operatorCodes[step.opcodeIndex].builtinCode == schema.BuiltinOperator.GATHER
    assert list(graph.tensors[graph.outputs[0]].shape) == [1, 478 * 3]
    assert list(step.outputs) == [graph.outputs[0]]
    assert step.builtinOptions.axis == 1
    mesh, indices = step.inputs
    assert mesh == 1
    rows = np.frombuffer(bytes(model.buffers[graph.tensors[indices].buffer].data), "<i4")
    assert rows[: 468 * 3].tolist() == list(range(468 * 3))
    eyelids = {33, 133, 145, 159, 263, 362, 374, 386}
    triples = rows[468 * 3 :].reshape(10, 3)
    assert {int(row[0]) // 3 for row in triples} <= eyelids
    assert (triples - triples[:, :1] == [0, 1, 2]).all()


def test_a_mesh_of_another_size_is_refused():
    with pytest.raises(ModelBroken, match="not 468 points"):
        with_iris_places(a_network(width=478 * 3), name="mesh")
