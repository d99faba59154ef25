"""The flags: a sign whose shape tells the severity, and the name of the part, at the cut itself."""

from __future__ import annotations

import math

from framecheck.geometry.ruler import MARK_LEVELS, edge_position_px
from framecheck.records.framing import Edge, PersonFraming
from framecheck.records.judged import Flag, Severity
from framecheck.records.values import Box, PointPx
from framecheck.report.canvas import Canvas
from framecheck.report.palette import INK, WARNING
from framecheck.report.scene import Label, Scene

_CORNERS = {Severity.HIGH: 3, Severity.MEDIUM: 4, Severity.LOW: 24}
_RADIUS_SHARE = 0.7  # of the text's size
_LIFT_SHARE = 0.9  # of a sign's size: how far inside the edge it stands


def draw_flags(scene: Scene) -> None:
    """Put a sign at every flagged cut."""
    radius = scene.sizes.text_px * _RADIUS_SHARE
    for flag in scene.result.judgement.flags:
        if flag.person >= len(scene.people):
            continue
        area = _free_area(scene, _spot(scene, flag, scene.people[flag.person]), radius)
        draw_sign(scene.canvas, area.centre_px, radius, flag.severity)
        scene.taken.append(area)
        _ask_label(scene, flag, area.centre_px)


def draw_sign(canvas: Canvas, centre: PointPx, radius_px: float, severity: Severity) -> None:
    """A triangle for high, a diamond for medium, a disc for low, with a stroke inside."""
    corners = _CORNERS[severity]
    points = [
        (
            centre[0] + radius_px * math.sin(turn * math.tau / corners),
            centre[1] - radius_px * math.cos(turn * math.tau / corners),
        )
        for turn in range(corners)
    ]
    canvas.polygon(points, WARNING, INK)
    top, foot = centre[1] - 0.42 * radius_px, centre[1] + 0.1 * radius_px
    width = radius_px / 5 / canvas.line_px
    canvas.line([(centre[0], top), (centre[0], foot)], INK, lines=width, halo=False)
    canvas.disc((centre[0], centre[1] + 0.32 * radius_px), radius_px / 8, INK, None)


def _free_area(scene: Scene, spot: PointPx, radius_px: float) -> Box:
    """The sign's area at the spot, moved towards the middle until it covers no other sign."""
    x, y = spot
    step = 2.2 * radius_px * (1 if x < scene.picture.centre_px[0] else -1)
    for number in range(8):
        area = Box(
            x_px=x - radius_px + number * step,
            y_px=y - radius_px,
            w_px=2 * radius_px,
            h_px=2 * radius_px,
        )
        if scene.is_free(area):
            return area
    return Box(x_px=x - radius_px, y_px=y - radius_px, w_px=2 * radius_px, h_px=2 * radius_px)


def _ask_label(scene: Scene, flag: Flag, spot: PointPx) -> None:
    whose = f" of person {flag.person}" if flag.person else ""
    scene.labels.append(
        Label(
            words=f"{flag.part}{whose}",
            anchor=spot,
            towards=(1.0, 0.0) if spot[0] < scene.picture.centre_px[0] else (-1.0, 0.0),
            colour=WARNING,
            rank=1 if flag.severity is Severity.HIGH else 3,
            needed=flag.severity is Severity.HIGH,
            clear_px=scene.sizes.text_px * _RADIUS_SHARE,
        )
    )


def _spot(scene: Scene, flag: Flag, person: PersonFraming) -> PointPx:
    """The point of the edge nearest to the flagged part, a little inside."""
    lift = scene.sizes.text_px * _LIFT_SHARE
    picture = scene.picture
    room = Box(
        x_px=picture.x_px + lift,
        y_px=picture.y_px + lift,
        w_px=max(0.0, picture.w_px - 2 * lift),
        h_px=max(0.0, picture.h_px - 2 * lift),
    )
    x, y = _part_point(scene, flag, person)
    if flag.edge is Edge.BOTTOM:
        y = room.bottom_px
    elif flag.edge is Edge.TOP:
        y = room.y_px
    else:
        x = room.x_px if flag.edge is Edge.LEFT else room.right_px
    return (
        min(max(x, room.x_px), room.right_px),
        min(max(y, room.y_px), room.bottom_px),
    )


def _part_point(scene: Scene, flag: Flag, person: PersonFraming) -> PointPx:
    joints = [joint for joint in person.joints if joint.part == flag.part]
    if joints:
        edge_px = edge_position_px(scene.result.measurement.picture, flag.edge)
        upright = flag.edge in {Edge.TOP, Edge.BOTTOM}
        nearest = min(
            joints, key=lambda joint: abs((joint.y_px if upright else joint.x_px) - edge_px)
        )
        return scene.point((nearest.x_px, nearest.y_px))
    if flag.part in MARK_LEVELS and person.ruler is not None:
        return scene.level(person, MARK_LEVELS[flag.part])
    return scene.point(person.nose_px)
