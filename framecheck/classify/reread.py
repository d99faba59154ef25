"""The same people read again in a moved picture: what a reframe would measure."""

from __future__ import annotations

from dataclasses import replace

from framecheck.classify.people import look_behind_px
from framecheck.geometry.boxes import holds
from framecheck.geometry.ruler import MARK_LEVELS, point_at_level, read_bottom_edge, read_top_edge
from framecheck.records.framing import (
    BodyRuler,
    Edge,
    FrameMeasurement,
    JointSeen,
    PersonFraming,
)
from framecheck.records.values import Box, Measured, NotMeasured, PointPx


def move_edge(picture: Box, edge: Edge, outward_px: float) -> Box:
    """The picture with one edge moved outward, inward when negative."""
    left, top, right, bottom = picture.x_px, picture.y_px, picture.right_px, picture.bottom_px
    left -= outward_px if edge is Edge.LEFT else 0.0
    top -= outward_px if edge is Edge.TOP else 0.0
    right += outward_px if edge is Edge.RIGHT else 0.0
    bottom += outward_px if edge is Edge.BOTTOM else 0.0
    return Box(x_px=left, y_px=top, w_px=right - left, h_px=bottom - top)


def scale_field(picture: Box, factor: float, anchor_px: PointPx) -> Box:
    """The picture with its field `factor` times as large, one point keeping its place in it."""
    return Box(
        x_px=anchor_px[0] - factor * (anchor_px[0] - picture.x_px),
        y_px=anchor_px[1] - factor * (anchor_px[1] - picture.y_px),
        w_px=factor * picture.w_px,
        h_px=factor * picture.h_px,
    )


def eye_point_px(measurement: FrameMeasurement) -> PointPx:
    """The main subject's eyes, kept inside the picture; the nose when there is no ruler."""
    main = measurement.people[0]
    return eyes_inside_px(main.nose_px, main.ruler, measurement.picture)


def eyes_inside_px(nose_px: PointPx, ruler: BodyRuler | None, picture: Box) -> PointPx:
    """Somebody's eyes, kept inside the picture; the nose when there is no ruler."""
    x_px, y_px = nose_px
    if ruler is not None:
        y_px = point_at_level(ruler, MARK_LEVELS["eye"])[1]
    return (
        min(max(x_px, picture.x_px), picture.right_px),
        min(max(y_px, picture.y_px), picture.bottom_px),
    )


def reread(measurement: FrameMeasurement, picture: Box) -> FrameMeasurement:
    """The measurement as it would be with another active picture.

    Crop and top level, headroom, eye line, looking room, figure height and the joints' place are
    read anew; side cuts, angles and roles stay. Where the new picture shows more than the old one,
    the reading rests on the ruler's inferred marks.
    """
    people = tuple(
        replace(
            _reread_person(person, measurement.picture, picture),
            joints=tuple(_reread_joint(joint, picture) for joint in person.joints),
        )
        for person in measurement.people
    )
    return replace(measurement, picture=picture, people=people)


def reread_for_flags(measurement: FrameMeasurement, picture: Box) -> FrameMeasurement:
    """The same but for the joints' place, which no flag looks at; takes half as long."""
    people = tuple(
        _reread_person(person, measurement.picture, picture) for person in measurement.people
    )
    return replace(measurement, picture=picture, people=people)


def _reread_person(person: PersonFraming, old: Box, new: Box) -> PersonFraming:
    ratio, ahead = _reread_look(person, old, new)
    crop_level, top_level, figure_frac = _reread_ruler(person, new)
    return replace(
        person,
        look_room_frac=ratio,
        look_ahead_wfrac=ahead,
        headroom_frac=_frac_below(person.headroom_frac, old, new),
        eye_line_frac=_frac_below(person.eye_line_frac, old, new),
        crop_level=crop_level,
        top_level=top_level,
        figure_frac=figure_frac,
    )


def _reread_joint(joint: JointSeen, new: Box) -> JointSeen:
    inside = holds(new, (joint.x_px, joint.y_px))
    return joint if inside == joint.inside else replace(joint, inside=inside)


def _reread_ruler(person: PersonFraming, new: Box) -> tuple[Measured, Measured, Measured]:
    """Crop level, top level and figure height over the picture height."""
    ruler = person.ruler
    if ruler is None:
        return person.crop_level, person.top_level, person.figure_frac
    return (
        _if_measured(person.crop_level, read_bottom_edge(ruler, new.bottom_px)),
        _if_measured(person.top_level, read_top_edge(ruler, new.y_px)),
        _if_measured(person.figure_frac, ruler.figure_px / new.h_px),
    )


def _if_measured(old: Measured, new: float) -> Measured:
    return old if isinstance(old, NotMeasured) else new


def _frac_below(frac: Measured, old: Box, new: Box) -> Measured:
    """A height under the top edge, as a share of the new picture's height."""
    if isinstance(frac, NotMeasured):
        return frac
    return (old.y_px + frac * old.h_px - new.y_px) / new.h_px


def _reread_look(person: PersonFraming, old: Box, new: Box) -> tuple[Measured, Measured]:
    ratio, ahead, yaw_deg = person.look_room_frac, person.look_ahead_wfrac, person.head_yaw_deg
    if isinstance(ratio, NotMeasured) or isinstance(ahead, NotMeasured):
        return ratio, ahead
    if isinstance(yaw_deg, NotMeasured):
        return ratio, ahead
    grown_left, grown_right = old.x_px - new.x_px, new.right_px - old.right_px
    grown = (grown_right, grown_left) if yaw_deg > 0 else (grown_left, grown_right)
    ahead_px = max(0.0, ahead * old.w_px + grown[0])
    # Half a pixel at least, so that a head that touches the edge behind it has a finite ratio.
    behind_px = max(0.5, look_behind_px(person, old) + grown[1])
    return ahead_px / behind_px, ahead_px / new.w_px
