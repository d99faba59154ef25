"""Screen out what is no person: bodies that the network does not believe in, and blends of two."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from framecheck.pose.merge import inside_box
from framecheck.records.seen import BodySeen, MaskSeen, PersonSeen
from framecheck.records.values import Box

LEAST_PRESENCE = 0.45
"""Mean belief in the joints inside the picture, under which a body is a pattern on a wall."""

LEAST_PRESENCE_WITH_FACE = 0.20
"""The same for a body whose face was found as well."""

BLEND_COVER = 0.75
"""Share of a faceless body's mask that other bodies explain, from which it is a blend of them."""

GRID = 96
"""Masks are compared on a grid this fine across the picture."""


def presence_inside(body: BodySeen, picture: Box) -> float:
    """Mean belief in the joints that lie inside the picture, 0..1; 0 when none does."""
    inside = inside_box(body.joints_px, picture)
    return float(body.presence[inside].mean()) if inside.any() else 0.0


def is_believed(person: PersonSeen, picture: Box) -> bool:
    """True when the network itself believes in the body, or a face vouches for it."""
    if person.body is None:
        return True
    least = LEAST_PRESENCE if person.face is None else LEAST_PRESENCE_WITH_FACE
    return presence_inside(person.body, picture) >= least


def mask_on_grid(mask: MaskSeen, picture: Box) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
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
    kept = []
    for i, person in enumerate(people):
        own = grids[i]
        others = [g for k, g in enumerate(grids) if k != i and g is not None and _senior(people, k, i)]
        if own is None or person.face is not None or not others or not own.any():
            kept.append(person)
            continue
        covered = np.logical_or.reduce(others)[own].mean()
        if covered < BLEND_COVER:
            kept.append(person)
    return tuple(kept)


def _senior(people: Sequence[PersonSeen], one: int, other: int) -> bool:
    """True when `one` may explain `other` away: it has a face, or was found earlier."""
    return people[one].face is not None or one < other
