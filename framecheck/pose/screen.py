"""Screen out what is no person: bodies that the network does not believe in, and blends of two."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from framecheck.measure.silhouette import is_on_person
from framecheck.pose.merge import head_centre_px, inside_box
from framecheck.records.seen import JOINT_INDEX, BodySeen, FaceSeen, MaskSeen, PersonSeen
from framecheck.records.values import Box, PointPx

Grid: TypeAlias = npt.NDArray[np.bool_]

LEAST_PRESENCE = 0.45
"""Mean belief in the joints inside the picture, under which a body is a pattern on a wall."""

LEAST_PRESENCE_VOUCHED = 0.25
"""The same for a body whose face was found, or whose pixels the people mask confirms."""

SURE_PRESENCE = 0.90
"""From here on the people mask need not agree."""

VOUCHED = 0.5
VETOED = 0.2
"""Share of a body's pixels in the people mask that confirms it, and under which it is doubted."""

VETO_SIZE_FRAC = 0.2
"""Height over the picture height from which the people mask must know a body, not less."""

LEAST_MASK_FRAC = 0.03
"""Area over the picture's under which the people mask says too little to ask for an explanation."""

BLEND_COVER = 0.75
"""Share of a faceless body's mask that other bodies explain, from which it is a blend of them."""

SWALLOWED = 0.9
"""Share of a better body's mask inside a worse one, from which the worse is the same person."""

HEAD_OVER_FACE = 1.8
"""Size of a whole head, hair and all, over its face box."""

WORN = 0.8
"""Share of a face box inside a faceless body's mask, from which the face is that body's own."""

GRID = 96
"""Masks are compared on a grid this fine across the picture."""


def presence_inside(body: BodySeen, picture: Box) -> float:
    """Mean belief in the joints that lie inside the picture, 0..1; 0 when none does."""
    inside = inside_box(body.joints_px, picture)
    return float(body.presence[inside].mean()) if inside.any() else 0.0


def is_believed(  # noqa: PLR0911 - one answer a cue
    person: PersonSeen, picture: Box, anybody: MaskSeen | None = None
) -> bool:
    """True when the network itself believes in the body, or another cue vouches for it."""
    if person.body is None:
        return True
    presence = presence_inside(person.body, picture)
    if person.face is not None:
        return presence >= LEAST_PRESENCE_VOUCHED
    if not is_upright(person.body):
        return False
    if anybody is None or presence >= SURE_PRESENCE:
        return presence >= LEAST_PRESENCE
    own = mask_on_grid(person.body.mask, picture)
    support = float(mask_on_grid(anybody, picture)[own].mean()) if own.any() else 0.0
    if support >= VOUCHED:
        return presence >= LEAST_PRESENCE_VOUCHED
    small = own.any(axis=1).mean() < VETO_SIZE_FRAC
    return presence >= LEAST_PRESENCE and (support >= VETOED or bool(small))


def is_upright(body: BodySeen) -> bool:
    """True when the shoulders lie over the hips; the network turns some backs upside down."""
    shoulders = body.joints_px[[JOINT_INDEX["shoulder_left"], JOINT_INDEX["shoulder_right"]], 1]
    hips = body.joints_px[[JOINT_INDEX["hip_left"], JOINT_INDEX["hip_right"]], 1]
    return bool(shoulders.mean() < hips.mean())


def mean_belief(people: Sequence[PersonSeen], picture: Box) -> float:
    """Mean of `presence_inside` over the bodies, 0..1; 0 when there is none."""
    beliefs = [presence_inside(p.body, picture) for p in people if p.body is not None]
    return float(np.mean(beliefs)) if beliefs else 0.0


def mask_share(mask: MaskSeen) -> float:
    """Share of the mask's own box that it covers, 0..1."""
    return float((mask.inside >= 128).mean())


def explained_share(people: Sequence[PersonSeen], anybody: MaskSeen, picture: Box) -> float:
    """Share of the people mask that the bodies explain, 0..1; 1 when the mask shows nobody."""
    grid = mask_on_grid(anybody, picture)
    bodies = [p.body for p in people if p.body is not None]
    if grid.mean() < LEAST_MASK_FRAC:
        return 1.0 if bodies else 0.0
    if not bodies:
        return 0.0
    own = np.logical_or.reduce([mask_on_grid(body.mask, picture) for body in bodies])
    return float(own[grid].mean())


def mask_on_grid(mask: MaskSeen, picture: Box) -> Grid:
    """The mask sampled on a (rows, GRID) grid of cell middles across the picture."""
    rows = max(1, round(GRID * picture.h_px / picture.w_px))
    x_px = picture.x_px + (np.arange(GRID) + 0.5) * picture.w_px / GRID
    y_px = picture.y_px + (np.arange(rows) + 0.5) * picture.h_px / rows
    j = np.floor((x_px - mask.box.x_px) / mask.box.w_px * mask.inside.shape[1]).astype(int)
    i = np.floor((y_px - mask.box.y_px) / mask.box.h_px * mask.inside.shape[0]).astype(int)
    fits_i = (i >= 0) & (i < mask.inside.shape[0])
    fits_j = (j >= 0) & (j < mask.inside.shape[1])
    grid = np.zeros((rows, GRID), dtype=np.bool_)
    grid[np.ix_(fits_i, fits_j)] = mask.inside[np.ix_(i[fits_i], j[fits_j])] >= 128
    return grid


def drop_blends(people: Sequence[PersonSeen], picture: Box) -> tuple[PersonSeen, ...]:
    """Without the faceless bodies whose pixels other bodies explain.

    Two people close together make the network invent a third between them; a person of its own
    has pixels of its own.
    """
    grids = [None if p.body is None else mask_on_grid(p.body.mask, picture) for p in people]
    order = sorted(range(len(people)), key=lambda i: _standing(people[i], picture), reverse=True)
    kept: list[int] = []
    for i in order:
        others = [grid for k in kept if (grid := grids[k]) is not None]
        faces = [f for k in kept if (f := people[k].face) is not None and people[k].body]
        blend = _is_explained(grids[i], others) or _is_same_head(
            people[i], grids[i], faces, picture
        )
        if people[i].face is not None or not blend:
            kept.append(i)
    return tuple(people[i] for i in sorted(kept))


def is_on_clothes(face: FaceSeen, people: Sequence[PersonSeen]) -> bool:
    """True for a face in the middle of the pixels of somebody who has another face."""
    centre_px = np.array([face.box.centre_px])
    return any(
        bool(is_on_person(other.body.mask, centre_px).any())
        for other in people
        if other.body is not None and other.face is not None and other.face is not face
    )


def _is_same_head(
    person: PersonSeen, own: Grid | None, faces: Sequence[FaceSeen], picture: Box
) -> bool:
    """True for a faceless body that is a part of somebody else, or the other way round."""
    on_face = person.body is not None and any(
        _lies_on(head_centre_px(person.body), face.box) for face in faces
    )
    return on_face or _wears_face(own, faces, picture)


def _lies_on(point_px: PointPx, face: Box) -> bool:
    """True when a point lies on the head around a face box."""
    x_px, y_px = face.centre_px
    near_x = abs(point_px[0] - x_px) < HEAD_OVER_FACE / 2 * face.w_px
    return near_x and abs(point_px[1] - y_px) < HEAD_OVER_FACE / 2 * face.h_px


def _wears_face(own: Grid | None, faces: Sequence[FaceSeen], picture: Box) -> bool:
    """True for a faceless body whose pixels cover the face of somebody else: they are one."""
    if own is None:
        return False
    rows, columns = own.shape
    for face in faces:
        j = slice(*_cells(face.box.x_px, face.box.right_px, picture.x_px, picture.w_px / columns))
        i = slice(*_cells(face.box.y_px, face.box.bottom_px, picture.y_px, picture.h_px / rows))
        if own[i, j].size and own[i, j].mean() >= WORN:
            return True
    return False


def _cells(start_px: float, end_px: float, origin_px: float, cell_px: float) -> tuple[int, int]:
    first = max(0, round((start_px - origin_px) / cell_px))
    return first, max(first, round((end_px - origin_px) / cell_px))


def _standing(person: PersonSeen, picture: Box) -> tuple[bool, float]:
    """Who may explain others away: faces first, then the bodies that the network believes in."""
    presence = 0.0 if person.body is None else presence_inside(person.body, picture)
    return person.face is not None, presence


def _is_explained(own: Grid | None, others: Sequence[Grid]) -> bool:
    """True when others cover a body, or when it does little but cover one of them."""
    if own is None or not own.any() or not others:
        return False
    if np.logical_or.reduce(others)[own].mean() >= BLEND_COVER:
        return True
    inside = [own[other].mean() for other in others if other.any()]
    return bool(inside) and max(inside) >= SWALLOWED
