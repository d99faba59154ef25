"""The passes: what the MediaPipe networks are asked, and where in the picture."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from framecheck.geometry.boxes import holds
from framecheck.pose.heads import window_under
from framecheck.pose.leftovers import explains, find_leftovers, mask_box, paint_out
from framecheck.pose.merge import (
    body_scale_px,
    head_centre_px,
    is_face_of,
    is_same_body,
    merge_bodies,
    overlap,
)
from framecheck.pose.networks import Networks
from framecheck.pose.scout import HeadHint
from framecheck.pose.screen import is_believed, mask_share, presence_inside
from framecheck.pose.views import View, cut_view
from framecheck.pose.windows import (
    grown,
    padded,
    square_around,
    square_tiles,
    window_around_face,
)
from framecheck.records.picture import Picture
from framecheck.records.seen import BodySeen, FaceSeen, MaskSeen, PersonSeen
from framecheck.records.values import Box

AT_HEAD = "a cut-out around a head that the scout saw"
HEADS_HIGH = (8.5, 4.0)
"""Heights of the cut-outs around such a head, in heads: a whole figure, then a near one."""

LEFTOVER = "a cut-out around a leftover of the mask"
TILE = "a tile"
"""The pass that looks where no cue points, and so sees patterns as people at times."""

REGION_GROWTH = (0.15, 0.3)
"""Surroundings of a cut-out around people, over its longer side."""

NEAR_FRAC = 0.15
"""Share of the picture covered by people up to which tiles help, and borders from there on: so it
was on tuning scenes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PassSettings:
    """How hard the estimator looks.

    Attributes:
        whole_px: longer side of the whole picture for the first pass.
        cutout_px: longer side of a cut-out for a further pass.
        face_px: longer side of a cut-out for the face mesh.
        mask_px: longer side of the picture for the people mask.
        sure_score: least score of a face that stands without a mesh.
        alone_frac: least height over the picture height of a face that stands without a body.
        leftover_frac: least area over the picture's of a leftover that is looked into.
        large_leftover_frac: the same where the scout sees no head.
        small_frac: a body smaller than this over the picture height is looked at again in a
            cut-out, where the networks see more of it.
        sure_presence: mean belief in the joints from which a small or hinted body needs no second
            finding.
        fair_presence: the same under which harder passes follow, when no face was found.
        alone_presence: the same from which a body needs no support by the people mask.
        filling_frac: least area over the picture's of people that alone make a person, when no
            pass found one: the back of a head that fills the picture.
        filling_head, filling_head_frac: least belief in its head, and height of that over the
            picture's.
        whole_head, whole_head_frac: least belief in a head that is as high as this over the picture
            height, for a body to be put under it.
        sure_head: least belief in a head under which a closer look is worth its time.
        most_heads: most loose heads under which the pose network looks closer.
        small_head_frac: a head less high than this over the picture height is looked at closer.
        seen_head: least belief in a head that must be somebody's.
        tile_head: the same where the scout looks closer, or aslant, without a cue.
        put_somebody: least belief of the marks network in somebody under a seen head, for a body
            to be put there that the pose network does not find.
        doubtful_somebody: the same under a head that is hardly believed in, where nobody else is.
        lifted_somebody: least belief of the marks network in somebody who was found only after
            the picture's shadows were lifted.
        doubted_somebody, doubted_head: a body that the marks network believes in less than the
            first, and the scout in its head less than the second, is a statue, doll or picture.
        denied_somebody: a body that the marks network believes in less than this is one anyway.
        most_larger_head: a body without a face is misplaced when the scout sees its head so many
            times larger.
        most_off_head: or when its eyes lie near two heads, farther than this from either, in heads.
        faced_head_frac: height of a head over the picture height from which a face that looks to
            the lens is found as a rule.
        headless_somebody, headless_presence: least beliefs of the marks and of the pose network
            in a body without a face whose head the scout does not see.
        most_beyond: most people beyond a near back.
        region_frac: least area over the picture's of people around which a harder pass looks.
        explained_frac: share of the people mask that bodies must explain, or harder passes follow.
    """

    whole_px: int = 960
    cutout_px: int = 512
    face_px: int = 384
    mask_px: int = 384
    sure_score: float = 0.75
    alone_frac: float = 0.30
    leftover_frac: float = 0.004
    large_leftover_frac: float = 0.08
    small_frac: float = 0.30
    sure_presence: float = 0.60
    alone_presence: float = 0.80
    fair_presence: float = 0.50
    filling_frac: float = 0.15
    filling_head: float = 0.25
    filling_head_frac: float = 0.25
    whole_head: float = 0.20
    whole_head_frac: float = 0.80
    explained_frac: float = 0.5
    region_frac: float = 0.02
    sure_head: float = 0.5
    most_heads: int = 3
    small_head_frac: float = 0.045
    seen_head: float = 0.40
    put_somebody: float = 0.8
    doubtful_somebody: float = 0.97
    lifted_somebody: float = 0.95
    tile_head: float = 0.45
    doubted_somebody: float = 0.35
    doubted_head: float = 0.60
    denied_somebody: float = 0.12
    most_larger_head: float = 1.7
    most_off_head: float = 0.45
    faced_head_frac: float = 0.10
    headless_somebody: float = 0.70
    headless_presence: float = 0.53
    most_beyond: int = 2


class Passes:
    """Asks the MediaPipe networks about parts of a picture.

    Args:
        networks: loaded networks; the caller closes them.
        settings: how hard to look.
    """

    def __init__(self, networks: Networks, settings: PassSettings) -> None:
        self._networks = networks
        self._settings = settings

    def view(self, picture: Picture, box: Box, longest_px: int) -> View:
        """The part of the active picture that a box shows."""
        return cut_view(picture.rgb, picture.active, box, longest_px)

    def mesh_faces(self, picture: Picture, faces: Sequence[FaceSeen]) -> tuple[FaceSeen, ...]:
        """Faces with their meshes; bare ones where they are sure, each face once."""
        meshed = [self._mesh_face(picture, face) for face in faces]
        found = sorted(
            (face for face in meshed if face is not None), key=lambda f: not len(f.points_px)
        )
        kept: list[FaceSeen] = []
        for face in found:
            if not any(_is_same_face(face, other) for other in kept):
                kept.append(face)
        return tuple(kept)

    def _mesh_face(self, picture: Picture, face: FaceSeen) -> FaceSeen | None:
        """The face with its mesh; the bare face when it is sure; None when it is neither."""
        side_px = 2.0 * max(face.box.w_px, face.box.h_px)
        view = self.view(picture, square_around(face.box, side_px), self._settings.face_px)
        found = self._networks.find_meshes(view, face.found_by)
        fitting = [mesh for mesh in found if overlap(mesh.box, face.box) > 0.25]
        if fitting:
            best = max(fitting, key=lambda mesh: overlap(mesh.box, face.box))
            return FaceSeen(
                box=best.box, score=face.score, points_px=best.points_px,
                keypoints_px=face.keypoints_px, found_by=face.found_by,
            )  # fmt: skip
        return face if face.score >= self._settings.sure_score else None

    def bodies_for_faces(
        self, picture: Picture, bodies: tuple[BodySeen, ...], faces: Sequence[FaceSeen]
    ) -> tuple[BodySeen, ...]:
        """The bodies, and those that cut-outs around faces without one show."""
        for face in faces:
            if any(is_face_of(face, body) for body in bodies):
                continue
            view = self.view(picture, window_around_face(face.box), self._settings.cutout_px)
            found = self._networks.find_bodies(view, "a cut-out around a face")
            fitting = [body for body in found if is_face_of(face, body)]
            bodies = merge_bodies(fitting[:1], picture.active, known=bodies)
        return bodies

    def bodies_for_leftovers(
        self, picture: Picture, anybody: MaskSeen, bodies: tuple[BodySeen, ...],
        faces: Sequence[FaceSeen], heads: Sequence[HeadHint] | None,
    ) -> tuple[BodySeen, ...]:  # fmt: skip
        """Bodies found where the people mask has leftovers, large ones or with a head in them."""
        every = find_leftovers(anybody, bodies, faces, self._settings.leftover_frac)
        leftovers = [
            leftover for leftover in every
            if heads is None or leftover.area_frac >= self._settings.large_leftover_frac
            or any(holds(leftover.box, head.centre_px) for head in heads)
        ]  # fmt: skip
        for leftover in leftovers[:3]:
            cutout = self.view(picture, grown(leftover.box, 0.25), self._settings.cutout_px)
            cutout = paint_out(cutout, bodies, faces)
            found = self._networks.find_bodies(cutout, LEFTOVER)
            fitting = [
                body
                for body in found
                if explains(body, leftover)
                or presence_inside(body, picture.active) >= self._settings.alone_presence
            ]
            bodies = merge_bodies(fitting[:1], picture.active, known=bodies)
        return bodies

    def second_looks(
        self, picture: Picture, bodies: Sequence[BodySeen], faces: Sequence[FaceSeen]
    ) -> tuple[BodySeen, ...]:
        """Small and doubtful bodies looked at again, closer; the doubtful must be found again."""
        kept = []
        for body in bodies:
            box = mask_box(body)
            small = box is None or box.h_px < self._settings.small_frac * picture.active.h_px
            with_face = any(is_face_of(face, body) for face in faces)
            hinted = small or body.found_by == LEFTOVER
            weak = hinted and presence_inside(body, picture.active) < self._settings.sure_presence
            doubtful = not with_face and (body.found_by == TILE or weak)
            if box is None or not (small or doubtful):
                kept.append(body)
                continue
            again = self._look_closer(picture, body, box)
            if again is not None or not doubtful:
                kept.append(again or body)
        return tuple(kept)

    def _look_closer(self, picture: Picture, body: BodySeen, box: Box) -> BodySeen | None:
        side_px = 1.5 * max(box.w_px, box.h_px)
        view = self.view(picture, square_around(box, side_px), self._settings.cutout_px)
        for again in self._networks.find_bodies(view, f"{body.found_by}, then a closer look"):
            if is_same_body(again, body, picture.active) and is_believed(
                PersonSeen(body=again), picture.active
            ):
                return again
        return None

    def faces_for_bodies(
        self, picture: Picture, bodies: Sequence[BodySeen], faces: tuple[FaceSeen, ...]
    ) -> tuple[FaceSeen, ...]:
        """The faces, and those that closer looks at the heads of bodies without one show."""
        for body in bodies:
            if any(is_face_of(face, body) for face in faces):
                continue
            x_px, y_px = head_centre_px(body)
            side_px = 1.6 * body_scale_px(body)
            box = square_around(Box(x_px=x_px, y_px=y_px, w_px=0, h_px=0), side_px)
            if not overlap(box, picture.active):
                continue
            view = self.view(picture, box, self._settings.face_px)
            fitting = [
                face
                for face in self._networks.find_meshes(view, "a cut-out around a head")
                if is_face_of(face, body)
            ]
            faces = (*faces, *fitting[:1])
        return faces

    def harder_passes(
        self, picture: Picture, whole: View, anybody: MaskSeen, *, tiles: bool
    ) -> Iterator[tuple[BodySeen, ...]]:
        """What each harder pass sees: around the people mask, mirrored, then tiles or borders.

        A pass is made only when its turn comes. Tiles help where people are small and no scout
        looks for them, borders where the picture is full of people.
        """
        active, networks, cutout_px = picture.active, self._networks, self._settings.cutout_px
        for region in find_leftovers(anybody, (), (), self._settings.region_frac)[:1]:
            tight, loose = (grown(region.box, grow) for grow in REGION_GROWTH)
            view = self.view(picture, tight, cutout_px)
            yield networks.find_bodies_mirrored(view, "a cut-out around people, mirrored")
            yield networks.find_bodies(view, "a cut-out around people")
            view = self.view(picture, loose, cutout_px)
            yield networks.find_bodies(view, "a wider cut-out around people")
        yield networks.find_bodies_mirrored(whole, "the picture mirrored")
        if mask_share(anybody) <= NEAR_FRAC:
            if tiles:
                yield self._bodies_in_tiles(picture)
            return
        view = self.view(picture, padded(active, 0.6, 0.6), cutout_px)
        yield networks.find_bodies(view, "the picture with a border")
        view = self.view(picture, padded(active, 0.5, 0.1), cutout_px)
        yield networks.find_bodies(view, "the picture with a border on top")

    def _bodies_in_tiles(self, picture: Picture) -> tuple[BodySeen, ...]:
        bodies: tuple[BodySeen, ...] = ()
        for box in square_tiles(picture.active):
            view = self.view(picture, box, self._settings.cutout_px)
            found = [
                body
                for body in self._networks.find_bodies(view, TILE)
                if is_believed(PersonSeen(body=body), picture.active)
            ]
            bodies = merge_bodies(found, picture.active, known=bodies)
        return bodies

    def bodies_under(self, picture: Picture, head: HeadHint) -> Iterator[BodySeen]:
        """The bodies in cut-outs around a head, a whole figure first, then a near one."""
        for heads_high in HEADS_HIGH:
            view = self.view(picture, window_under(head, heads_high), self._settings.cutout_px)
            yield from self._networks.find_bodies(view, AT_HEAD)


def _is_same_face(face: FaceSeen, other: FaceSeen) -> bool:
    """True when the face repeats a better one: they overlap, or one sits inside the other."""
    if overlap(face.box, other.box) > 0.3:
        return True
    x_px, y_px = other.box.centre_px
    holds = face.box.x_px < x_px < face.box.right_px and face.box.y_px < y_px < face.box.bottom_px
    return holds and not len(face.points_px)
