"""The people: thin skeletons, and a numbered bracket round everybody but the main subject."""

from __future__ import annotations

from framecheck.records.framing import PersonFraming
from framecheck.records.values import Box, PointPx
from framecheck.report.palette import FAINT, PAPER
from framecheck.report.scene import Label, Scene


def draw_people(scene: Scene) -> None:
    """Draw every skeleton, the main subject's last and strongest."""
    for person in reversed(scene.people):
        _draw_skeleton(scene, person)
        if person.person != 0:
            _draw_brackets(scene, scene.box(person.box))
            _ask_label(scene, person)


def _draw_skeleton(scene: Scene, person: PersonFraming) -> None:
    main = person.person == 0
    for start, end in person.skeleton_px:
        scene.canvas.line(
            [scene.point(start), scene.point(end)],
            PAPER if main else FAINT,
            lines=0.55 if main else 0.4,
        )


def _draw_brackets(scene: Scene, box: Box) -> None:
    arm_px = min(0.18 * min(box.w_px, box.h_px), 2.5 * scene.sizes.text_px)
    for x, inward_x in ((box.x_px, arm_px), (box.right_px, -arm_px)):
        for y, inward_y in ((box.y_px, arm_px), (box.bottom_px, -arm_px)):
            corner: list[PointPx] = [(x + inward_x, y), (x, y), (x, y + inward_y)]
            scene.canvas.line(corner, FAINT, lines=0.7)


def _ask_label(scene: Scene, person: PersonFraming) -> None:
    box = scene.box(person.box)
    scene.labels.append(
        Label(
            words=f"person {person.person} · {person.role.value}",
            anchor=(box.centre_px[0], max(box.y_px, scene.picture.y_px)),
            towards=(0.0, -1.0),
            rank=7,
            leader=False,
        )
    )
