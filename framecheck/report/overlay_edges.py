"""The edges: the outline of the active picture, and a bar wherever an edge cuts the subject."""

from __future__ import annotations

from framecheck.records.framing import PersonFraming
from framecheck.records.values import Measured, NotMeasured, PointPx, is_number
from framecheck.report.palette import FAINT, INK, PAPER, STAFF
from framecheck.report.scene import Label, Scene
from framecheck.report.words import cut_words, level_place, size_words

_BAR_LINES = 4.0


def draw_active_picture(scene: Scene) -> None:
    """Outline the active picture where the file has black bars."""
    measurement, picture = scene.result.measurement, scene.picture
    whole = (measurement.width_px * scene.scale, measurement.height_px * scene.scale)
    if picture.w_px >= whole[0] - 1 and picture.h_px >= whole[1] - 1:
        return
    corners = [
        (picture.x_px, picture.y_px),
        (picture.right_px, picture.y_px),
        (picture.right_px, picture.bottom_px),
        (picture.x_px, picture.bottom_px),
        (picture.x_px, picture.y_px),
    ]
    scene.canvas.line(corners, INK, lines=1.6, halo=False)
    scene.canvas.line(corners, PAPER, lines=0.7, dash_lines=5.0, halo=False)


def draw_cuts(scene: Scene) -> None:
    """Draw the bars of the main subject's cuts, strong, and the others' bottom cuts, faint."""
    for person in scene.people[1:]:
        if _is_cut(person.crop_level):
            _draw_bar(scene, _bottom_span(scene, person), strong=False)
    if scene.people:
        subject = scene.people[0]
        _draw_bottom_cut(scene, subject)
        _draw_top_cut(scene, subject)
        _draw_side_cuts(scene, subject)


def _draw_bottom_cut(scene: Scene, subject: PersonFraming) -> None:
    if not is_number(subject.crop_level):
        return
    start, end = _bottom_span(scene, subject)
    words = cut_words(subject.crop_level)
    if _is_cut(subject.crop_level):
        _draw_bar(scene, (start, end), strong=True)
    else:
        _draw_floor(scene, subject, start[1])
    scene.labels.append(
        Label(
            words=f"{words} · {size_words(scene.result.judgement)}",
            anchor=((start[0] + end[0]) / 2, start[1]),
            towards=(0.0, -1.0),
            colour=STAFF,
            rank=0,
            needed=True,
        )
    )


def _draw_floor(scene: Scene, subject: PersonFraming, edge_y: float) -> None:
    """A thin line from the lowest mark down to the edge that the feet are clear of."""
    if subject.ruler is not None:
        lowest = max(map(scene.mark, subject.ruler.marks), key=lambda point: point[1])
        if scene.shows(lowest):
            scene.canvas.line([lowest, (lowest[0], edge_y)], STAFF, lines=0.5, dash_lines=2.0)


def _draw_top_cut(scene: Scene, subject: PersonFraming) -> None:
    level = subject.top_level
    if isinstance(level, NotMeasured) or level >= 1.0:
        return
    head, y = scene.head(subject), scene.picture.y_px + _half_bar_px(scene)
    _draw_bar(scene, ((head.x_px, y), (head.right_px, y)), strong=True)
    scene.labels.append(
        Label(
            words=f"top cuts {level:.2f} {level_place(level)}",
            anchor=(head.centre_px[0], y),
            towards=(0.0, 1.0),
            colour=STAFF,
            rank=2,
            needed=True,
            leader=False,
        )
    )


def _draw_side_cuts(scene: Scene, subject: PersonFraming) -> None:
    sides = (
        (subject.left_cut, scene.picture.x_px + _half_bar_px(scene), 1.0),
        (subject.right_cut, scene.picture.right_px - _half_bar_px(scene), -1.0),
    )
    for level, x, inward in sides:
        if isinstance(level, NotMeasured):
            continue
        top = (x, _clamped_y(scene, scene.level(subject, level)[1]))
        _draw_bar(
            scene, (top, (x, _clamped_y(scene, scene.box(subject.box).bottom_px))), strong=True
        )
        scene.labels.append(
            Label(
                words=f"side cuts {level:.2f} {level_place(level)}",
                anchor=top,
                towards=(inward, 0.0),
                colour=STAFF,
                rank=4,
            )
        )


def _draw_bar(scene: Scene, span: tuple[PointPx, PointPx], *, strong: bool) -> None:
    if strong:
        scene.canvas.line(span, INK, lines=_BAR_LINES + 2.0, halo=False)
    scene.canvas.line(span, STAFF if strong else FAINT, lines=_BAR_LINES, halo=False)


def _bottom_span(scene: Scene, person: PersonFraming) -> tuple[PointPx, PointPx]:
    """Where the person meets the bottom edge, pulled in by half a bar so that all of it shows."""
    box, picture = scene.box(person.box), scene.picture
    y = picture.bottom_px - _half_bar_px(scene)
    left = min(max(box.x_px, picture.x_px), picture.right_px)
    right = max(min(box.right_px, picture.right_px), left)
    return ((left, y), (right, y))


def _half_bar_px(scene: Scene) -> float:
    return scene.sizes.line_px * _BAR_LINES / 2


def _clamped_y(scene: Scene, y: float) -> float:
    return min(max(y, scene.picture.y_px), scene.picture.bottom_px)


def _is_cut(level: Measured) -> bool:
    return not isinstance(level, NotMeasured) and 0.0 <= level <= 1.0
