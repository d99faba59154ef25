"""Mesh parts of a dressed person: skin, eyes, hair and garments, ready to draw."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pyvista as pv

from sample_frames.stage import fabrics, regions, skin_paint
from sample_frames.stage.bodies import Floats, Ints, load_template
from sample_frames.stage.hair import build_hair
from sample_frames.stage.looks import Cloth, Look, Outfit
from sample_frames.stage.parts import Part, make_part
from sample_frames.stage.poses import SOLE_M, PosedBody

# Offsets of the garments over the skin; the outer ones must clear the inner ones.
TOP_M, BOTTOM_M, JACKET_M, SKIRT_M = 0.009, 0.006, 0.018, 0.012


@dataclass(frozen=True)
class Layer:
    """One garment cut from the tights mesh: where it covers and how far it stands off."""

    cover: Floats
    offset_m: float
    cloth: Cloth
    fold_m: float = 0.0024


def dress(look: Look, body: PosedBody) -> list[Part]:
    """Return all parts of a person in a pose.

    Args:
        look: Appearance of the person.
        body: The posed body that wears it.
    """
    rng = np.random.default_rng(look.seed)
    layers = _layers(look.outfit)
    parts = [_skin(look, body, layers, rng), *_eyes(look, body)]
    # One fold pattern for all layers keeps the inner garments from poking through.
    phase = rng.uniform(0, 6.28, 3)
    parts += [_garment(layer, body, phase, rng) for layer in layers]
    if look.outfit.bottom_kind == "skirt":
        parts.append(_skirt(look.outfit, body, rng))
    parts += build_hair(look, body, rng)
    return [part for part in parts if part.mesh.n_cells]


def _layers(outfit: Outfit) -> list[Layer]:
    layers = [Layer(_shoe_cover(outfit), SOLE_M, Cloth(outfit.shoes), 0.0)]
    if outfit.bottom_kind != "skirt":
        layers.append(Layer(_bottom_cover(outfit), BOTTOM_M, outfit.bottom))
    hem_m = max(outfit.hem_m, 0.29) if outfit.bottom_kind == "skirt" else outfit.hem_m
    layers.append(Layer(_top_cover(outfit, outfit.sleeve, hem_m), TOP_M, outfit.top))
    if outfit.bib:
        layers.append(Layer(_bib_cover(), TOP_M + 0.006, outfit.bottom))
    if outfit.jacket is not None:
        cover = np.minimum(_top_cover(outfit, 1.95, outfit.hem_m - 0.06), _open_front())
        layers.append(Layer(cover, JACKET_M, outfit.jacket))
    return layers


def _top_cover(outfit: Outfit, sleeve: float, hem_m: float) -> Floats:
    rest = regions.tailor_points()
    arm = regions.bone_share(regions.ARM_BONES)
    reach = np.where(arm > 0.3, (sleeve - regions.limb_position("arm")) * 0.28, 1.0)
    collar = regions.collar_field(rest, drop_m=outfit.neck_drop_m, v_neck=outfit.v_neck)
    return np.minimum.reduce([rest[:, 2] - hem_m, reach, collar])


def _open_front() -> Floats:
    rest = regions.tailor_points()
    gap = np.abs(rest[:, 0]) - 0.045 - 0.12 * np.clip(rest[:, 2] - 0.45, 0, 1)
    return np.where(rest[:, 1] < 0.0, gap, 1.0)


def _bottom_cover(outfit: Outfit) -> Floats:
    rest = regions.tailor_points()
    arm = regions.bone_share(regions.ARM_BONES)
    reach = (outfit.bottom_length - regions.limb_position("leg")) * 0.45
    return np.minimum.reduce([0.31 - rest[:, 2], reach, 0.3 - arm])


def _bib_cover() -> Floats:
    rest = regions.tailor_points()
    x, y, z = np.abs(rest[:, 0]), rest[:, 1], rest[:, 2]
    arm = 0.3 - regions.bone_share(regions.ARM_BONES)
    bib = np.minimum.reduce([0.60 - z, 0.115 - x, -y, z - 0.2])
    belt = np.minimum(0.38 - z, z - 0.2)
    straps = np.minimum.reduce([0.018 - np.abs(x - 0.085), z - 0.3, 0.84 - z])
    return np.minimum(np.maximum.reduce([bib, straps, belt]), arm)


def _shoe_cover(outfit: Outfit) -> Floats:
    return (-0.60 if outfit.boot else -0.738) - regions.tailor_points()[:, 2]


def _skin(look: Look, body: PosedBody, layers: list[Layer], rng: np.random.Generator) -> Part:
    template = load_template()
    faces = template.groups["body"]
    hidden = np.zeros(len(faces), dtype=bool)
    for layer in layers:
        hidden |= (layer.cover[faces] > 0.012).all(axis=1)
    uv_faces = template.uv_faces["body"][~hidden]
    faces = faces[~hidden]
    normals = regions.vertex_normals(body.vertices_m, template.groups["body"])
    key = np.stack([faces.ravel(), uv_faces.ravel()], axis=1)
    pairs, local = np.unique(key, axis=0, return_inverse=True)
    return make_part(
        "skin",
        body.vertices_m[pairs[:, 0]],
        local.reshape(faces.shape),
        normals[pairs[:, 0]],
        texture=skin_paint.paint_skin(look.complexion, rng),
        uv=template.uv[pairs[:, 1]],
        head=regions.bone_share(regions.HEAD_BONES)[pairs[:, 0]] > 0.5,
    )


def _eyes(look: Look, body: PosedBody) -> list[Part]:
    template = load_template()
    sheet = skin_paint.paint_eye(look.complexion.iris)
    parts = []
    for group in ("helper-l-eye", "helper-r-eye"):
        corners, local = np.unique(template.groups[group], return_inverse=True)
        faces = local.reshape(-1, 4)
        rest = template.rest_m[corners]
        middle = 0.5 * (rest.min(axis=0) + rest.max(axis=0))
        uv = 0.5 + (rest[:, [0, 2]] - middle[[0, 2]]) / (2 * np.ptp(rest[:, 0]) / 2)
        points = body.vertices_m[corners]
        parts.append(
            make_part(
                "eye",
                points,
                faces,
                regions.vertex_normals(points, faces),
                texture=sheet,
                uv=uv,
                head=np.ones(len(points), bool),
            )
        )
    return parts


def _folds(rest: Floats, layer: Layer, phase: Floats) -> Floats:
    x, y, z = rest.T
    wave = (
        np.sin(38 * (z + 0.6 * x) + phase[0])
        + np.sin(31 * (1.2 * x - z + y) + phase[1])
        + np.sin(57 * (z - 0.4 * x + 0.7 * y) + phase[2])
    )
    return layer.fold_m * wave / 1.5


def _garment(layer: Layer, body: PosedBody, phase: Floats, rng: np.random.Generator) -> Part:
    matrix, faces = regions.refine("helper-tights")
    rest, points = matrix @ regions.tailor_points(), matrix @ body.vertices_m
    cover = matrix @ layer.cover
    normals = regions.vertex_normals(points, faces)
    standoff = layer.offset_m + _folds(rest, layer, phase)
    points = points + normals * standoff[:, None]
    points, faces, arrays = clip_quads(points, faces, cover, rest)
    return make_part(
        "cloth",
        points,
        faces,
        None,
        texture=fabrics.weave(layer.cloth, rng),
        uv=_cloth_uv(arrays),
        repeat=True,
    )


def _cloth_uv(rest: Floats) -> Floats:
    return np.stack([rest[:, 0] + 0.45 * rest[:, 1], rest[:, 2]], axis=1) / fabrics.TILE_M


def clip_quads(
    points: Floats, faces: Ints, cover: Floats, rest: Floats
) -> tuple[Floats, Ints, Floats]:
    """Cut a quad mesh along the zero line of `cover`; returns points, triangles, rest points."""
    keep = (cover[faces] > 0).any(axis=1)
    mesh = pv.PolyData(points, np.hstack([np.full((keep.sum(), 1), 4), faces[keep]]).ravel())
    mesh["cover"], mesh["rest"] = cover, rest
    cut = mesh.triangulate().clip_scalar(scalars="cover", value=0.0, invert=False)
    cut = cut.triangulate()
    return np.asarray(cut.points, float), cut.faces.reshape(-1, 4)[:, 1:], np.asarray(cut["rest"])


def _skirt(outfit: Outfit, body: PosedBody, rng: np.random.Generator) -> Part:
    matrix, faces = regions.refine("helper-skirt")
    rest, points = matrix @ regions.tailor_points(), matrix @ body.vertices_m
    hem = 0.2 - 0.47 * outfit.bottom_length
    normals = regions.vertex_normals(points, faces)
    points = points + normals * (
        SKIRT_M + 0.006 * np.sin(40 * rest[:, :1] + 3) * (rest[:, 2:] < 0.1)
    )
    points, faces, rest = clip_quads(points, faces, rest[:, 2] - hem, rest)
    return make_part(
        "cloth",
        points,
        faces,
        None,
        texture=fabrics.weave(outfit.bottom, rng),
        uv=_cloth_uv(rest),
        repeat=True,
    )
