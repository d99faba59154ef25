"""Who the picture is about: rank the people, and say why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from framecheck.geometry.prominence import prominence_of
from framecheck.measure.head import Head
from framecheck.records.framing import Role
from framecheck.records.values import Box

NEARER = 1.12
"""Head size over the subject's from which a person seen from behind stands in the foreground."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """What the choice of the main subject looks at.

    Attributes:
        head: the measured head.
        head_frac: crown-to-chin over the picture height.
        face_share: how likely the face shows, in profile at least.
    """

    head: Head
    head_frac: float
    face_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A person's rank, role and the reason for it. `source` is the index before ranking."""

    source: int
    role: Role
    choice: str


def shows_face(candidate: Candidate) -> bool:
    """True when at least a profile of the face can rather be seen than not."""
    return candidate.face_share >= 0.5


def prominence(candidate: Candidate, picture: Box) -> float:
    """How much a person draws the eye; see `framecheck.geometry.prominence`."""
    x_px, _ = candidate.head.eye_px
    return prominence_of(candidate.head_frac, x_px, picture, face_share=candidate.face_share)


def rank_people(candidates: Sequence[Candidate], picture: Box) -> tuple[Place, ...]:
    """Everybody's place, the main subject first, then by prominence."""
    order = sorted(range(len(candidates)), key=lambda i: (-prominence(candidates[i], picture), i))
    if not order:
        return ()
    subject = candidates[order[0]]
    return tuple(
        _place(i, candidates[i], subject, rank, len(order)) for rank, i in enumerate(order)
    )


def _place(source: int, candidate: Candidate, subject: Candidate, rank: int, count: int) -> Place:
    if rank == 0:
        return Place(source=source, role=Role.SUBJECT, choice=_why_subject(candidate, count))
    nearer = candidate.head_frac > NEARER * subject.head_frac
    if nearer and not shows_face(candidate):
        return Place(
            source=source, role=Role.FOREGROUND, choice="nearer to the lens, seen from behind"
        )
    share = candidate.head_frac / max(subject.head_frac, 1e-9)
    return Place(
        source=source, role=Role.BACKGROUND,
        choice=f"less prominent: head {share:.2f} times the subject's",
    )  # fmt: skip


def _why_subject(candidate: Candidate, count: int) -> str:
    if count == 1:
        return "the only person found"
    face = "whose face shows" if shows_face(candidate) else "though seen from behind"
    return f"most prominent of {count}: head {candidate.head_frac:.2f} of the height, {face}"
