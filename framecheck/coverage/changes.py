"""What changes for one person from one picture to another: size, angle, place."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from framecheck.geometry.angles import wrap_deg
from framecheck.records.framing import Facing
from framecheck.records.sequence import PersonShown
from framecheck.records.values import Measured, NotMeasured

HEAD_OF_FIGURE, FACE_OF_FIGURE = 0.130, 0.066
"""Crown to chin and eyes to chin over stature (Drillis & Contini 1966, chin 0.870, eyes 0.936)."""
FACES_UP_TO_DEG = 100.0
"""Beyond this head yaw the face is out of sight, and the body alone tells the size."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Witness:
    """One reading that tells a head height.

    Attributes:
        field: of `PersonShown`. of_head: what it is of a head height, by the handbook.
        off, off_by_deg: how far it is off, as the logarithm of its ratio to the bare head, for a
            face to the lens and for each degree of yaw (fitted on tuning scenes): hair stands over
            the crown, and the networks draw a head in profile short.
        weight: beside the others.
    """

    field: str
    of_head: float
    off: float
    off_by_deg: float
    weight: float


FACE_WITNESSES = (
    Witness(field="head_frac", of_head=1.0, off=0.160, off_by_deg=-0.00405, weight=0.4),
    Witness(field="face_frac", of_head=FACE_OF_FIGURE / HEAD_OF_FIGURE, off=0.024,
             off_by_deg=-0.00247, weight=0.3),
)  # fmt: skip
BODY_WITNESS = Witness(
    field="figure_frac", of_head=1 / HEAD_OF_FIGURE, off=-0.006, off_by_deg=-0.00118, weight=0.3
)
HEAD_WEIGHT, BODY_WEIGHT = 1.0, 0.1
"""How much the turns of head and body count in the change of angle (fitted on tuning scenes)."""


def size_ratio(before: PersonShown, after: PersonShown) -> Measured:
    """Head height after over before, of the same or of two people; > 1 goes nearer.

    Of faces and bodies where both faces show, else of the bodies alone: a head from behind has no
    chin.
    """
    witnesses = (
        (*FACE_WITNESSES, BODY_WITNESS)
        if _shows_face(before) and _shows_face(after)
        else (BODY_WITNESS,)
    )
    both = [w for w in witnesses if getattr(before, w.field) and getattr(after, w.field)]
    if both:
        return _told(after, both) / _told(before, both)
    sizes = shown_size(before), shown_size(after)
    if sizes[0] is None or sizes[1] is None:
        return NotMeasured(reason="no head and no body could be measured")
    return sizes[1] / sizes[0]


def shown_size(person: PersonShown) -> float | None:
    """Crown to chin over the picture height, of the bare head; None when nothing tells it."""
    wanted = (*FACE_WITNESSES, BODY_WITNESS) if _shows_face(person) else (BODY_WITNESS,)
    there = [w for w in wanted if getattr(person, w.field)]
    return _told(person, there) if there else None


def _told(person: PersonShown, witnesses: Sequence[Witness]) -> float:
    """The head height that these witnesses tell together: their weighted geometric mean."""
    yaw_deg = min(abs(person.head_yaw_deg or 0.0), FACES_UP_TO_DEG)
    summed = sum(
        w.weight * (math.log(getattr(person, w.field) / w.of_head) - w.off - w.off_by_deg * yaw_deg)
        for w in witnesses
    )
    return math.exp(summed / sum(w.weight for w in witnesses))


def _shows_face(person: PersonShown) -> bool:
    if person.facing is None or person.facing is Facing.AWAY:
        return False
    return abs(person.head_yaw_deg or 0.0) <= FACES_UP_TO_DEG


def angle_change_deg(before: PersonShown, after: PersonShown) -> Measured:
    """How far the camera has moved round one person, 0..180, if head and body kept still."""
    turns = []
    for name, weight in (("head_yaw_deg", HEAD_WEIGHT), ("body_yaw_deg", BODY_WEIGHT)):
        one, other = getattr(before, name), getattr(after, name)
        if one is not None and other is not None:
            turns.append((wrap_deg(other - one), weight))
    if not turns:
        return NotMeasured(reason="no turn of head or body could be measured")
    across = sum(weight * math.sin(math.radians(turn)) for turn, weight in turns)
    along = sum(weight * math.cos(math.radians(turn)) for turn, weight in turns)
    return abs(math.degrees(math.atan2(across, along)))
