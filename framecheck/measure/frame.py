"""Measure one picture: the people seen in it become a `FrameMeasurement`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from framecheck.measure.corrector import Corrector
from framecheck.measure.face_share import HeadTold, face_shares, turned_yaw_deg
from framecheck.measure.look import read_look
from framecheck.measure.outline import frame_outline
from framecheck.measure.person import PersonParts, frame_person, take_parts
from framecheck.measure.subject import Candidate, rank_people
from framecheck.measure.turn import measure_body_yaw, read_camera_pitch
from framecheck.records.framing import FrameMeasurement, PersonFraming, Role
from framecheck.records.seen import MaskSeen, PersonSeen
from framecheck.records.values import Box


def measure_frame(  # noqa: PLR0913  # what may be left out goes by name
    size_wh_px: tuple[int, int],
    picture: Box,
    seen: Sequence[PersonSeen],
    corrector: Corrector,
    *,
    notes: tuple[str, ...] = (),
    rgb: npt.NDArray[np.uint8] | None = None,
) -> FrameMeasurement:
    """The measurement of one picture.

    Args:
        size_wh_px: width and height of the whole file.
        picture: the active picture, without black bars.
        seen: what the pose stage saw, in any order.
        corrector: what moves the pose's marks to where they really are.
        notes: to be carried along.
        rgb: (height, width, 3) uint8, the whole file; without it no looks are read.

    Returns:
        The people in order of prominence, person 0 the main subject; figures of which only an
        outline was found come last.
    """
    taken = (take_parts(person, picture, corrector) for person in seen if _has_head(person))
    parts = _with_shares([part for part in taken if part is not None], picture)
    places = rank_people([_candidate(part, picture) for part in parts], picture)
    people = [
        _with_look(
            frame_person(
                parts[place.source], picture, person=i, role=place.role, choice=place.choice
            ),
            parts[place.source],
            picture,
            rgb,
            _nearer(parts[place.source], parts),
        )
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
        camera_pitch_deg=read_camera_pitch(seen),
    )


def _with_look(
    framing: PersonFraming,
    parts: PersonParts,
    picture: Box,
    rgb: npt.NDArray[np.uint8] | None,
    nearer: Sequence[MaskSeen],
) -> PersonFraming:
    body = parts.seen.body
    look = None
    if rgb is not None:
        mask = None if body is None else body.mask
        look = read_look(
            rgb, parts.ruler, mask, picture, parts.head.yaw_deg,
            nearer=nearer, face_found=parts.seen.face is not None,
        )  # fmt: skip
    return replace(framing, body_yaw_deg=measure_body_yaw(parts.seen, picture), look=look)


def _nearer(parts: PersonParts, everybody: Sequence[PersonParts]) -> list[MaskSeen]:
    """The pixels of those whose heads are larger, so that they stand nearer to the lens."""
    return [
        other.seen.body.mask
        for other in everybody
        if other.seen.body is not None and other.head_height_px > parts.head_height_px
    ]


def _has_head(person: PersonSeen) -> bool:
    return person.body is not None or person.face is not None


def _with_shares(parts: Sequence[PersonParts], picture: Box) -> list[PersonParts]:
    """Everybody with the likelihood that the face shows, and turned round where it does not."""
    shares = face_shares(
        [
            HeadTold(
                found=part.seen.face is not None,
                yaw_deg=part.head.yaw_deg,
                face_frac=part.head.eye_to_chin_px / picture.h_px,
            )
            for part in parts
        ]
    )
    return [
        replace(
            part,
            face_share=share,
            head=replace(part.head, yaw_deg=turned_yaw_deg(part.head.yaw_deg, share)),
        )
        for part, share in zip(parts, shares, strict=True)
    ]


def _candidate(parts: PersonParts, picture: Box) -> Candidate:
    return Candidate(
        head=parts.head,
        head_frac=parts.head_height_px / picture.h_px,
        face_share=parts.face_share,
    )
