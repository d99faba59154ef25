"""Measure one picture: the people seen in it become a `FrameMeasurement`."""

from __future__ import annotations

from collections.abc import Sequence

from framecheck.measure.corrector import Corrector
from framecheck.measure.outline import frame_outline
from framecheck.measure.person import PersonParts, frame_person, take_parts
from framecheck.measure.subject import Candidate, rank_people
from framecheck.records.framing import FrameMeasurement, Role
from framecheck.records.seen import PersonSeen
from framecheck.records.values import Box


def measure_frame(
    size_wh_px: tuple[int, int],
    picture: Box,
    seen: Sequence[PersonSeen],
    corrector: Corrector,
    *,
    notes: tuple[str, ...] = (),
) -> FrameMeasurement:
    """The measurement of one picture.

    Args:
        size_wh_px: width and height of the whole file.
        picture: the active picture, without black bars.
        seen: what the pose stage saw, in any order.
        corrector: what moves the pose's marks to where they really are.
        notes: to be carried along.

    Returns:
        The people in order of prominence, person 0 the main subject; figures of which only an
        outline was found come last.
    """
    taken = (take_parts(person, picture, corrector) for person in seen if _has_head(person))
    parts = [part for part in taken if part is not None]
    places = rank_people([_candidate(part, picture) for part in parts], picture)
    people = [
        frame_person(parts[place.source], picture, person=i, role=place.role, choice=place.choice)
        for i, place in enumerate(places)
    ]
    for person in seen:
        if person.outline is not None and not _has_head(person):
            role = Role.FOREGROUND if people else Role.SUBJECT
            people.append(
                frame_outline(
                    person.outline, picture, person=len(people), role=role, head_px=person.head_px
                )
            )
    return FrameMeasurement(
        width_px=size_wh_px[0],
        height_px=size_wh_px[1],
        picture=picture,
        people=tuple(people),
        notes=notes,
    )


def _has_head(person: PersonSeen) -> bool:
    return person.body is not None or person.face is not None


def _candidate(parts: PersonParts, picture: Box) -> Candidate:
    return Candidate(
        head=parts.head,
        head_frac=parts.head_height_px / picture.h_px,
    )
