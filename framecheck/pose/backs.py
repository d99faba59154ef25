"""Near backs: the figure past whose shoulder a shot looks, too near and cut for the pose network.

The people mask sees such a figure once the person beyond is painted over, or once the strip at the
picture's side is unfolded into a whole figure by a mirror along the edge.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from framecheck.measure.head import measure_head
from framecheck.pose.leftovers import Leftover, find_leftovers, known_people, paint_out
from framecheck.pose.merge import head_centre_px, pair_people
from framecheck.pose.networks import Networks
from framecheck.pose.views import View
from framecheck.records.framing import Edge
from framecheck.records.seen import BodySeen, FaceSeen, MaskSeen, PersonSeen
from framecheck.records.values import Box

LEAST_FRAC = 0.03
"""Least area of a near back over the picture's."""

BEYOND_FRAC = 0.55
"""Most height over the picture height of a face seen beyond a near back."""

LEAST_FACE_FRAC = 0.10
"""Least height of that face: nobody frames a shoulder around a figure seen from head to toe."""

FAR_HALF = 0.5
"""Least distance of that face from the back's side, over the picture width."""

LOOK_LEAST = -0.05
"""Least sine of that face's turn towards the back's side: people look at whom they speak to."""

CLEAR_FRAC = 0.22
"""Nobody's head stands this near to the back's side, over the picture width."""

UNFOLDED = (0.45, 0.30)
"""Widths of the strips that are unfolded, over the picture width, until one shows a figure."""

UNFOLDED_FRAC = 0.12
"""Least area of an unfolded figure's half over the picture's."""


def find_sides(bodies: Sequence[BodySeen], faces: Sequence[FaceSeen], picture: Box) -> set[Edge]:
    """The sides at which a near back may stand, given the face beyond; empty for none.

    Common practice: the face beyond stands in the other half, and looks past the lens on the side
    of the person in the foreground.
    """
    people = [p for p in pair_people(bodies, faces) if p.face is not None]
    if not 1 <= len(people) <= 2 or len(bodies) > 2:
        return set()
    main = max(people, key=_face_height_px)
    if not LEAST_FACE_FRAC <= _face_height_px(main) / picture.h_px <= BEYOND_FRAC:
        return set()
    head = measure_head(main)
    from_left = (head.eye_px[0] - picture.x_px) / picture.w_px
    to_right = math.sin(math.radians(head.yaw_deg))
    sides = {Edge.LEFT: (from_left, -to_right), Edge.RIGHT: (1.0 - from_left, to_right)}
    return {s for s, (gap, look) in sides.items() if gap >= FAR_HALF and look >= LOOK_LEAST}


def _face_height_px(person: PersonSeen) -> float:
    return 0.0 if person.face is None else person.face.box.h_px


def is_back(leftover: Leftover, bodies: Sequence[BodySeen], sides: set[Edge]) -> bool:
    """True for a large leftover in a bottom corner where a back may stand and nobody else does."""
    if leftover.at_left == leftover.at_right or not leftover.at_bottom:
        return False
    side = Edge.LEFT if leftover.at_left else Edge.RIGHT
    picture = leftover.mask.box
    clear_px = CLEAR_FRAC * picture.w_px
    for body in bodies:
        x_px = head_centre_px(body)[0]
        gap_px = x_px - picture.x_px if side is Edge.LEFT else picture.right_px - x_px
        own = leftover.box.x_px <= x_px <= leftover.box.right_px
        if own or gap_px < clear_px:
            return False
    return side in sides and leftover.area_frac >= LEAST_FRAC


def find_hidden_backs(
    networks: Networks, small: View, bodies: Sequence[BodySeen], faces: Sequence[FaceSeen]
) -> tuple[Leftover, ...]:
    """Near backs that the people mask shows only with some help; none where none can stand.

    Args:
        networks: for the people mask.
        small: the whole active picture, small.
        bodies: known people, to be painted over.
        faces: known faces.
    """
    sides = find_sides(bodies, faces, small.box)
    if not sides:
        return ()
    painted = paint_out(small, bodies, faces)
    found = find_leftovers(networks.find_anybody(painted), bodies, faces, LEAST_FRAC)
    backs = tuple(leftover for leftover in found if is_back(leftover, bodies, sides))
    if backs or len(bodies) > 1:
        return backs
    rows, columns = small.rgb.shape[:2]
    known = known_people(bodies, faces, small.box, (columns, rows))
    unfolded = (_unfold(networks, painted, known, side) for side in sorted(sides))
    return tuple(back for back in unfolded if back is not None and is_back(back, bodies, sides))


def _unfold(
    networks: Networks, painted: View, known: np.ndarray[tuple[int, ...], np.dtype[np.bool_]],
    side: Edge,
) -> Leftover | None:  # fmt: skip
    """The figure at one side, in the first strip that shows one."""
    for share in UNFOLDED:
        mask = _unfolded_mask(networks, painted, share, side)
        mask[known] = 0
        seen = MaskSeen(inside=mask, box=painted.box)
        for leftover in find_leftovers(seen, (), (), UNFOLDED_FRAC):
            if leftover.at_left if side is Edge.LEFT else leftover.at_right:
                return leftover
    return None


def _unfolded_mask(
    networks: Networks, painted: View, share: float, side: Edge
) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    """The people mask of a strip at one side, seen together with its mirror image; else 0."""
    width = max(8, round(share * painted.rgb.shape[1]))
    turned = painted.rgb if side is Edge.LEFT else painted.rgb[:, ::-1]
    strip = turned[:, :width]
    both = np.ascontiguousarray(np.hstack([strip[:, ::-1], strip]))
    half = networks.find_anybody(View(rgb=both, box=painted.box), opinions=1).inside[:, width:]
    mask = np.zeros(painted.rgb.shape[:2], dtype=np.uint8)
    mask[:, :width] = half
    return mask if side is Edge.LEFT else np.ascontiguousarray(mask[:, ::-1])
