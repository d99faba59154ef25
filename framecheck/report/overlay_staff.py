"""The body ruler laid along the main subject, like a surveyor's staff with named ticks."""

from __future__ import annotations

import math
from itertools import pairwise

from framecheck.records.framing import BodyRuler, PersonFraming, RulerMark
from framecheck.records.values import Box, NotMeasured, PointPx
from framecheck.report.canvas import text_size_px
from framecheck.report.palette import INK, STAFF
from framecheck.report.placement import stack_heights
from framecheck.report.scene import Scene

# When there is no room for all names, the last of these go first. The eyes have a line of their
# own with a label, and need no second one.
_NAMED = ("hip", "knee", "crown", "shoulder", "chin", "ankle", "sole")

# How far a standing body reaches sideways from its ruler at a mark, in fractions of stature
# (arms hanging), so that names stand beside the body and not on it.
_REACH = {"crown": 0.06, "chin": 0.06, "shoulder": 0.15, "hip": 0.17, "knee": 0.11}
_REACH_ELSEWHERE = 0.09


def draw_staff(scene: Scene) -> None:
    """Draw the main subject's ruler: solid where it was seen, dashed where it was inferred."""
    if not scene.people or scene.people[0].ruler is None:
        return
    ruler = scene.people[0].ruler
    for upper, lower in pairwise(ruler.marks):
        _draw_segment(scene, upper, lower)
    for index in range(len(ruler.marks)):
        _draw_tick(scene, ruler.marks, index)


def name_marks(scene: Scene) -> None:
    """Write the names of the marks in a column beside the body, in order, none over another."""
    if not scene.people or scene.people[0].ruler is None:
        return
    subject, ruler = scene.people[0], scene.people[0].ruler
    side = _freer_side(scene, subject)
    height = text_size_px("x", scene.sizes.text_px)[1] + scene.pad_px
    marks = _nameable(scene, ruler, height)
    tops = stack_heights(
        [scene.mark(mark)[1] - height / 2 for mark in marks],
        height * 1.06,
        (scene.label_room.y_px, scene.label_room.bottom_px),
    )
    for mark, top in zip(marks, tops, strict=True):
        _name_mark(scene, ruler, mark, (side, top))


def _draw_segment(scene: Scene, upper: RulerMark, lower: RulerMark) -> None:
    on_head = lower.level >= 0.86  # thin over the face
    scene.canvas.line(
        [scene.mark(upper), scene.mark(lower)],
        STAFF,
        lines=0.8 if on_head else 1.6,
        dash_lines=0.0 if upper.seen and lower.seen else 4.0,
    )


def _draw_tick(scene: Scene, marks: tuple[RulerMark, ...], index: int) -> None:
    x, y = scene.mark(marks[index])
    along = _direction(
        scene.mark(marks[max(0, index - 1)]),
        scene.mark(marks[min(len(marks) - 1, index + 1)]),
    )
    half_px = scene.sizes.text_px * 0.5
    across = (-along[1] * half_px, along[0] * half_px)
    ends = [(x - across[0], y - across[1]), (x + across[0], y + across[1])]
    scene.canvas.line(ends, STAFF, lines=1.3)
    if not marks[index].seen:  # a hollow bead: the mark was not seen
        scene.canvas.disc((x, y), scene.sizes.line_px * 1.8, INK, STAFF)


def _nameable(scene: Scene, ruler: BodyRuler, height: float) -> list[RulerMark]:
    """The marks inside the picture, as many as fit beside the figure, from the top down."""
    inside = [mark for mark in ruler.marks if scene.shows(scene.mark(mark)) and mark.name in _NAMED]
    span = max((scene.mark(mark)[1] for mark in inside), default=0.0) - min(
        (scene.mark(mark)[1] for mark in inside), default=0.0
    )
    room = int(span / height * 1.15) + 1
    kept = sorted(inside, key=lambda mark: _NAMED.index(mark.name))[:room]
    return sorted(kept, key=lambda mark: scene.mark(mark)[1])


def _name_mark(scene: Scene, ruler: BodyRuler, mark: RulerMark, place: tuple[float, float]) -> None:
    side, top = place
    x, y = scene.mark(mark)
    width, height = text_size_px(mark.name, scene.sizes.text_px)
    width, height = width + 2 * scene.pad_px, height + scene.pad_px
    reach = _REACH.get(mark.name, _REACH_ELSEWHERE) * ruler.figure_px * scene.scale
    room = scene.label_room
    near = x + side * (reach + scene.sizes.gap_px)
    left = near if side > 0 else near - width
    left = min(max(left, room.x_px), max(room.x_px, room.right_px - width))
    box = Box(x_px=left, y_px=top, w_px=width, h_px=height)
    if scene.is_free(box):
        foot = (box.x_px if side > 0 else box.right_px, top + height / 2)
        scene.leaders.append(((x + side * scene.sizes.text_px * 0.5, y), foot, STAFF))
        scene.put_text(box, mark.name, STAFF)


def _freer_side(scene: Scene, subject: PersonFraming) -> float:
    """1.0 when the names go to the right of the body, -1.0 for the left: away from the look."""
    yaw = subject.head_yaw_deg
    if not isinstance(yaw, NotMeasured) and 15 < abs(yaw) < 165:
        return -1.0 if yaw > 0 else 1.0
    box, picture = scene.box(subject.box), scene.picture
    return 1.0 if picture.right_px - box.right_px >= box.x_px - picture.x_px else -1.0


def _direction(start: PointPx, end: PointPx) -> PointPx:
    length = math.dist(start, end) or 1.0
    return ((end[0] - start[0]) / length, (end[1] - start[1]) / length)
