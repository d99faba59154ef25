"""See the people in a picture: cheap passes first, further passes only where the cues disagree."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

from framecheck.pose.heads import (
    all_have_heads,
    is_head_of,
    window_under,
)
from framecheck.pose.leftovers import explains, find_leftovers, mask_box, paint_out
from framecheck.pose.marks import MarksNetwork
from framecheck.pose.merge import (
    body_scale_px,
    head_centre_px,
    is_face_of,
    is_same_body,
    merge_bodies,
    merge_faces,
    overlap,
    pair_people,
)
from framecheck.pose.networks import Networks
from framecheck.pose.own import packaged_weights
from framecheck.pose.scout import HeadHint, Scout, Sighting
from framecheck.pose.screen import (
    drop_blends,
    explained_share,
    is_believed,
    mask_share,
    mean_belief,
    presence_inside,
)
from framecheck.pose.views import View, cut_view, shrink_view
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
        face_px: longer side of a cut-out for the face mesh.
        mask_px: longer side of the picture for the people mask.
        sure_score: least score of a face that stands without a mesh.
        alone_frac: least height over the picture height of a face that stands without a body.
        leftover_frac: least area over the picture's of a leftover that is looked into.
        small_frac: a body smaller than this over the picture height is looked at again in a
            cut-out, where the networks see more of it.
        sure_presence: mean belief in the joints from which a small or hinted body needs no second
            finding.
        fair_presence: the same under which harder passes follow, when no face was found.
        alone_presence: the same from which a body needs no support by the people mask.
        filling_frac: least area over the picture's of people that alone make a person, when no
            pass found one: the back of a head that fills the picture.
        sure_head: least belief in a head under which a closer look is worth its time.
        most_heads: most loose heads that are looked at closer.
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
    small_frac: float = 0.30
    sure_presence: float = 0.60
    alone_presence: float = 0.80
    fair_presence: float = 0.50
    filling_frac: float = 0.15
    explained_frac: float = 0.5
    region_frac: float = 0.02
    sure_head: float = 0.5
    most_heads: int = 3
    most_beyond: int = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OwnNetworks:
    """The networks of this project, which look where those of MediaPipe are weak."""

    marks: MarksNetwork
    scout: Scout


def open_own_networks() -> OwnNetworks:
    """The packaged ones.

    Raises:
        ModelBroken: they would not load.
    """
    return OwnNetworks(
        marks=MarksNetwork(packaged_weights("marks.onnx")),
        scout=Scout(packaged_weights("scout.onnx")),
    )


class MediaPipeEstimator:
    """Sees people with the MediaPipe networks and the project's own.

    Args:
        networks: loaded networks; the caller closes them.
        settings: how hard to look.
        own: the project's own networks; without them no near backs are found, and marks follow
            from the joints.
    """

    def __init__(
        self,
        networks: Networks,
        settings: PassSettings | None = None,
        own: OwnNetworks | None = None,
    ) -> None:
        self._networks = networks
        self._settings = settings or PassSettings()
        self._own = own

    def see(self, picture: Picture) -> tuple[PersonSeen, ...]:
        """All people found in the active picture, in no particular order."""
        whole = self._view(picture, picture.active, self._settings.whole_px)
        bodies = merge_bodies(
            self._networks.find_bodies(whole, "the whole picture"), picture.active
        )
        faces = self._mesh_faces(picture, merge_faces(self._networks.find_faces(whole)))
        bodies = self._bodies_for_faces(picture, bodies, faces)
        small = shrink_view(whole, self._settings.mask_px)
        anybody = self._networks.find_anybody(small)
        bodies = self._bodies_for_leftovers(picture, anybody, bodies, faces)
        bodies = self._second_looks(picture, bodies, faces)
        faces = self._faces_for_bodies(picture, bodies, faces)
        people = self._believed(picture, anybody, bodies, faces)
        sighting = self._scouted(small, anybody, people)
        people = self._people_at_heads(picture, anybody, people, sighting.heads)
        agreed = all_have_heads(people, sighting.heads)
        if not agreed and self._is_doubtful(picture, anybody, people):
            people = self._rescue(picture, whole, anybody, people)
        kept = drop_blends(
            [p for p in people if self._may_stand(p, picture, sighting.heads)], picture.active
        )
        if not kept:
            return self._filling_person(anybody, sighting.heads)
        backs = self._near_backs(sighting, kept)
        return (*(self._with_marks(picture, person) for person in kept), *backs)

    def _with_marks(self, picture: Picture, person: PersonSeen) -> PersonSeen:
        if self._own is None:
            return person
        return replace(person, marks=self._own.marks.look(picture, person))

    def _scouted(self, small: View, anybody: MaskSeen, people: Sequence[PersonSeen]) -> Sighting:
        if self._own is None:
            return Sighting()
        bodies = [person.body for person in people if person.body is not None]
        faces = [person.face for person in people if person.face is not None]
        return self._own.scout.look(small, anybody, bodies, faces)

    def _near_backs(
        self, sighting: Sighting, people: Sequence[PersonSeen]
    ) -> tuple[PersonSeen, ...]:
        """The near back past which the picture looks, when it looks past one at few people."""
        if len(people) > self._settings.most_beyond:
            return ()
        bodies = [person.body for person in people if person.body is not None]
        backs = [b for b in sighting.backs if not any(explains(body, b) for body in bodies)]
        return tuple(PersonSeen(outline=back.mask) for back in backs[:1])

    def _people_at_heads(
        self, picture: Picture, anybody: MaskSeen, people: list[PersonSeen],
        heads: Sequence[HeadHint],
    ) -> list[PersonSeen]:  # fmt: skip
        """The people, and those whom a closer look finds at heads that belong to none of them."""
        sure = [head for head in heads if head.belief >= self._settings.sure_head]
        loose = [h for h in sure if not any(is_head_of(h, person) for person in people)]
        for head in loose[: self._settings.most_heads]:
            found = self._person_at_head(picture, anybody, people, head)
            people = people if found is None else [*people, found]
        return people

    def _person_at_head(
        self, picture: Picture, anybody: MaskSeen, people: Sequence[PersonSeen], head: HeadHint
    ) -> PersonSeen | None:
        known = tuple(person.body for person in people if person.body is not None)
        for heads_high in HEADS_HIGH:
            box = window_under(head, heads_high)
            view = self._view(picture, box, self._settings.cutout_px)
            for body in self._networks.find_bodies(view, AT_HEAD):
                faces = self._faces_for_bodies(picture, (body,), ())
                person = PersonSeen(body=body, face=faces[0] if faces else None)
                new = len(merge_bodies((body,), picture.active, known=known)) > len(known)
                if (
                    new
                    and is_head_of(head, person)
                    and is_believed(person, picture.active, anybody)
                ):
                    return person
        return None

    def _believed(
        self, picture: Picture, anybody: MaskSeen, bodies: Sequence[BodySeen],
        faces: Sequence[FaceSeen],
    ) -> list[PersonSeen]:  # fmt: skip
        people = pair_people(bodies, faces)
        return [person for person in people if is_believed(person, picture.active, anybody)]

    def _is_doubtful(
        self, picture: Picture, anybody: MaskSeen, people: Sequence[PersonSeen]
    ) -> bool:
        """True when no face was found, and the bodies explain little or are hardly believed."""
        if any(person.face is not None for person in people):
            return False
        share = explained_share(people, anybody, picture.active)
        belief = mean_belief(people, picture.active)
        return share < self._settings.explained_frac or belief < self._settings.fair_presence

    def _rescue(
        self, picture: Picture, whole: View, anybody: MaskSeen, people: list[PersonSeen]
    ) -> list[PersonSeen]:
        """The people of the harder pass that explains the people mask best, or the given ones."""
        best, best_worth = people, self._worth(picture, anybody, people)
        for seen in self._harder_passes(picture, whole, anybody):
            bodies = merge_bodies(seen, picture.active)
            if any(body.found_by == TILE for body in bodies):
                bodies = self._second_looks(picture, bodies, ())
            found = self._believed(
                picture, anybody, bodies, self._faces_for_bodies(picture, bodies, ())
            )
            worth = self._worth(picture, anybody, found)
            if worth > best_worth:
                best, best_worth = found, worth
            if not self._is_doubtful(picture, anybody, best):
                break
        return best

    def _worth(self, picture: Picture, anybody: MaskSeen, people: Sequence[PersonSeen]) -> float:
        share = explained_share(people, anybody, picture.active)
        return share * mean_belief(people, picture.active)

    def _harder_passes(
        self, picture: Picture, whole: View, anybody: MaskSeen
    ) -> Iterator[tuple[BodySeen, ...]]:
        """What each harder pass sees: around the people mask, mirrored, then tiles or borders.

        A pass is made only when its turn comes. Tiles help where people are small, borders where
        the picture is full of them.
        """
        active, networks, cutout_px = picture.active, self._networks, self._settings.cutout_px
        for region in find_leftovers(anybody, (), (), self._settings.region_frac)[:1]:
            tight, loose = (grown(region.box, grow) for grow in REGION_GROWTH)
            view = self._view(picture, tight, cutout_px)
            yield networks.find_bodies_mirrored(view, "a cut-out around people, mirrored")
            yield networks.find_bodies(view, "a cut-out around people")
            view = self._view(picture, loose, cutout_px)
            yield networks.find_bodies(view, "a wider cut-out around people")
        yield networks.find_bodies_mirrored(whole, "the picture mirrored")
        if mask_share(anybody) <= NEAR_FRAC:
            yield self._bodies_in_tiles(picture)
            return
        view = self._view(picture, padded(active, 0.6, 0.6), cutout_px)
        yield networks.find_bodies(view, "the picture with a border")
        view = self._view(picture, padded(active, 0.5, 0.1), cutout_px)
        yield networks.find_bodies(view, "the picture with a border on top")

    def _filling_person(
        self, anybody: MaskSeen, heads: Sequence[HeadHint]
    ) -> tuple[PersonSeen, ...]:
        filling = find_leftovers(anybody, (), (), self._settings.filling_frac)
        head_px = heads[0].centre_px if heads else None
        return tuple(PersonSeen(outline=found.mask, head_px=head_px) for found in filling[:1])

    def _view(self, picture: Picture, box: Box, longest_px: int) -> View:
        return cut_view(picture.rgb, picture.active, box, longest_px)

    def _may_stand(self, person: PersonSeen, picture: Picture, heads: Sequence[HeadHint]) -> bool:
        """False for a face without a body, too small to hide one, where the scout sees no head."""
        if person.body is not None or person.face is None:
            return True
        if any(is_head_of(head, person) for head in heads):
            return True
        large = person.face.box.h_px >= self._settings.alone_frac * picture.active.h_px
        return large and len(person.face.points_px) > 0

    def _mesh_faces(self, picture: Picture, faces: Sequence[FaceSeen]) -> tuple[FaceSeen, ...]:
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
        view = self._view(picture, square_around(face.box, side_px), self._settings.face_px)
        found = self._networks.find_meshes(view, face.found_by)
        fitting = [mesh for mesh in found if overlap(mesh.box, face.box) > 0.25]
        if fitting:
            best = max(fitting, key=lambda mesh: overlap(mesh.box, face.box))
            return FaceSeen(
                box=best.box, score=face.score, points_px=best.points_px,
                keypoints_px=face.keypoints_px, found_by=face.found_by,
            )  # fmt: skip
        return face if face.score >= self._settings.sure_score else None

    def _bodies_for_faces(
        self, picture: Picture, bodies: tuple[BodySeen, ...], faces: Sequence[FaceSeen]
    ) -> tuple[BodySeen, ...]:
        for face in faces:
            if any(is_face_of(face, body) for body in bodies):
                continue
            view = self._view(picture, window_around_face(face.box), self._settings.cutout_px)
            found = self._networks.find_bodies(view, "a cut-out around a face")
            fitting = [body for body in found if is_face_of(face, body)]
            bodies = merge_bodies(fitting[:1], picture.active, known=bodies)
        return bodies

    def _bodies_for_leftovers(
        self, picture: Picture, anybody: MaskSeen, bodies: tuple[BodySeen, ...],
        faces: Sequence[FaceSeen],
    ) -> tuple[BodySeen, ...]:  # fmt: skip
        """Bodies found where the people mask has leftovers."""
        leftovers = find_leftovers(anybody, bodies, faces, self._settings.leftover_frac)
        for leftover in leftovers[:3]:
            cutout = self._view(picture, grown(leftover.box, 0.25), self._settings.cutout_px)
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

    def _bodies_in_tiles(self, picture: Picture) -> tuple[BodySeen, ...]:
        bodies: tuple[BodySeen, ...] = ()
        for box in square_tiles(picture.active):
            view = self._view(picture, box, self._settings.cutout_px)
            found = [
                body
                for body in self._networks.find_bodies(view, TILE)
                if is_believed(PersonSeen(body=body), picture.active)
            ]
            bodies = merge_bodies(found, picture.active, known=bodies)
        return bodies

    def _second_looks(
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
        view = self._view(picture, square_around(box, side_px), self._settings.cutout_px)
        for again in self._networks.find_bodies(view, f"{body.found_by}, then a closer look"):
            if is_same_body(again, body, picture.active) and is_believed(
                PersonSeen(body=again), picture.active
            ):
                return again
        return None

    def _faces_for_bodies(
        self, picture: Picture, bodies: Sequence[BodySeen], faces: tuple[FaceSeen, ...]
    ) -> tuple[FaceSeen, ...]:
        for body in bodies:
            if any(is_face_of(face, body) for face in faces):
                continue
            x_px, y_px = head_centre_px(body)
            side_px = 1.6 * body_scale_px(body)
            box = square_around(Box(x_px=x_px, y_px=y_px, w_px=0, h_px=0), side_px)
            if not overlap(box, picture.active):
                continue
            view = self._view(picture, box, self._settings.face_px)
            fitting = [
                face
                for face in self._networks.find_meshes(view, "a cut-out around a head")
                if is_face_of(face, body)
            ]
            faces = (*faces, *fitting[:1])
        return faces


def _is_same_face(face: FaceSeen, other: FaceSeen) -> bool:
    """True when the face repeats a better one: they overlap, or one sits inside the other."""
    if overlap(face.box, other.box) > 0.3:
        return True
    x_px, y_px = other.box.centre_px
    holds = face.box.x_px < x_px < face.box.right_px and face.box.y_px < y_px < face.box.bottom_px
    return holds and not len(face.points_px)
