"""What the project's own networks see: heads, near backs, people whom no other finds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from framecheck.measure.head import measure_head, place_head
from framecheck.measure.posture import AWAY_DEG
from framecheck.measure.turn import turn_head
from framecheck.pose.heads import (
    MUCH_SMALLER,
    belief_in_head,
    head_height_px,
    is_between,
    is_head_of,
    is_loose,
    is_same_head,
    is_well_inside,
    nearest_head,
    own_heads,
    window_about,
)
from framecheck.pose.leftovers import mask_within
from framecheck.pose.marks import MarksNetwork
from framecheck.pose.own import packaged_weights
from framecheck.pose.passes import LEFTOVER, PassSettings
from framecheck.pose.scout import HeadHint, Scout, Sighting, near_backs
from framecheck.pose.screen import presence_inside
from framecheck.pose.turned import turn_mask, turn_view, turned_back
from framecheck.pose.views import View, cut_view
from framecheck.pose.windows import scout_tiles
from framecheck.records.picture import Picture
from framecheck.records.seen import AnglesSeen, MaskSeen, PersonSeen


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


PROFILE_DEG = 90.0


class Lookout:
    """Asks the project's own networks about a picture.

    Args:
        own: the networks.
        settings: how hard to look.
    """

    def __init__(self, own: OwnNetworks, settings: PassSettings) -> None:
        self._own = own
        self._settings = settings

    def look(self, picture: Picture, small: View, anybody: MaskSeen, *, search: bool) -> Sighting:
        """Near backs, and heads, the small ones looked at closer.

        Args:
            picture: the picture.
            small: a view of the whole of it.
            anybody: the people mask of that.
            search: where no head is seen, also look at parts of the picture, and with the head
                on one side or upside down.
        """
        sighting = self._own.scout.look(small, anybody)
        heads = self._seen_closer(picture, anybody, sighting.heads)
        if search and not any(head.belief >= self._settings.seen_head for head in heads):
            heads = (*heads, *self._searched(picture, small, anybody))
        return replace(sighting, heads=heads)

    def _searched(self, picture: Picture, small: View, anybody: MaskSeen) -> tuple[HeadHint, ...]:
        """Heads in parts of the picture, and in it on its sides and upside down, if sure."""
        found: list[HeadHint] = []
        for box in scout_tiles(picture.active):
            view = cut_view(picture.rgb, picture.active, box, self._settings.mask_px)
            rows, columns = view.rgb.shape[:2]
            found += self._own.scout.look(view, mask_within(anybody, box, (columns, rows))).heads
        for quarters in (1, -1, 2):
            view, mask = turn_view(small, quarters), turn_mask(anybody, quarters)
            seen = self._own.scout.look(view, mask).heads
            found += [turned_back(head, quarters, small.box) for head in seen]
        kept: list[HeadHint] = []
        for head in sorted(found, key=lambda head: -head.belief):
            new = not any(is_same_head(head, other) for other in kept)
            if new and head.belief >= self._settings.tile_head:
                kept.append(head)
        return self._seen_closer(picture, anybody, kept)

    def _seen_closer(
        self, picture: Picture, anybody: MaskSeen, heads: Sequence[HeadHint]
    ) -> tuple[HeadHint, ...]:
        """The heads, small ones as a closer look of the scout sees them: the same, or none."""
        least_px = self._settings.small_head_frac * picture.active.h_px
        sharp = [head for head in heads if head.height_px >= least_px]
        small = [head for head in heads if head.height_px < least_px]
        while small:
            view = cut_view(
                picture.rgb, picture.active, window_about(small[0]), self._settings.mask_px
            )
            rows, columns = view.rgb.shape[:2]
            part = mask_within(anybody, view.box, (columns, rows))
            found = self._own.scout.look(view, part).heads
            near = [head for head in small if head is small[0] or is_well_inside(view.box, head)]
            for head in near:
                again = nearest_head(head, found)
                if again is not None and not any(is_same_head(again, other) for other in sharp):
                    sharp.append(again)
            small = [head for head in small if head not in near]
        return tuple(sorted(sharp, key=lambda head: -head.belief))

    def is_in_place(
        self, person: PersonSeen, heads: Sequence[HeadHint], people: Sequence[PersonSeen]
    ) -> bool:
        """Whether the scout sees the head as large as the person has it, where it sees one there.

        Asked of a body without a face, which may be misplaced when the head is much larger, or when
        its eyes lie off the heads of two people and so between them; and of a face without a body,
        which is a pattern when the head is much smaller.
        """
        own = [head for head in heads if is_head_of(head, person)]
        own_px = head_height_px(person)
        if person.face is None:
            most_px = self._settings.most_larger_head * own_px
            seen = [head for head in own if head.belief >= self._settings.seen_head]
            if any(head.height_px > most_px for head in seen):
                return False
            off = not any(self._is_on(head, person) for head in seen)
            return not (off and is_between(person, people, seen))
        if person.body is None:
            least_px, least = MUCH_SMALLER * own_px, self._settings.sure_head
            return not any(head.belief >= least and head.height_px < least_px for head in own)
        return True

    def _is_on(self, head: HeadHint, person: PersonSeen) -> bool:
        gap_px = math.dist(head.centre_px, place_head(person).eye_px)
        return gap_px <= self._settings.most_off_head * head.height_px

    def put_people(
        self, picture: Picture, people: Sequence[PersonSeen], heads: Sequence[HeadHint]
    ) -> list[PersonSeen]:
        """Whom the project's networks alone see, at heads that belong to nobody yet."""
        seen = [head for head in heads if self._is_seen(head, picture)]
        loose = [head for head in seen if is_loose(head, people, seen)]
        return self._put(picture, loose, self._settings.put_somebody)

    def put_doubtful(self, picture: Picture, heads: Sequence[HeadHint]) -> list[PersonSeen]:
        """Whom they see at heads that are hardly believed in, where nobody else was found."""
        return self._put(picture, heads, self._settings.doubtful_somebody)

    def _put(
        self, picture: Picture, heads: Sequence[HeadHint], least_somebody: float
    ) -> list[PersonSeen]:
        put = [self._own.marks.put(picture, head) for head in heads]
        return [p for p in put if p.marks is not None and p.marks.somebody >= least_somebody]

    def _is_seen(self, head: HeadHint, picture: Picture) -> bool:
        """Whether a head is believed in; one that fills the picture is harder to see."""
        settings = self._settings
        fills = head.height_px >= settings.whole_head_frac * picture.active.h_px
        return head.belief >= (settings.whole_head if fills else settings.seen_head)

    def with_bodies(
        self, picture: Picture, people: Sequence[PersonSeen], heads: Sequence[HeadHint]
    ) -> list[PersonSeen]:
        """The people, those of whom a face alone was found with the body that it sees below."""
        seen = [head for head in heads if self._is_seen(head, picture)]
        own = own_heads(people, seen)
        return [self._with_body(picture, *pair) for pair in zip(people, own, strict=True)]

    def _with_body(self, picture: Picture, person: PersonSeen, head: HeadHint | None) -> PersonSeen:
        if person.face is None or person.body is not None or head is None:
            return person
        put = self._own.marks.put(picture, head)
        assert put.marks is not None
        if put.marks.somebody < self._settings.put_somebody:
            return person
        # A face without a mesh on the back of a head is a pattern of its hair.
        pattern = _is_away(put.marks.angles) and not len(person.face.points_px)
        face = None if pattern else person.face
        return replace(person, body=put.body, marks=put.marks, face=face)

    def near_backs(
        self, sighting: Sighting, people: Sequence[PersonSeen]
    ) -> tuple[PersonSeen, ...]:
        """The near back past which the picture looks, when it looks past one at few people."""
        if len(people) > self._settings.most_beyond:
            return ()
        bodies = [person.body for person in people if person.body is not None]
        faces = [person.face for person in people if person.face is not None]
        backs = near_backs(sighting, bodies, faces)
        return tuple(PersonSeen(outline=back.mask) for back in backs[:1])

    def with_marks(
        self, picture: Picture, people: Sequence[PersonSeen], heads: Sequence[HeadHint]
    ) -> list[PersonSeen]:
        """The people with the marks of their bodies, without those that are nobody."""
        marked = [replace(p, marks=self._own.marks.look(picture, p)) for p in people]
        kept = [person for person in marked if self._is_somebody(person, heads, picture)]
        own = own_heads(kept, [head for head in heads if self._is_faced(head, picture)])
        return [self._asked_again(picture, *pair) for pair in zip(kept, own, strict=True)]

    def _asked_again(
        self, picture: Picture, person: PersonSeen, head: HeadHint | None
    ) -> PersonSeen:
        """Somebody without a face, turned as the network says that sees no joints, when it is away.

        On a back the pose network may find a front, and its joints then mislead.

        Args:
            picture: the picture.
            person: with marks or without.
            head: the person's as the scout sees it, when a face would be found there.
        """
        marks = person.marks
        if marks is None or marks.angles is None or person.face is not None or head is None:
            return person
        if abs(turn_head(measure_head(person), marks.angles).yaw_deg) >= PROFILE_DEG:
            return person
        again = self._own.marks.put(picture, head).marks
        angles = None if again is None else again.angles
        return replace(person, marks=replace(marks, angles=angles)) if _is_away(angles) else person

    def _is_faced(self, head: HeadHint, picture: Picture) -> bool:
        """Whether a head is believed in, and so large that a face that looks here would show."""
        least_px = self._settings.faced_head_frac * picture.active.h_px
        return head.belief >= self._settings.seen_head and head.height_px >= least_px

    def _is_somebody(self, person: PersonSeen, heads: Sequence[HeadHint], picture: Picture) -> bool:
        if person.marks is None or person.body is None:
            return True
        settings, somebody = self._settings, person.marks.somebody
        head = belief_in_head(person, heads)
        if person.face is None and head == 0:
            if heads and person.body.found_by.startswith(LEFTOVER):
                return False  # what is left over of others
            presence = presence_inside(person.body, picture.active)
            sure = presence >= settings.headless_presence
            return sure and somebody >= settings.headless_somebody
        doubted = head < settings.doubted_head
        least = settings.doubted_somebody if doubted else settings.denied_somebody
        return somebody >= least


def _is_away(angles: AnglesSeen | None) -> bool:
    """True when the network tells a head whose face does not show."""
    return angles is not None and abs(angles.head_yaw_deg) >= AWAY_DEG
