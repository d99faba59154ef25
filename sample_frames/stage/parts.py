"""The drawable piece of a person or set: a triangle mesh with a texture and a shading kind."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyvista as pv
from numpy.typing import NDArray

from sample_frames.stage.bodies import Floats, Ints

# Phong terms by kind: ambient, diffuse, specular, specular power.
SHADING = {
    "skin": (0.20, 0.82, 0.14, 12.0),
    "eye": (0.38, 0.75, 0.55, 60.0),
    "hair": (0.20, 0.80, 0.22, 18.0),
    "cloth": (0.20, 0.82, 0.03, 5.0),
    "set": (0.25, 0.80, 0.04, 8.0),
    "flat": (1.0, 0.0, 0.0, 1.0),
}


@dataclass(frozen=True, eq=False)
class Part:
    """A mesh with its texture.

    Attributes:
        kind: Key of `SHADING`.
        mesh: Triangles with normals and, if textured, texture coordinates.
        texture: RGB image, or None for a plain colour.
        colour: Plain colour when there is no texture, 0 to 255 RGB.
        head: True for vertices that belong to the head or its hair.
        repeat: Whether the texture tiles.
    """

    kind: str
    mesh: pv.PolyData
    texture: NDArray[np.uint8] | None
    colour: tuple[int, int, int]
    head: NDArray[np.bool_]
    repeat: bool = False

    @property
    def triangles(self) -> Ints:
        """Vertex indices, three a row."""
        return np.asarray(self.mesh.faces.reshape(-1, 4)[:, 1:])

    @property
    def points_m(self) -> Floats:
        """Vertices in world metres."""
        return np.asarray(self.mesh.points, dtype=float)

    def moved(self, yaw_deg: float, offset_m: Floats) -> Part:
        """A copy turned about the vertical and shifted."""
        c, s = np.cos(np.radians(yaw_deg)), np.sin(np.radians(yaw_deg))
        turn = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])
        mesh = self.mesh.copy()
        mesh.points = (self.points_m @ turn.T + offset_m).astype(np.float32)
        mesh.point_data["Normals"] = (np.asarray(mesh.point_data["Normals"]) @ turn.T).astype(
            np.float32
        )
        mesh.point_data.active_normals_name = "Normals"
        return Part(self.kind, mesh, self.texture, self.colour, self.head, self.repeat)


def make_part(  # noqa: PLR0913 - everything that a mesh needs, by keyword
    kind: str,
    points: Floats,
    faces: Ints,
    normals: Floats | None,
    *,
    texture: NDArray[np.uint8] | None = None,
    uv: Floats | None = None,
    colour: tuple[int, int, int] = (128, 128, 128),
    head: NDArray[np.bool_] | None = None,
    repeat: bool = False,
) -> Part:
    """Build a part from triangles or quads.

    Args:
        kind: Key of `SHADING`.
        points: (N, 3) metres.
        faces: (M, 3) or (M, 4) vertex indices.
        normals: (N, 3) unit normals, computed when None.
        texture: RGB image.
        uv: (N, 2) texture coordinates, origin bottom left.
        colour: RGB used without a texture.
        head: (N,) marks vertices of the head.
        repeat: Whether the texture tiles.
    """
    triangles = (
        faces if faces.shape[1] == 3 else np.concatenate([faces[:, :3], faces[:, [0, 2, 3]]])
    )
    cells = np.hstack([np.full((len(triangles), 1), 3), triangles]).ravel()
    mesh = pv.PolyData(points.astype(np.float32), cells)
    if normals is None and len(triangles):
        normals = _smooth_normals(points, triangles)
    if normals is not None:
        mesh.point_data["Normals"] = normals.astype(np.float32)
        mesh.point_data.active_normals_name = "Normals"
    if uv is not None:
        mesh.active_texture_coordinates = uv.astype(np.float32)
    marks = np.zeros(len(points), bool) if head is None else head
    return Part(kind, mesh, texture, colour, marks, repeat)


def _smooth_normals(points: Floats, triangles: Ints) -> Floats:
    a, b, c = (points[triangles[:, k]] for k in range(3))
    normal = np.cross(b - a, c - a)
    out = np.empty((len(points), 3))
    for axis in range(3):
        out[:, axis] = np.bincount(
            triangles.ravel(), np.repeat(normal[:, axis], 3), minlength=len(points)
        )
    return out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-12)


def merge_parts(parts: list[Part]) -> list[Part]:
    """Join parts that share kind and texture; drawing few large meshes is far quicker.

    Plain colours move to an `rgb` array on the vertices.
    """
    groups: dict[tuple[str, int, bool], list[Part]] = {}
    for part in parts:
        groups.setdefault((part.kind, id(part.texture), part.repeat), []).append(part)
    return [_join(group) for group in groups.values()]


def _join(group: list[Part]) -> Part:
    first = group[0]
    starts = np.cumsum([0] + [p.mesh.n_points for p in group[:-1]])
    triangles = np.concatenate([p.triangles + s for p, s in zip(group, starts, strict=True)])
    cells = np.hstack([np.full((len(triangles), 1), 3), triangles]).ravel()
    mesh = pv.PolyData(np.concatenate([np.asarray(p.mesh.points) for p in group]), cells)
    normals = np.concatenate([np.asarray(p.mesh.point_data["Normals"]) for p in group])
    mesh.point_data["Normals"] = normals
    mesh.point_data.active_normals_name = "Normals"
    if first.texture is None:
        counts = [p.mesh.n_points for p in group]
        mesh["rgb"] = np.repeat(np.array([p.colour for p in group], np.uint8), counts, axis=0)
    else:
        mesh.active_texture_coordinates = np.concatenate(
            [np.asarray(p.mesh.active_texture_coordinates) for p in group]
        )
    head = np.concatenate([p.head for p in group])
    return Part(first.kind, mesh, first.texture, first.colour, head, first.repeat)
