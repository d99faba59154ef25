"""Makes what MediaPipe loads out of bare weights: TFLite metadata, and the stored zip of a `.task`.

MediaPipe refuses weights that do not say how their input is to be normalised, and its own writers
for that do not import in every release; its schema modules do, and they are enough.
"""

from __future__ import annotations

import io
import struct
import zipfile
from collections.abc import Mapping
from typing import Any, TypeAlias

from framecheck.errors import ModelBroken, ModelError

Generated: TypeAlias = Any  # the generated schema classes carry no types
METADATA_NAME = b"TFLITE_METADATA"
METADATA_MARK = b"M001"  # file identifiers of the two flatbuffer schemas
MODEL_MARK = b"TFL3"
MESH_POINTS = 468  # points of the face mesh, x y z each
# MediaPipe reads 478 points, ten for the irises, and from a network with 468 it reads garbage
# without a word. So the mesh is filled up: each iris gets four eyelid points and the upper lid's
# middle, which keeps the order and the extent of the face right, but says nothing of the gaze.
IRIS_STAND_INS = (159, 133, 159, 33, 145, 386, 263, 386, 362, 374)
GATHER = 36  # number of the operator in the TFLite schema
ZIP_DATE = (1980, 1, 1, 0, 0, 0)  # the earliest that a zip can hold: same bytes on every day
DETECTOR_ENTRY = {"pose": "pose_detector.tflite", "face": "face_detector.tflite"}
LANDMARKS_ENTRY = {
    "pose": "pose_landmarks_detector.tflite",
    "face": "face_landmarks_detector.tflite",
}


def with_normalization(weights: bytes, *, mean: float, std: float, name: str) -> bytes:
    """The same network, with metadata that states its input normalisation.

    Args:
        weights: a TFLite file with one picture as input.
        mean: subtracted from each value (0..255) before the network sees it.
        std: what the difference is divided by, > 0.
        name: for the metadata and for messages.

    Returns:
        The bytes of the new file, the same for the same input.

    Raises:
        ModelBroken: the bytes are not a TFLite model.
        ModelError: the installed MediaPipe lacks the schema modules.
    """
    model = _parsed(weights, name)
    outputs = len(model.subgraphs[0].outputs)
    _put_metadata(model, _metadata_bytes(name, outputs, mean, std))
    return _packed(model, MODEL_MARK)


def with_iris_places(weights: bytes, *, name: str) -> bytes:
    """The same face network, its first output filled up from 468 to 478 points.

    Args:
        weights: a TFLite file whose first output holds 468 points, x y z each.
        name: for messages.

    Returns:
        The bytes of the new file. Points 468 to 477 repeat eyelid points; they are no irises.

    Raises:
        ModelBroken: the bytes are not a TFLite model, or its first output is of another size.
        ModelError: the installed MediaPipe lacks the schema modules.
    """
    model = _parsed(weights, name)
    graph = model.subgraphs[0]
    mesh = graph.outputs[0]
    shape = [int(length) for length in graph.tensors[mesh].shape]
    if shape[-1] != 3 * MESH_POINTS:
        raise ModelBroken(f"{name} gives {shape}, not 468 points; provide it again", where=name)
    points = (*range(MESH_POINTS), *IRIS_STAND_INS)
    indices = _add_indices(model, [3 * point + axis for point in points for axis in range(3)])
    filled = _add_tensor(graph, "filled_mesh", [*shape[:-1], 3 * len(points)], like=mesh)
    _add_gather(model, (mesh, indices), filled, axis=len(shape) - 1)
    graph.outputs = [filled, *graph.outputs[1:]]
    return _packed(model, MODEL_MARK)


def zip_task(entries: Mapping[str, bytes]) -> bytes:
    """A `.task`: an uncompressed zip, with the same bytes on every machine and day.

    Args:
        entries: file name inside the bundle -> its bytes, in this order.
    """
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_STORED) as bundle:
        for name, data in entries.items():
            info = zipfile.ZipInfo(name, ZIP_DATE)
            info.create_system = 3  # else it tells Windows from the rest
            info.external_attr = 0o644 << 16
            bundle.writestr(info, data)
    return target.getvalue()


def _schemas() -> tuple[Generated, Generated]:
    try:
        from mediapipe.tasks.metadata import metadata_schema_py_generated as metadata
        from mediapipe.tasks.metadata import schema_py_generated as schema
    except ImportError as error:
        raise ModelError(
            f"the installed mediapipe cannot prepare the models ({error}); "
            "install mediapipe 1.2.3 or name a prepared cache with FRAMECHECK_CACHE",
            where="mediapipe",
        ) from error
    return metadata, schema


def _parsed(weights: bytes, name: str) -> Generated:
    _, schema = _schemas()
    if weights[4:8] != MODEL_MARK:
        raise ModelBroken(f"{name} is not a TFLite model; provide it again", where=name)
    try:
        model = schema.ModelT.InitFromObj(schema.Model.GetRootAsModel(weights, 0))
        len(model.subgraphs[0].outputs)
    except Exception as error:  # the parser fails in many ways on broken bytes
        raise ModelBroken(f"{name} cannot be parsed ({error}); provide it again", where=name) from (
            error
        )
    return model


def _add_indices(model: Generated, values: list[int]) -> int:
    """Adds a constant list of whole numbers; returns its tensor's number."""
    _, schema = _schemas()
    buffer = schema.BufferT()
    buffer.data = list(struct.pack(f"<{len(values)}i", *values))
    model.buffers.append(buffer)
    graph = model.subgraphs[0]
    number = _add_tensor(graph, "filled_mesh_indices", [len(values)], like=None)
    graph.tensors[number].type = schema.TensorType.INT32
    graph.tensors[number].buffer = len(model.buffers) - 1
    return number


def _add_tensor(graph: Generated, name: str, shape: list[int], *, like: int | None) -> int:
    _, schema = _schemas()
    tensor = schema.TensorT()
    tensor.name, tensor.shape = name.encode(), shape
    tensor.buffer = 0  # the empty one: filled when the network runs
    if like is not None:
        tensor.type = graph.tensors[like].type
    graph.tensors.append(tensor)
    return len(graph.tensors) - 1


def _add_gather(model: Generated, inputs: tuple[int, int], output: int, *, axis: int) -> None:
    _, schema = _schemas()
    code = schema.OperatorCodeT()
    code.builtinCode = code.deprecatedBuiltinCode = GATHER
    code.version = 1
    model.operatorCodes.append(code)
    step = schema.OperatorT()
    step.opcodeIndex = len(model.operatorCodes) - 1
    step.inputs, step.outputs = list(inputs), [output]
    step.builtinOptionsType = schema.BuiltinOptions.GatherOptions
    step.builtinOptions = schema.GatherOptionsT()
    step.builtinOptions.axis = axis
    model.subgraphs[0].operators.append(step)


def _put_metadata(model: Generated, data: bytes) -> None:
    """Writes over the metadata that is there, or adds it; two of a name would leave a choice."""
    _, schema = _schemas()
    buffer = schema.BufferT()
    buffer.data = list(data)
    for entry in model.metadata or []:
        if entry.name == METADATA_NAME:
            model.buffers[entry.buffer] = buffer
            return
    model.buffers.append(buffer)
    entry = schema.MetadataT()
    entry.name = METADATA_NAME
    entry.buffer = len(model.buffers) - 1
    model.metadata = [*(model.metadata or []), entry]


def _metadata_bytes(name: str, outputs: int, mean: float, std: float) -> bytes:
    metadata, _ = _schemas()
    whole = metadata.ModelMetadataT()
    whole.name = name
    graph = metadata.SubGraphMetadataT()
    graph.inputTensorMetadata = [_picture_input(mean, std)]
    graph.outputTensorMetadata = [metadata.TensorMetadataT() for _ in range(outputs)]
    whole.subgraphMetadata = [graph]
    return _packed(whole, METADATA_MARK)


def _picture_input(mean: float, std: float) -> Generated:
    metadata, _ = _schemas()
    tensor = metadata.TensorMetadataT()
    tensor.name = "image"
    tensor.content = metadata.ContentT()
    tensor.content.contentPropertiesType = metadata.ContentProperties.ImageProperties
    tensor.content.contentProperties = metadata.ImagePropertiesT()
    tensor.content.contentProperties.colorSpace = metadata.ColorSpaceType.RGB
    unit = metadata.ProcessUnitT()
    unit.optionsType = metadata.ProcessUnitOptions.NormalizationOptions
    unit.options = metadata.NormalizationOptionsT()
    unit.options.mean, unit.options.std = [mean], [std]
    tensor.processUnits = [unit]
    tensor.stats = metadata.StatsT()
    tensor.stats.min, tensor.stats.max = [(0.0 - mean) / std], [(255.0 - mean) / std]
    return tensor


def _packed(thing: Generated, mark: bytes) -> bytes:
    import flatbuffers

    builder = flatbuffers.Builder(0)
    builder.Finish(thing.Pack(builder), mark)
    return bytes(builder.Output())
