"""See the people in a picture: cheap passes first, further passes only where the cues disagree."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from framecheck.pose.merge import (
    FACE_ON_BODY_DISTANCE,
    body_scale_px,
    face_fits_body,
    head_centre_px,
    is_same_body,
    merge_bodies,
    merge_faces,
    overlap,
    pair_people,
)
from framecheck.pose.networks import Networks
from framecheck.pose.views import View, cut_view
from framecheck.records.picture import Picture
from framecheck.records.seen import BodySeen, FaceSeen, PersonSeen
from framecheck.records.values import Box


class Estimator(Protocol):
    """Anything that sees people in a picture."""

    def see(self, picture: Picture) -> tuple[PersonSeen, ...]:
        """All people found, in no particular order."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class PassSettings:
    """How hard the estimator looks.

    Attributes:
        whole_px: longer side of the whole picture for the first pass.
        cutout_px: longer side of a cut-out for a further pass.
        face_score: least score of a face that may stand alone.
        tiles: look through overlapping tiles when the first passes found nobody.
    """

    whole_px: int = 960
    cutout_px: int = 640
    face_score: float = 0.5
    tiles: bool = True


class MediaPipeEstimator:
    """Sees people with the MediaPipe networks.

    Args:
        networks: loaded networks; the caller closes them.
        settings: how hard to look.
    """

    def __init__(self, networks: Networks, settings: PassSettings | None = None) -> None:
        self._networks = networks
        self._settings = settings or PassSettings()

    def see(self, picture: Picture) -> tuple[PersonSeen, ...]:
        """All people found in the active picture, in no particular order."""
        whole = self._view(picture, picture.active, self._settings.whole_px)
        bodies = merge_bodies(
            self._networks.find_bodies(whole, "the whole picture"), picture.active
        )
        faces = merge_faces(self._networks.find_faces(whole))
        faces = self._mesh_faces(picture, faces)
        bodies = self._bodies_for_faces(picture, bodies, faces)
        if not bodies and self._settings.tiles:
            bodies = self._bodies_in_tiles(picture)
        faces = self._faces_for_bodies(picture, bodies, faces)
        return pair_people(bodies, faces)

    def _view(self, picture: Picture, box: Box, longest_px: int) -> View:
        return cut_view(picture.rgb, picture.active, box, longest_px)

    def _mesh_faces(self, picture: Picture, faces: Sequence[FaceSeen]) -> tuple[FaceSeen, ...]:
        meshed = (self._mesh_face(picture, face) for face in faces)
        return tuple(face for face in meshed if face is not None)

    def _mesh_face(self, picture: Picture, face: FaceSeen) -> FaceSeen | None:
        """The face with its mesh; the bare face when it is sure; None when it is neither."""
        side_px = 2.0 * max(face.box.w_px, face.box.h_px)
        view = self._view(picture, _square_around(face.box, side_px), 384)
        found = self._networks.find_meshes(view, face.found_by)
        fitting = [mesh for mesh in found if overlap(mesh.box, face.box) > 0.25]
        if fitting:
            best = max(fitting, key=lambda mesh: overlap(mesh.box, face.box))
            return FaceSeen(
                box=best.box, score=face.score, points_px=best.points_px,
                keypoints_px=face.keypoints_px, found_by=face.found_by,
            )  # fmt: skip
        return face if face.score >= self._settings.face_score else None

    def _bodies_for_faces(
        self, picture: Picture, bodies: tuple[BodySeen, ...], faces: Sequence[FaceSeen]
    ) -> tuple[BodySeen, ...]:
        for face in faces:
            if any(face_fits_body(face, body) < FACE_ON_BODY_DISTANCE for body in bodies):
                continue
            view = self._view(picture, _body_window(face.box), self._settings.cutout_px)
            found = self._networks.find_bodies(view, "a cut-out around a face")
            fitting = [b for b in found if face_fits_body(face, b) < FACE_ON_BODY_DISTANCE]
            bodies = _with_new(bodies, fitting[:1], picture.active)
        return bodies

    def _bodies_in_tiles(self, picture: Picture) -> tuple[BodySeen, ...]:
        bodies: tuple[BodySeen, ...] = ()
        for box in _tiles(picture.active):
            view = self._view(picture, box, self._settings.cutout_px)
            bodies = _with_new(bodies, self._networks.find_bodies(view, "a tile"), picture.active)
        return bodies

    def _faces_for_bodies(
        self, picture: Picture, bodies: Sequence[BodySeen], faces: tuple[FaceSeen, ...]
    ) -> tuple[FaceSeen, ...]:
        for body in bodies:
            if any(face_fits_body(face, body) < FACE_ON_BODY_DISTANCE for face in faces):
                continue
            x_px, y_px = head_centre_px(body)
            side_px = 1.6 * body_scale_px(body)
            box = _square_around(Box(x_px=x_px, y_px=y_px, w_px=0, h_px=0), side_px)
            if not overlap(box, picture.active):
                continue
            view = self._view(picture, box, 384)
            fitting = [
                face
                for face in self._networks.find_meshes(view, "a cut-out around a head")
                if face_fits_body(face, body) < FACE_ON_BODY_DISTANCE
            ]
            faces = (*faces, *fitting[:1])
        return faces


def _with_new(
    bodies: tuple[BodySeen, ...], found: Sequence[BodySeen], within: Box
) -> tuple[BodySeen, ...]:
    new = [b for b in found if not any(is_same_body(b, other, within) for other in bodies)]
    return (*bodies, *new)


def _square_around(box: Box, side_px: float) -> Box:
    x_px, y_px = box.centre_px
    return Box(x_px=x_px - side_px / 2, y_px=y_px - side_px / 2, w_px=side_px, h_px=side_px)


def _body_window(face: Box) -> Box:
    """Room for a whole standing body around a face: about 8 faces high and 7 wide."""
    side_px = max(face.w_px, face.h_px)
    x_px, y_px = face.centre_px
    return Box(
        x_px=x_px - 3.5 * side_px, y_px=y_px - 1.8 * side_px, w_px=7 * side_px, h_px=8 * side_px
    )


def _tiles(active: Box) -> list[Box]:
    """Overlapping square tiles at two scales: about the picture height, and half of it."""
    boxes = []
    for divisor in (1.0, 2.0):
        side_px = min(active.w_px, active.h_px) / divisor
        columns = max(1, math.ceil((active.w_px / side_px - 1) / 0.5) + 1)
        rows = max(1, math.ceil((active.h_px / side_px - 1) / 0.5) + 1)
        for row in range(rows):
            for column in range(columns):
                x_px = active.x_px + _share(column, columns) * (active.w_px - side_px)
                y_px = active.y_px + _share(row, rows) * (active.h_px - side_px)
                boxes.append(Box(x_px=x_px, y_px=y_px, w_px=side_px, h_px=side_px))
    return boxes


def _share(index: int, count: int) -> float:
    return 0.0 if count == 1 else index / (count - 1)
