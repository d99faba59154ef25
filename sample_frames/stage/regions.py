"""Named regions of the body mesh as signed fields on its vertices, the same for every body.

A field is positive inside its region and fades linearly in metres (or limb lengths) outside,
so that clothes and hair can be clipped along clean lines.
"""

from __future__ import annotations

import functools
import itertools

import numpy as np
import scipy.sparse

from sample_frames.stage.bodies import Floats, Ints, Template, load_template

# Hairline of an average adult: angle from the front (deg) to height over the eyes (m).
HAIRLINE_DEG = (0, 25, 45, 60, 72, 82, 90, 100, 115, 130, 150, 180)
HAIRLINE_M = (0.066, 0.068, 0.058, 0.030, 0.012, -0.012, -0.012, 0.0, -0.02, -0.05, -0.065, -0.068)
RECEDING_M = (0.094, 0.100, 0.098, 0.080, 0.04, 0.006, -0.008, 0.01, -0.01, -0.045, -0.06, -0.064)

ARM_BONES = ("upperarm", "lowerarm", "wrist", "finger", "metacarpal")
LEG_BONES = ("upperleg", "lowerleg", "foot", "toe")
HEAD_BONES = ("head", "eye")


# Heights (m) of ankle, knee, hip joint, neck base and eyes on the body that the garment
# lengths were measured on; every rest point is mapped to it before it is cut.
TAILOR_M = (-0.738, -0.268, 0.199, 0.814, 0.962)
TAILOR_BONES = ("foot.L", "lowerleg01.L", "upperleg01.L", "neck01", "eye.L")


@functools.lru_cache(maxsize=1)
def tailor_points() -> Floats:
    """Rest points with their heights mapped to the tailor's dummy that garments refer to."""
    template = load_template()
    out = template.rest_m.copy()
    marks = [template.heads_m[template.bone(b), 2] for b in TAILOR_BONES]
    slope = (TAILOR_M[-1] - TAILOR_M[0]) / (marks[-1] - marks[0])
    z = out[:, 2]
    inner = np.interp(z, marks, TAILOR_M)
    low, high = TAILOR_M[0] + slope * (z - marks[0]), TAILOR_M[-1] + slope * (z - marks[-1])
    out[:, 2] = np.where(z < marks[0], low, np.where(z > marks[-1], high, inner))
    return out


def bone_share(prefixes: tuple[str, ...]) -> Floats:
    """Skinning weight of every vertex summed over the bones named by prefix, 0 to 1."""
    template = load_template()
    columns = [i for i, b in enumerate(template.bones) if b.startswith(prefixes)]
    return np.asarray(template.weights[:, columns].sum(axis=1)).ravel()


def _along(points: Floats, joints: list[Floats]) -> Floats:
    """Position along a chain of joints: 0 at the first joint, 1 at the second, ..."""
    best = np.full(len(points), np.inf)
    out = np.zeros(len(points))
    for index, (a, b) in enumerate(itertools.pairwise(joints)):
        span = b - a
        low, high = (-0.8 if index == 0 else 0.0), (1.0 if index < len(joints) - 2 else 1.6)
        t = np.clip((points - a) @ span / (span @ span), low, high)
        gap = np.linalg.norm(points - a - t[:, None] * span, axis=1)
        nearer = gap < best
        best[nearer] = gap[nearer]
        out[nearer] = index + t[nearer]
    return out


@functools.lru_cache(maxsize=4)
def limb_position(kind: str) -> Floats:
    """Limb coordinate of every vertex: 0 shoulder or hip, 1 elbow or knee, 2 wrist or ankle."""
    template = load_template()
    names = {
        "arm": ("upperarm01", "lowerarm01", "wrist"),
        "leg": ("upperleg01", "lowerleg01", "foot"),
    }
    out = np.zeros(len(template.rest_m))
    for mark, sign in (("L", 1.0), ("R", -1.0)):
        joints = [template.heads_m[template.bone(f"{n}.{mark}")] for n in names[kind]]
        side = sign * template.rest_m[:, 0] >= 0
        out[side] = _along(template.rest_m[side], joints)
    return out


def eye_middle_m(template: Template) -> Floats:
    """Point midway between the eyes of the average adult."""
    return 0.5 * (
        template.heads_m[template.bone("eye.L")] + template.heads_m[template.bone("eye.R")]
    )


def hair_field(points_m: Floats, *, receding: bool = False) -> Floats:
    """Height over the hairline in metres, for points on the average adult's head."""
    rel = points_m - eye_middle_m(load_template())
    angle = np.degrees(np.arctan2(np.abs(rel[..., 0]), -(rel[..., 1] - 0.085)))
    line = RECEDING_M if receding else HAIRLINE_M
    return rel[..., 2] - np.interp(angle, HAIRLINE_DEG, line)


def collar_field(points_m: Floats, *, drop_m: float = 0.0, v_neck: bool = False) -> Floats:
    """Positive below the neckline of a garment whose front is `drop_m` lower than the neck."""
    slope = 0.42 + drop_m * 4.0
    field = 0.80 + slope * (points_m[:, 1] + 0.01) - points_m[:, 2]
    if v_neck:
        front = points_m[:, 1] < 0
        field = np.where(
            front,
            np.minimum(field, 1.4 * np.abs(points_m[:, 0]) + 0.67 - points_m[:, 2] + 0.02),
            field,
        )
    return field


@functools.lru_cache(maxsize=8)
def refine(group: str) -> tuple[scipy.sparse.csr_matrix, Ints]:
    """Split every quad of a mesh group in four.

    Returns:
        A sparse matrix (new vertices, mesh vertices) and the new quads.
    """
    faces = load_template().groups[group]
    return refine_faces(faces, len(load_template().rest_m))


def refine_faces(faces: Ints, vertex_count: int) -> tuple[scipy.sparse.csr_matrix, Ints]:
    """Split quads in four; see `refine`."""
    corners, local = np.unique(faces, return_inverse=True)
    local = local.reshape(faces.shape)
    edges = np.sort(np.stack([local, np.roll(local, -1, axis=1)], axis=2).reshape(-1, 2), axis=1)
    pairs, edge_of = np.unique(edges, axis=0, return_inverse=True)
    edge_of = edge_of.reshape(faces.shape) + len(corners)
    centre = np.arange(len(faces)) + len(corners) + len(pairs)
    rows = [
        np.arange(len(corners)),
        np.repeat(np.arange(len(pairs)) + len(corners), 2),
        np.repeat(centre, 4),
    ]
    columns = [corners, corners[pairs].ravel(), corners[local].ravel()]
    values = [np.ones(len(corners)), np.full(2 * len(pairs), 0.5), np.full(4 * len(faces), 0.25)]
    matrix = scipy.sparse.csr_matrix(
        (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))),
        shape=(centre[-1] + 1, vertex_count),
    )
    quads = [
        np.stack([local[:, k], edge_of[:, k], centre, edge_of[:, k - 1]], axis=1) for k in range(4)
    ]
    return matrix, np.concatenate(quads)


def vertex_normals(points: Floats, faces: Ints) -> Floats:
    """Area-weighted unit normals of a quad mesh."""
    a, b, c, d = (points[faces[:, k]] for k in range(4))
    normal = np.cross(c - a, d - b)
    out = np.empty_like(points)
    for axis in range(3):
        out[:, axis] = np.bincount(
            faces.ravel(), np.repeat(normal[:, axis], 4), minlength=len(points)
        )
    return out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-12)
