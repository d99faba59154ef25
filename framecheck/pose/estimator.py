"""See the people in a picture: cheap passes first, further passes only where the cues disagree."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Protocol

from framecheck.pose.exposure import lift_shadows
from framecheck.pose.heads import is_head_of, with_heads
from framecheck.pose.leftovers import find_leftovers
from framecheck.pose.lookout import Lookout, OwnNetworks
from framecheck.pose.merge import merge_bodies, merge_faces, pair_people
from framecheck.pose.networks import Networks
from framecheck.pose.passes import TILE, Passes, PassSettings
from framecheck.pose.scout import HeadHint, Sighting
from framecheck.pose.screen import (
    drop_blends,
    explained_share,
    is_believed,
    is_on_clothes,
    mean_belief,
)
from framecheck.pose.views import View, shrink_view
from framecheck.records.picture import Picture
from framecheck.records.seen import BodySeen, FaceSeen, MaskSeen, PersonSeen


class Estimator(Protocol):
    """Anything that sees people in a picture."""

    def see(self, picture: Picture) -> tuple[PersonSeen, ...]:
        """All people found, in no particular order."""
        ...


class MediaPipeEstimator:
    """Sees people with the MediaPipe networks and the project's own.

    Args:
        networks: loaded networks; the caller closes them.
        settings: how hard to look.
        own: the project's own networks; without them no near backs are found, nobody whom
            MediaPipe does not see, and marks follow from the joints.
    """

    def __init__(
        self,
        networks: Networks,
        settings: PassSettings | None = None,
        own: OwnNetworks | None = None,
    ) -> None:
        self._networks = networks
        self._settings = settings or PassSettings()
        self._passes = Passes(networks, self._settings)
        self._lookout = None if own is None else Lookout(own, self._settings)

    def see(self, picture: Picture) -> tuple[PersonSeen, ...]:
        """All people found in the active picture, in no particular order.

        Where nobody is found and the picture is dark, it is looked at once more with its shadows
        lifted.
        """
        people = self._see(picture)
        lifted = None if people else lift_shadows(picture)
        if lifted is None:
            return people
        return tuple(person for person in self._see(lifted) if self._is_sure(person))

    def _see(self, picture: Picture) -> tuple[PersonSeen, ...]:
        passes, lookout = self._passes, self._lookout
        whole = passes.view(picture, picture.active, self._settings.whole_px)
        found = self._networks.find_bodies(whole, "the whole picture")
        bodies = merge_bodies(found, picture.active)
        faces = passes.mesh_faces(picture, merge_faces(self._networks.find_faces(whole)))
        bodies = passes.bodies_for_faces(picture, bodies, faces)
        small = shrink_view(whole, self._settings.mask_px)
        anybody = self._networks.find_anybody(small)
        sighting = Sighting()
        if lookout is not None:
            sighting = lookout.look(picture, small, anybody, search=not faces)
        heads = sighting.heads
        bodies = passes.bodies_for_leftovers(
            picture, anybody, bodies, faces, None if lookout is None else heads
        )
        bodies = passes.second_looks(picture, bodies, faces)
        faces = passes.faces_for_bodies(picture, bodies, faces)
        people = self._believed(picture, anybody, bodies, faces)
        people = self._people_at_heads(picture, anybody, people, heads)
        if self._is_doubtful(picture, anybody, people, heads):
            people = self._rescue(picture, whole, anybody, people)
        standing = [p for p in people if self._may_stand(p, picture, heads, people)]
        kept = drop_blends(standing, picture.active)
        if lookout is None:
            return kept or self._filling_person(anybody, heads)
        return with_heads(self._completed(lookout, picture, anybody, sighting, kept), heads)

    def _completed(
        self, lookout: Lookout, picture: Picture, anybody: MaskSeen, sighting: Sighting,
        people: Sequence[PersonSeen],
    ) -> tuple[PersonSeen, ...]:  # fmt: skip
        """The people as the project's own networks see them, and whom they alone see."""
        heads = sighting.heads
        placed = [person for person in people if lookout.is_in_place(person, heads, people)]
        kept = lookout.with_marks(picture, placed, heads)
        kept = lookout.with_bodies(picture, kept, heads)
        put = lookout.put_people(picture, kept, heads)
        if not kept and not put:
            put = lookout.put_doubtful(picture, heads)
        put = [self._with_face(picture, person) for person in put]
        if not kept and not put:
            return self._filling_person(anybody, [h for h in heads if self._fills(h, picture)])
        return (*kept, *put, *lookout.near_backs(sighting, [*kept, *put]))

    def _with_face(self, picture: Picture, person: PersonSeen) -> PersonSeen:
        """Somebody under a head, with the face that a closer look finds there."""
        assert person.body is not None
        faces = self._passes.faces_for_bodies(picture, (person.body,), ())
        return replace(person, face=faces[0] if faces else None)

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
        for body in self._passes.bodies_under(picture, head):
            faces = self._passes.faces_for_bodies(picture, (body,), ())
            person = PersonSeen(body=body, face=faces[0] if faces else None)
            new = len(merge_bodies((body,), picture.active, known=known)) > len(known)
            if new and is_head_of(head, person) and is_believed(person, picture.active, anybody):
                return person
        return None

    def _believed(
        self, picture: Picture, anybody: MaskSeen, bodies: Sequence[BodySeen],
        faces: Sequence[FaceSeen],
    ) -> list[PersonSeen]:  # fmt: skip
        people = pair_people(bodies, faces)
        return [person for person in people if is_believed(person, picture.active, anybody)]

    def _is_doubtful(
        self, picture: Picture, anybody: MaskSeen, people: Sequence[PersonSeen],
        heads: Sequence[HeadHint],
    ) -> bool:  # fmt: skip
        """True when neither faces nor heads speak for the bodies, and little else does.

        That is when no face was found, the scout sees other heads than theirs, or none, and the
        bodies explain little of the people mask or are hardly believed.
        """
        if any(person.face is not None for person in people):
            return False
        seen = [head for head in heads if head.belief >= self._settings.seen_head]
        if seen and all(any(is_head_of(head, person) for head in seen) for person in people):
            return False
        return self._is_unexplained(picture, anybody, people)

    def _is_unexplained(
        self, picture: Picture, anybody: MaskSeen, people: Sequence[PersonSeen]
    ) -> bool:
        share = explained_share(people, anybody, picture.active)
        belief = mean_belief(people, picture.active)
        return share < self._settings.explained_frac or belief < self._settings.fair_presence

    def _rescue(
        self, picture: Picture, whole: View, anybody: MaskSeen, people: list[PersonSeen]
    ) -> list[PersonSeen]:
        """The people of the harder pass that explains the people mask best, or the given ones."""
        best, best_worth = people, self._worth(picture, anybody, people)
        for seen in self._passes.harder_passes(
            picture, whole, anybody, tiles=self._lookout is None
        ):
            bodies = merge_bodies(seen, picture.active)
            if any(body.found_by == TILE for body in bodies):
                bodies = self._passes.second_looks(picture, bodies, ())
            found = self._believed(
                picture, anybody, bodies, self._passes.faces_for_bodies(picture, bodies, ())
            )
            worth = self._worth(picture, anybody, found)
            if worth > best_worth:
                best, best_worth = found, worth
            if not self._is_unexplained(picture, anybody, best):
                break
        return best

    def _worth(self, picture: Picture, anybody: MaskSeen, people: Sequence[PersonSeen]) -> float:
        share = explained_share(people, anybody, picture.active)
        return share * mean_belief(people, picture.active)

    def _is_sure(self, person: PersonSeen) -> bool:
        marks = person.marks
        return marks is not None and marks.somebody >= self._settings.lifted_somebody

    def _filling_person(
        self, anybody: MaskSeen, heads: Sequence[HeadHint]
    ) -> tuple[PersonSeen, ...]:
        if self._lookout is not None and not heads:
            return ()
        filling = find_leftovers(anybody, (), (), self._settings.filling_frac)
        head_px = heads[0].centre_px if heads else None
        return tuple(PersonSeen(outline=found.mask, head_px=head_px) for found in filling[:1])

    def _fills(self, head: HeadHint, picture: Picture) -> bool:
        settings = self._settings
        large = head.height_px >= settings.filling_head_frac * picture.active.h_px
        return large and head.belief >= settings.filling_head

    def _may_stand(
        self, person: PersonSeen, picture: Picture, heads: Sequence[HeadHint],
        people: Sequence[PersonSeen],
    ) -> bool:  # fmt: skip
        """False for a face without a body where the scout sees no head, unless it may hide one.

        That is when it is large, has a mesh, and is no pattern on the clothes of somebody.
        """
        if person.body is not None or person.face is None:
            return True
        if any(is_head_of(head, person) for head in heads):
            return True
        large = person.face.box.h_px >= self._settings.alone_frac * picture.active.h_px
        return large and len(person.face.points_px) > 0 and not is_on_clothes(person.face, people)
