"""Bodies, faces and fake networks for the pose stage, drawn so that the answers are known."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from framecheck.pose.views import View
from framecheck.records.picture import Picture
from framecheck.records.seen import BodySeen, FaceSeen, MaskSeen
from framecheck.records.values import Box
from tests.measure.figures import a_body as a_figure
from tests.measure.figures import drawn_mask

PICTURE = Box(x_px=0, y_px=0, w_px=960, h_px=720)


def a_picture() -> Picture:
    return Picture(rgb=np.zeros((720, 960, 3), np.uint8), active=PICTURE)


def a_body(
    x_px: float = 480.0,
    *,
    crown_y_px: float = 100.0,
    stature_px: float = 500.0,
    presence: float = 0.95,
    found_by: str = "a test",
    upside_down: bool = False,
    mask: MaskSeen | None = None,
) -> BodySeen:
    """An upright figure, its crown at a place."""
    body = a_figure(
        crown_px=(x_px, crown_y_px), stature_px=stature_px, picture=PICTURE, mask=mask,
        found_by=found_by,
    )  # fmt: skip
    joints_px = np.array(body.joints_px)
    if upside_down:
        joints_px[:, 1] = 2 * crown_y_px + stature_px - joints_px[:, 1]
    return BodySeen(
        joints_px=joints_px, joints_m=body.joints_m, presence=np.full(33, presence),
        mask=body.mask, score=body.score, found_by=found_by,
    )  # fmt: skip


def a_face(
    x_px: float = 480.0,
    y_px: float = 140.0,
    *,
    side_px: float = 60.0,
    score: float = 0.9,
    meshed: bool = True,
    found_by: str = "near-face detector",
) -> FaceSeen:
    """A face around a place; a figure of 500 px with its crown at y = 100 has its face at 140."""
    return FaceSeen(
        box=Box(x_px=x_px - side_px / 2, y_px=y_px - side_px / 2, w_px=side_px, h_px=side_px),
        score=score,
        points_px=np.full((468, 3), [x_px, y_px, 0.0]) if meshed else np.zeros((0, 3)),
        keypoints_px=np.zeros((0, 2)),
        found_by=found_by,
    )


def anybody(*boxes: Box) -> MaskSeen:
    return drawn_mask(PICTURE, boxes)


def nothing(*_: object) -> tuple[()]:
    return ()


class FakeNetworks:
    """Answers as told, and writes down what it was asked, in order.

    Each answer is a function of the view and of the pass; without one nothing is found.
    """

    def __init__(
        self,
        *,
        bodies: Callable[[View, str], tuple[BodySeen, ...]] = nothing,
        mirrored: Callable[[View, str], tuple[BodySeen, ...]] = nothing,
        faces: tuple[FaceSeen, ...] = (),
        meshes: Callable[[View, str], tuple[FaceSeen, ...]] = nothing,
        people_mask: MaskSeen | None = None,
    ) -> None:
        self._bodies, self._mirrored, self._meshes = bodies, mirrored, meshes
        self._faces = faces
        self._mask = people_mask or anybody()
        self.asked: list[str] = []
        self.boxes: dict[str, list[Box]] = {}

    def _note(self, what: str, view: View) -> None:
        self.asked.append(what)
        self.boxes.setdefault(what, []).append(view.box)

    def find_bodies(self, view: View, found_by: str) -> tuple[BodySeen, ...]:
        self._note(f"bodies in {found_by}", view)
        return self._bodies(view, found_by)

    def find_bodies_mirrored(self, view: View, found_by: str) -> tuple[BodySeen, ...]:
        self._note(f"bodies in {found_by}", view)
        return self._mirrored(view, found_by)

    def find_faces(self, view: View) -> tuple[FaceSeen, ...]:
        self._note("faces", view)
        return self._faces

    def find_meshes(self, view: View, found_by: str) -> tuple[FaceSeen, ...]:
        self._note(f"meshes by {found_by}", view)
        return self._meshes(view, found_by)

    def find_anybody(self, view: View, *, opinions: int | None = None) -> MaskSeen:
        self._note("anybody", view)
        if opinions is not None:  # an unfolded strip, in which these stand-ins show nobody
            return MaskSeen(inside=np.zeros(view.rgb.shape[:2]), box=view.box)
        return self._mask
