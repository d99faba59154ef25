"""Hair and hats: a shell over the scalp, a hanging curtain, a bun, a knitted cap."""

from __future__ import annotations

import functools

import numpy as np
import scipy.sparse

from sample_frames.stage import fabrics, regions
from sample_frames.stage.bodies import Floats, Ints, load_template
from sample_frames.stage.looks import Colour, Look
from sample_frames.stage.parts import Part, make_part
from sample_frames.stage.poses import PosedBody

# Middle of the skull, from the point between the eyes of the average adult.
SKULL_M = np.array([0.0, 0.085, 0.035])


def build_hair(look: Look, body: PosedBody, rng: np.random.Generator) -> list[Part]:
    """Return the hair (and hat) parts of a person."""
    style = look.hair
    parts: list[Part] = []
    if style.thickness_m > 0.004 and not look.complexion.receding:
        parts.append(_shell(look, body, rng, hat=False))
    if style.hat is not None:
        parts.append(_shell(look, body, rng, hat=True))
    if style.length_m > 0:
        parts.append(_curtain(look, body, rng))
    if style.bun:
        parts.append(_bun(look, body, rng))
    if style.brim is not None:
        parts.append(_stiff_hat(body, style.brim, rng, peak=False))
    if style.peak is not None:
        parts.append(_stiff_hat(body, style.peak, rng, peak=True))
    return parts


@functools.lru_cache(maxsize=1)
def _scalp() -> tuple[scipy.sparse.csr_matrix, Ints]:
    template = load_template()
    faces = template.groups["body"]
    head = regions.bone_share(("head",))[faces].min(axis=1) > 0.3
    field = regions.hair_field(template.rest_m)
    near = (field[faces] > -0.03).any(axis=1)
    rel = template.rest_m - regions.eye_middle_m(template)
    outer = np.linalg.norm((rel - SKULL_M) / [0.075, 0.095, 0.085], axis=1) > 0.72
    not_ear = ~(_ear_share()[faces] > 0.4).any(axis=1)
    keep = head & near & outer[faces].all(axis=1) & not_ear
    return regions.refine_faces(faces[keep], len(template.rest_m))


@functools.lru_cache(maxsize=1)
def _ear_share() -> Floats:
    from sample_frames.stage.skin_paint import TEXTURE_PX, body_mask

    template = load_template()
    mask = body_mask("ears")
    uv = np.zeros((len(template.rest_m), 2))
    uv[template.groups["body"].ravel()] = template.uv[template.uv_faces["body"].ravel()]
    pixel = (np.stack([1 - uv[:, 1], uv[:, 0]], axis=1) * (TEXTURE_PX - 1)).astype(int)
    return mask[pixel[:, 0].clip(0, TEXTURE_PX - 1), pixel[:, 1].clip(0, TEXTURE_PX - 1)]


def head_turn(body: PosedBody) -> Floats:
    """World rotation of the skull."""
    return body.turns[load_template().bone("head")]


def _shell(look: Look, body: PosedBody, rng: np.random.Generator, *, hat: bool) -> Part:
    from sample_frames.stage.wardrobe import clip_quads

    matrix, faces = _scalp()
    template = load_template()
    rest = matrix @ template.rest_m
    rel = rest - regions.eye_middle_m(template)
    field = regions.hair_field(rest)
    if hat:
        field = rel[:, 2] - 0.052 + 0.12 * (rel[:, 1] - 0.02)
    outward = rel - SKULL_M
    outward /= np.linalg.norm(outward, axis=1, keepdims=True)
    height = _hat_height(field) if hat else _hair_height(look, field, rel, rng)
    points = matrix @ body.vertices_m + (height[:, None] * outward) @ head_turn(body).T
    points, faces, rest = clip_quads(points, faces, field, rest)
    sheet = (
        fabrics.ribs(look.hair.hat, rng)
        if look.hair.hat and hat
        else fabrics.strands(look.complexion.hair, rng)
    )
    return make_part(
        "cloth" if hat else "hair",
        points,
        faces,
        None,
        texture=sheet,
        uv=_polar_uv(rest),
        repeat=True,
        head=np.ones(len(points), bool),
    )


def _hair_height(look: Look, field: Floats, rel: Floats, rng: np.random.Generator) -> Floats:
    ramp = np.clip(field / 0.045, 0.0, 1.0)
    phase = rng.uniform(0, 6.28, 3)
    curl = (
        np.sin(95 * rel[:, 0] + phase[0])
        * np.sin(80 * rel[:, 2] + phase[1])
        * np.sin(88 * rel[:, 1] + phase[2])
    )
    top = 1.0 + 0.5 * np.clip(rel[:, 2] / 0.12, 0, 1)
    thickness = look.hair.thickness_m if look.hair.hat is None else 0.004
    return 0.002 + ramp**0.6 * (thickness * top + look.hair.lump_m * curl)


def _hat_height(field: Floats) -> Floats:
    roll = 0.006 * np.exp(-(((field - 0.015) / 0.014) ** 2))
    return 0.013 + roll + 0.06 * np.clip(field, 0, 1)


def _polar_uv(rest: Floats) -> Floats:
    rel = rest - regions.eye_middle_m(load_template()) - SKULL_M
    angle = np.arctan2(np.abs(rel[:, 0]), -rel[:, 1])
    flat = np.linalg.norm(rel[:, :2], axis=1)
    return np.stack([angle / np.pi * 2, np.arctan2(rel[:, 2], flat) / np.pi], axis=1)


def _place(points: Floats, body: PosedBody) -> Floats:
    """Carry points given from the eye middle of the average adult to a posed head."""
    template = load_template()
    eyes = [body.heads_m[template.bone(f"eye.{m}")] for m in "LR"]
    rest_gap = np.linalg.norm(
        template.heads_m[template.bone("eye.L")] - template.heads_m[template.bone("eye.R")]
    )
    scale = np.linalg.norm(eyes[0] - eyes[1]) / rest_gap
    return 0.5 * (eyes[0] + eyes[1]) + scale * points @ head_turn(body).T


def _curtain(look: Look, body: PosedBody, rng: np.random.Generator) -> Part:
    angle = np.radians(np.linspace(66, 294, 49))
    drop = np.linspace(0, 1, 17)
    a, s = np.meshgrid(angle, drop)
    lift = look.hair.thickness_m
    phase = rng.uniform(0, 6.28)
    wave = 0.004 * np.sin(9 * a + phase) * s
    pinch = 1.0 - 0.10 * np.sin(np.pi * np.clip(s, 0, 1)) + 0.10 * s
    x = (0.079 + lift + wave) * np.sin(a) * pinch
    y = SKULL_M[1] - (0.098 + lift + wave) * np.cos(a) * pinch
    length = look.hair.length_m * (1 + 0.03 * np.sin(14 * a + phase))
    z = 0.055 - s * (0.055 + length)
    points = np.stack([x, y, z], axis=-1).reshape(-1, 3)
    faces = _grid_faces(*a.shape)
    uv = np.stack([a / np.pi * 2, 1 - s], axis=-1).reshape(-1, 2)
    return make_part(
        "hair",
        _place(points, body),
        faces,
        None,
        uv=uv,
        repeat=True,
        texture=fabrics.strands(look.complexion.hair, rng),
        head=np.ones(len(points), bool),
    )


def _bun(look: Look, body: PosedBody, rng: np.random.Generator) -> Part:
    u, v = np.meshgrid(np.linspace(0, 2 * np.pi, 21), np.linspace(0, np.pi, 11))
    ball = np.stack([np.sin(v) * np.cos(u), np.sin(v) * np.sin(u), np.cos(v)], axis=-1)
    points = ball.reshape(-1, 3) * 0.042 + SKULL_M + [0.0, 0.125, 0.02]
    uv = np.stack([u / np.pi, v / np.pi], axis=-1).reshape(-1, 2)
    return make_part(
        "hair",
        _place(points, body),
        _grid_faces(*u.shape),
        None,
        uv=uv,
        repeat=True,
        texture=fabrics.strands(look.complexion.hair, rng),
        head=np.ones(len(points), bool),
    )


def _stiff_hat(body: PosedBody, colour: Colour, rng: np.random.Generator, *, peak: bool) -> Part:
    """A crown with a brim all round, or with a peak at the front."""
    angle = np.linspace(0, 2 * np.pi, 41)
    # Rows from the edge of the brim inward, up the crown and over its top: radius (m), height (m).
    tall, reach = (0.095, 0.075) if peak else (float(rng.uniform(0.09, 0.13)), 0.065)
    front = np.clip(np.cos(angle), 0, 1) ** 0.7 if peak else np.ones_like(angle)
    rows = [
        (reach * front, (-0.022 if peak else -0.006) * front), (0.0 * front, 0.0 * front),
        (-0.004 + 0.0 * front, 0.55 * tall), (-0.03 + 0.0 * front, 0.88 * tall),
        (0.0 * front, tall),
    ]  # fmt: skip
    points = []
    for index, (wider, height) in enumerate(rows):
        shrink = 0.0 if index < 4 else 1.0
        x = (0.092 + (wider if index < 4 else 0.0)) * np.sin(angle) * (1 - shrink)
        y = -(0.116 + (wider if index < 4 else 0.0)) * np.cos(angle) * (1 - shrink)
        tilt = 0.10 * (y + 0.03)
        points.append(
            np.stack(
                [x, SKULL_M[1] - 0.002 + y, (0.046 if peak else 0.052) + height + tilt], axis=-1
            )
        )
    grid = np.stack(points)
    flat = grid.reshape(-1, 3)
    uv = np.stack(np.meshgrid(angle / np.pi, np.linspace(0, 1, len(rows))), axis=-1).reshape(-1, 2)
    return make_part(
        "cloth", _place(flat, body), _grid_faces(*grid.shape[:2]), None, uv=uv, repeat=True,
        texture=fabrics.ribs(colour, rng), head=np.ones(len(flat), bool),
    )  # fmt: skip


def _grid_faces(rows: int, columns: int) -> Ints:
    index = np.arange(rows * columns).reshape(rows, columns)
    corners = (index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1])
    return np.stack([c.ravel() for c in corners], axis=1)
