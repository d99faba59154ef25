"""Measure one picture: the people seen in it become a `FrameMeasurement`."""

from __future__ import annotations

from collections.abc import Sequence

from framecheck.measure.person import PersonParts, frame_person, take_parts
from framecheck.measure.subject import Candidate, Place, rank_people
from framecheck.records.framing import FrameMeasurement, PersonFraming
from framecheck.records.seen import PersonSeen
from framecheck.records.values import Box


def measure_frame(
    width_px: int, height_px: int, picture: Box, seen: Sequence[PersonSeen],
    notes: tuple[str, ...] = (),
) -> FrameMeasurement:  # fmt: skip
    """The measurement of one picture.

    Args:
        width_px: width of the whole file.
        height_px: height of the whole file.
        picture: the active picture, without black bars.
        seen: what the pose stage saw, in any order.
        notes: to be carried along.

    Returns:
        The people in order of prominence, person 0 the main subject.
    """
    parts = [part for part in (take_parts(person, picture) for person in seen) if part is not None]
    places = rank_people([_candidate(part, picture) for part in parts], picture)
    people = tuple(
        _framed(index, parts[place.source], place, picture) for index, place in enumerate(places)
    )
    return FrameMeasurement(
        width_px=width_px, height_px=height_px, picture=picture, people=people, notes=notes
    )


def _framed(index: int, parts: PersonParts, place: Place, picture: Box) -> PersonFraming:
    return frame_person(parts, picture, person=index, role=place.role, choice=place.choice)


def _candidate(parts: PersonParts, picture: Box) -> Candidate:
    return Candidate(
        head=parts.head,
        head_frac=parts.head_height_px / picture.h_px,
        visible_px2=parts.box.area_px2,
        cut_by_side=parts.left_touch is not None or parts.right_touch is not None,
    )
