"""The top of the head: where the mask ends, or by the head's dome where the edge cuts it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from framecheck.geometry.dome import dome_over_edge
from framecheck.measure.head import (
    CROWN_TO_EYE,
    EYE_TO_CHIN,
    MESH_PITCH_OFFSET_DEG,
    Head,
)
from framecheck.measure.ruler_fit import is_cut_over_the_shoulders
from framecheck.measure.silhouette import (
    head_top_y_px,
    mask_scale_px,
    stretch_at,
    walk_out_px,
)
from framecheck.records.seen import HeadSeen, MaskSeen, PersonSeen
from framecheck.records.values import Box, PointPx

CROWN_REACH = 2.6
"""How far the mask may put the crown over the eyes, in eye-to-chin lengths: bowed heads, hats."""

CROWN_LEAST = 0.5
"""How near the mask may put the crown to the eyes, over the expected skull, to be believed."""

TOP_EDGE_FRAC = 0.006
"""How near the mask must come to the top edge, over the picture height, for the head to be cut."""

SKULL_OVER_EYES = CROWN_TO_EYE / EYE_TO_CHIN
"""Crown of the skull over the eyes in eye-to-chin lengths of a level face (the handbook's marks;
the survey's 1.78 interpupillary distances agree)."""

BY_PITCH = (-0.54, 0.16)
"""Change of that per 30 degrees of pitch, and per its square: a bowed head shows more crown. Fitted
on rendered heads."""

HAIR = 0.25
"""Hair over the skull in eye-to-chin lengths, where an edge cuts it and nobody can see how much
there is: about 3 cm. Fitted on rendered heads."""

HAIR_BY_POSE = 0.35
"""The same where the pose network alone gave the head, whose chin lies a little high."""

BEHIND_EYES = 0.7
"""How far behind the eyes the middle of a head lies, in eye-to-chin lengths: in a profile the crown
is not over the eyes."""

HALF_HEAD = 0.8
"""Half of the width in which the top of a head is looked for, in eye-to-chin lengths."""

DOME_ROW_FRAC = 0.014
"""How far under the top edge the width there is taken, over the picture height: masks fray at the
edge itself."""

WIDTH_ROWS = (0.0, 0.25, 0.5, 0.75)
"""Where a head is measured for its width, from the eyes (0) to the edge that cuts it (1)."""

DOME_ERROR = 0.5
"""Expected error of what a dome says is missing, over that: of 146 rendered heads cut 5 to 50 %
under the top 0.4 to 0.8."""

HAIR_OVER_SEEN, SEEN_ERROR = 0.055, 0.07
"""Hair over a head that a network for heads sees, and the expected error of its top, over its
height: of 324 rendered people whose heads end inside the picture the median and a half of the span
from the 10th to the 90th percentile."""

HALF_BREADTH = 0.33
"""Half of a head's breadth over its height from crown to chin: 154.3 / (113.8 + 122.6) / 2 (ANSUR
II 2012, men: head breadth, crown to eyes, sellion to menton)."""

INFERRED_ERROR = 0.24
"""Expected error of the top by the face alone, in eye-to-chin lengths: of the same heads half are
within 0.16."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Crown:
    """The top of one head, in pixels of the whole file.

    Attributes:
        crown_px: the crown on the head's own axis.
        head_top_px: y of the head's highest row, hair included.
        error_px: expected error of that.
        from_mask: the mask showed where the head ends; else its end lies outside the picture, or
            follows from the face by proportion.
    """

    crown_px: PointPx
    head_top_px: float
    error_px: float
    from_mask: bool


def find_crown(person: PersonSeen, head: Head, picture: Box) -> Crown:
    """The top of a head.

    Where the mask ends inside the picture it is the best witness. Where the picture's edge cuts
    the head, how wide the head is at the edge tells how much of it is missing; what that leaves
    open follows from the face by proportion.
    """
    mask = _own_mask(person)
    top_px = None if mask is None else _mask_top_px(mask, head, _middle_px(head))
    if mask is None or top_px is None:
        return _inferred(person, head, picture)
    if _is_at_edge(top_px, picture):
        return _cut(person, head, picture, mask)
    if not _is_skull(head, head.eye_px[1] - top_px):
        return _inferred(person, head, picture)
    return Crown(
        crown_px=_crown_px(mask, head), head_top_px=top_px, error_px=mask_scale_px(mask),
        from_mask=True,
    )  # fmt: skip


def marks_origin_px(person: PersonSeen, head: Head, picture: Box) -> float:
    """The row from which the marks network tells the top of the head, pixels of the whole file.

    It was trained on shifts from this row, which is found more simply than the crown is; so it
    changes only with the network's weights.
    """
    mask = _own_mask(person)
    told_px = _by_proportion_px(head)
    top_px = None if mask is None else _mask_top_px(mask, head, head.eye_px)
    if mask is None or top_px is None:
        return told_px
    if _is_at_edge(top_px, picture):
        return min(told_px, picture.y_px)
    return top_px if _is_skull(head, _over_eyes_px(mask, head, head.eye_px)) else told_px


def _own_mask(person: PersonSeen) -> MaskSeen | None:
    body = person.body
    return None if body is None or body.is_put else body.mask


def _inferred(person: PersonSeen, head: Head, picture: Box) -> Crown:
    """The top of a head by the face or the marks network, and by who sees nothing but heads.

    Weighed by the inverse squares of their errors.
    """
    crown_px = _along(head.eye_px, _up(head), _expected_skull(head) * head.eye_to_chin_px)
    told_px, error_px = _by_proportion_px(head), INFERRED_ERROR * head.eye_to_chin_px
    if person.marks is not None and not is_cut_over_the_shoulders(head, picture):
        told_px = person.marks.head_top_px
    if person.head is not None:
        seen_px, seen_error_px = _seen_top_px(person.head)
        told_px, error_px = _weighed((told_px, error_px), (seen_px, seen_error_px))
    return Crown(crown_px=crown_px, head_top_px=told_px, error_px=error_px, from_mask=False)


def _seen_top_px(head: HeadSeen) -> tuple[float, float]:
    """The highest row of a head that was seen as such, an ellipse, and its expected error."""
    down_x, down_y = head.down
    half = math.hypot(0.5 * down_y, HALF_BREADTH * down_x)
    half_px = (half + HAIR_OVER_SEEN) * head.height_px
    return head.centre_px[1] - half_px, SEEN_ERROR * head.height_px


def _weighed(one: tuple[float, float], other: tuple[float, float]) -> tuple[float, float]:
    """The mean of two readings with their errors, weighed by the inverse squares of these."""
    (a, a_error), (b, b_error) = one, other
    total = a_error**2 + b_error**2
    if total == 0:
        return a, 0.0
    return (a * b_error**2 + b * a_error**2) / total, a_error * b_error / math.sqrt(total)


def _cut(person: PersonSeen, head: Head, picture: Box, mask: MaskSeen) -> Crown:
    """The top of a head that the top edge cuts: the dome over the edge, and what else is told.

    Both are weighed by the inverse square of their errors. The error of a dome is a share of what
    is missing: an edge that just trims the hair leaves little open.
    """
    inferred = _inferred(person, head, picture)
    told_px = max(0.0, picture.y_px - inferred.head_top_px)
    error_px, missing_px = inferred.error_px, _missing_px(mask, head, picture)
    if missing_px is not None:
        dome = (missing_px, DOME_ERROR * missing_px)
        told_px, error_px = _weighed((told_px, error_px), dome)
    return replace(inferred, head_top_px=picture.y_px - told_px, error_px=error_px)


def _missing_px(mask: MaskSeen, head: Head, picture: Box) -> float | None:
    """How much of the head the top edge cuts away by its dome; None where that tells nothing."""
    x_px, eye_y_px = _middle_px(head)[0], head.eye_px[1]
    row_y_px = picture.y_px + max(2.0 * mask_scale_px(mask), DOME_ROW_FRAC * picture.h_px)
    over_eyes_px = eye_y_px - row_y_px
    if over_eyes_px <= 0:
        return None
    rows_px = (row_y_px, *(eye_y_px - share * over_eyes_px for share in WIDTH_ROWS))
    widths_px = [_width_px(mask, (x_px, y_px), head, picture) for y_px in rows_px]
    if 0.0 in widths_px:
        return None
    missing_px = dome_over_edge(over_eyes_px, widths_px[0] / max(widths_px[1:]))
    return None if missing_px is None else max(0.0, missing_px - (row_y_px - picture.y_px))


def _width_px(mask: MaskSeen, middle_px: PointPx, head: Head, picture: Box) -> float:
    """How wide the head is in a row; 0 where one of its ends is not seen."""
    stretch = stretch_at(mask, middle_px, CROWN_REACH * head.eye_to_chin_px)
    slack_px = 1.5 * mask_scale_px(mask)
    if stretch is None or stretch[0] <= picture.x_px + slack_px:
        return 0.0
    return 0.0 if stretch[1] >= picture.right_px - slack_px else stretch[1] - stretch[0]


def _by_proportion_px(head: Head) -> float:
    """The highest row of the head as the face tells it."""
    hair = HAIR if head.from_mesh else HAIR_BY_POSE
    return _along(head.eye_px, _up(head), (_expected_skull(head) + hair) * head.eye_to_chin_px)[1]


def _mask_top_px(mask: MaskSeen, head: Head, middle_px: PointPx) -> float | None:
    unit_px = head.eye_to_chin_px
    return head_top_y_px(mask, middle_px, HALF_HEAD * unit_px, CROWN_REACH * unit_px)


def _is_at_edge(top_px: float, picture: Box) -> bool:
    return top_px <= picture.y_px + TOP_EDGE_FRAC * picture.h_px


def _over_eyes_px(mask: MaskSeen, head: Head, start_px: PointPx) -> float:
    """How far the mask goes on from a point along the head's axis."""
    return walk_out_px(mask, start_px, _up(head), CROWN_REACH * head.eye_to_chin_px)


def _is_skull(head: Head, over_eyes_px: float) -> bool:
    """Whether a head may end so far over the eyes."""
    unit_px = head.eye_to_chin_px
    least_px = CROWN_LEAST * _expected_skull(head) * unit_px
    return least_px < over_eyes_px < CROWN_REACH * unit_px


def _crown_px(mask: MaskSeen, head: Head) -> PointPx:
    """The crown: where the mask ends over the middle of the head, or over the eyes, or should."""
    for start_px in (_middle_px(head), head.eye_px):
        length_px = _over_eyes_px(mask, head, start_px)
        if _is_skull(head, length_px):
            return _along(start_px, _up(head), length_px)
    return _along(head.eye_px, _up(head), _expected_skull(head) * head.eye_to_chin_px)


def _middle_px(head: Head) -> PointPx:
    """The middle of the head at the height of the eyes: behind the eyes when it is turned."""
    behind_px = BEHIND_EYES * head.eye_to_chin_px * math.sin(math.radians(head.yaw_deg))
    down_x, down_y = head.down
    return (head.eye_px[0] - behind_px * down_y, head.eye_px[1] + behind_px * down_x)


def _expected_skull(head: Head) -> float:
    if not head.from_mesh:
        return SKULL_OVER_EYES
    pitch = max(-1.2, min(1.2, (head.pitch_deg - MESH_PITCH_OFFSET_DEG) / 30.0))
    return SKULL_OVER_EYES + BY_PITCH[0] * pitch + BY_PITCH[1] * pitch * pitch


def _up(head: Head) -> PointPx:
    return (-head.down[0], -head.down[1])


def _along(start_px: PointPx, direction: PointPx, length_px: float) -> PointPx:
    return (start_px[0] + direction[0] * length_px, start_px[1] + direction[1] * length_px)
