"""How much somebody in a picture draws the eye.

A working rule of this project (common practice: the largest clear face is the subject), not a
published measure.
"""

from __future__ import annotations

from collections.abc import Sequence

from framecheck.records.values import Box

BACK_WEIGHT = 0.30
"""How much a head seen from behind counts beside one whose face shows."""

SHARE_POWER = 4.0
"""How sharply the likelihood of being the subject falls with the prominence: on rendered scenes
the most prominent of two was the subject in three of four when the other had 0.75 of it."""


def prominence_of(head_frac: float, x_px: float, picture: Box, *, face_share: float) -> float:
    """Size of the head, a face that shows, nearness to the middle.

    Args:
        head_frac: crown to chin over the picture height.
        x_px: of the face, pixels of the whole file.
        picture: the active picture.
        face_share: 0..1, how likely at least a profile of the face can be seen.
    """
    off_centre = abs(x_px - picture.centre_px[0]) / (picture.w_px / 2)
    centrality = 1.0 - 0.45 * min(1.5, off_centre) ** 2
    weight = BACK_WEIGHT + (1.0 - BACK_WEIGHT) * face_share
    return head_frac * weight * max(0.1, centrality)


def subject_shares(prominences: Sequence[float]) -> tuple[float, ...]:
    """How likely each person is to be the one that the picture is about; they add up to 1."""
    weights = [max(0.0, value) ** SHARE_POWER for value in prominences]
    total = sum(weights)
    return tuple(w / total if total > 0 else 1.0 / len(weights) for w in weights)
