"""Measure one person: from what was seen to a `PersonFraming`."""

from __future__ import annotations

import math
from dataclasses import dataclass

from framecheck.geometry.ruler import (
    edge_position_px,
    level_at_point,
    read_bottom_edge,
    read_top_edge,
)
from framecheck.measure.corrector import Corrector
from framecheck.measure.crown import Crown, find_crown
from framecheck.measure.cuttable import find_joints, find_skeleton
from framecheck.measure.head import (
    Head,
    measure_head,
)
from framecheck.measure.posture import judge_facing, judge_posture
from framecheck.measure.ruler_fit import find_chain, fit_ruler
from framecheck.measure.silhouette import (
    find_touches,
    mask_box,
)
from framecheck.measure.turn import turn_head
from framecheck.records.framing import BodyRuler, Edge, PersonFraming, Role
from framecheck.records.seen import PersonSeen
from framecheck.records.values import Box, Measured, NotMeasured

MOST_ERROR_LEVEL = 0.10
"""Expected error from which a reading says nothing: on tuning scenes 3 readings of 100, half of
them more than 0.05 off."""

MOST_HEADROOM_ERROR_FRAC = 0.18
"""Expected error of the top of the head, over the picture height, from which headroom says nothing:
a head of one and a half picture heights and more, its crown outside."""

LOOK_LEAST_DEG = 15.0
"""Head yaw below which nobody looks to a side, so that looking room means nothing."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonParts:
    """One person, taken apart: what the ranking and the framing both need."""

    seen: PersonSeen
    head: Head
    box: Box
    crown: Crown
    head_height_px: float
    ruler: BodyRuler
    touches: dict[Edge, tuple[float, float]]
    face_share: float = 1.0


def take_parts(person: PersonSeen, picture: Box, corrector: Corrector) -> PersonParts | None:
    """The person's parts; None when nothing of the person lies inside the picture."""
    angles = None if person.marks is None else person.marks.angles
    head = turn_head(measure_head(person), angles)
    box = _visible_box(person, picture)
    if box is None:
        return None
    crown = find_crown(person, head, picture)
    return PersonParts(
        seen=person,
        head=head,
        box=box,
        crown=crown,
        head_height_px=math.dist(crown.crown_px, head.chin_px),
        ruler=fit_ruler(
            head, crown.crown_px, find_chain(person, head, picture, corrector), picture
        ),
        touches={} if person.body is None else find_touches(person.body.mask, picture),
    )


def _visible_box(person: PersonSeen, picture: Box) -> Box | None:
    box = mask_box(person.body.mask, picture) if person.body is not None else None
    if box is not None or person.face is None:
        return box
    face = person.face.box
    left, top = max(face.x_px, picture.x_px), max(face.y_px, picture.y_px)
    right = min(face.right_px, picture.right_px)
    bottom = min(face.bottom_px, picture.bottom_px)
    if right <= left or bottom <= top:
        return None
    return Box(x_px=left, y_px=top, w_px=right - left, h_px=bottom - top)


def frame_person(
    parts: PersonParts, picture: Box, *, person: int, role: Role, choice: str
) -> PersonFraming:
    """The framing of one person whose place among the others is known."""
    head, ruler = parts.head, parts.ruler
    look_ratio, look_ahead = _look_room(head, picture)
    body = parts.seen.body
    return PersonFraming(
        person=person,
        role=role,
        choice=choice,
        box=parts.box,
        nose_px=head.nose_px,
        crown_y_px=parts.crown.head_top_px,
        chin_y_px=head.chin_px[1],
        head_height_px=parts.head_height_px,
        ruler=ruler,
        crop_level=_crop_level(ruler, picture),
        top_level=read_top_edge(ruler, picture.y_px),
        left_cut=_side_cut(parts, Edge.LEFT, picture),
        right_cut=_side_cut(parts, Edge.RIGHT, picture),
        headroom_frac=_headroom(parts.crown, picture),
        look_room_frac=look_ratio,
        look_ahead_wfrac=look_ahead,
        eye_line_frac=(head.eye_px[1] - picture.y_px) / picture.h_px,
        head_yaw_deg=head.yaw_deg,
        head_pitch_deg=head.pitch_deg,
        head_roll_deg=head.roll_deg,
        facing=judge_facing(head.yaw_deg),
        posture=None if body is None or body.is_put else judge_posture(body, ruler),
        figure_frac=ruler.figure_px / picture.h_px,
        joints=() if body is None or body.is_put else find_joints(body, picture),
        skeleton_px=() if body is None or body.is_put else find_skeleton(body, picture),
        confidence=_confidence(parts),
        cut_edges=tuple(parts.touches),
        notes=_notes(parts),
    )


def _headroom(crown: Crown, picture: Box) -> Measured:
    if crown.error_px > MOST_HEADROOM_ERROR_FRAC * picture.h_px:
        return NotMeasured(reason="the head reaches too far out of the picture")
    return (crown.head_top_px - picture.y_px) / picture.h_px


def _crop_level(ruler: BodyRuler, picture: Box) -> Measured:
    if ruler.error_level > MOST_ERROR_LEVEL:
        return NotMeasured(reason="the joints are too uncertain")
    return read_bottom_edge(ruler, picture.bottom_px)


def _side_cut(parts: PersonParts, edge: Edge, picture: Box) -> Measured:
    if parts.seen.body is None:
        return NotMeasured(reason="only the face was found")
    if edge not in parts.touches:
        return NotMeasured(reason=f"clear of the {edge.value} edge")
    return level_at_point(parts.ruler, (edge_position_px(picture, edge), parts.touches[edge][0]))


def _look_room(head: Head, picture: Box) -> tuple[Measured, Measured]:
    if abs(head.yaw_deg) < LOOK_LEAST_DEG:
        reason = NotMeasured(reason="faces the lens")
        return reason, reason
    if abs(head.yaw_deg) > 165.0:
        reason = NotMeasured(reason="faces away")
        return reason, reason
    x_px = min(max(head.nose_px[0], picture.x_px), picture.right_px)
    left_px, right_px = x_px - picture.x_px, picture.right_px - x_px
    ahead_px, behind_px = (right_px, left_px) if head.yaw_deg > 0 else (left_px, right_px)
    if behind_px <= 0.005 * picture.w_px:
        return NotMeasured(reason="no room behind the face"), ahead_px / picture.w_px
    return ahead_px / behind_px, ahead_px / picture.w_px


def _confidence(parts: PersonParts) -> float:
    body = 0.0 if parts.seen.body is None else parts.seen.body.score
    face = 0.0 if parts.seen.face is None else parts.seen.face.score
    somebody = 1.0 if parts.seen.marks is None else parts.seen.marks.somebody
    return max(body, face) * somebody


def _notes(parts: PersonParts) -> tuple[str, ...]:
    notes = []
    if parts.seen.body is not None:
        notes.append(f"body found in {parts.seen.body.found_by}")
    if parts.seen.face is not None:
        notes.append(f"face found by the {parts.seen.face.found_by}")
    if not parts.crown.from_mask:
        notes.append("crown inferred from the face")
    return tuple(notes)
