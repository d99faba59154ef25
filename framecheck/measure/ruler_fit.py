"""Lay the ruler along a body: the face first, then the corrected marks, then proportion."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise

from framecheck.geometry.boxes import holds
from framecheck.geometry.ruler import MARK_LEVELS, ruler_length_px
from framecheck.measure.corrector import CHAIN, CorrectedMarks, Corrector, correct_marks
from framecheck.measure.head import EYE_TO_CHIN, Head
from framecheck.records.framing import BodyRuler, RulerMark
from framecheck.records.seen import MarksSeen, PersonSeen
from framecheck.records.values import Box, PointPx

PROPORTION_ERROR = 0.12
"""Relative error of a length taken from the head by proportion, as found on tuning scenes."""

LEAST_ERROR_LEVEL = 0.018
"""No reading is better than this: joints are not defined more sharply."""

JOINTS_CALIBRATION = 1.75
"""The corrector is too sure of itself by this factor, on tuning scenes that it was not trained on:
with it, two readings in three lie within their stated error."""

MARKS_CALIBRATION = 1.5
DOUBT_PER_GAP = 0.15
"""The same for a network that saw the marks: its own error by the first factor, and a share of the
gap to what the corrector says of the joints, as opinions that differ tell of a hard case."""


def find_chain(
    person: PersonSeen, head: Head, picture: Box, corrector: Corrector
) -> CorrectedMarks | None:
    """The marks below the chin: as a network saw them, else the pose's, corrected; None without."""
    if person.body is None:
        return None
    if person.marks is not None and person.body.is_put:
        return _only_opinion(person.marks)
    by_joints = correct_marks(corrector, head, person.body, picture)
    if person.marks is not None:
        return _second_opinion(person.marks, by_joints)
    errors = {name: JOINTS_CALIBRATION * e for name, e in by_joints.errors_px.items()}
    return CorrectedMarks(points_px=by_joints.points_px, errors_px=errors)


def _only_opinion(marks: MarksSeen) -> CorrectedMarks:
    """The marks as seen, where no joints tell anything."""
    errors = (MARKS_CALIBRATION * float(error_px) for error_px in marks.errors_px)
    places = ((float(x_px), float(y_px)) for x_px, y_px in marks.points_px)
    return CorrectedMarks(
        points_px=dict(zip(CHAIN, places, strict=True)),
        errors_px=dict(zip(CHAIN, errors, strict=True)),
    )


def _second_opinion(marks: MarksSeen, by_joints: CorrectedMarks) -> CorrectedMarks:
    """The marks as seen, less sure where the joints tell something else."""
    points, errors = {}, {}
    for name, (x_px, y_px), error_px in zip(CHAIN, marks.points_px, marks.errors_px, strict=True):
        gap_px = float(y_px) - by_joints.points_px[name][1]
        points[name] = (float(x_px), float(y_px))
        errors[name] = math.hypot(MARKS_CALIBRATION * float(error_px), DOUBT_PER_GAP * gap_px)
    return CorrectedMarks(points_px=points, errors_px=errors)


def fit_ruler(
    head: Head, crown_px: PointPx, chain: CorrectedMarks | None, picture: Box
) -> BodyRuler:
    """The ruler of one person.

    Args:
        head: eye and chin, measured.
        crown_px: top of the skull on the head's own axis.
        chain: the marks below; None when only a face was found, and all below follows by
            proportion.
        picture: the active picture.

    Returns:
        The ruler; its `error_level` is the expected error of the bottom edge's reading.
    """
    face = {"crown": crown_px, "eye": head.eye_px, "chin": head.chin_px}
    if chain is None or is_cut_over_the_shoulders(head, picture):
        chain = marks_by_proportion(head)
        return _ruler({**face, **chain.points_px}, chain, picture, known=())
    return _ruler({**face, **chain.points_px}, chain, picture, known=CHAIN)


def is_cut_over_the_shoulders(head: Head, picture: Box) -> bool:
    """True for a face so near that no joint below it is in the picture: the pose then guesses."""
    if not head.from_mesh:
        return False
    length_px = (MARK_LEVELS["chin"] - MARK_LEVELS["shoulder"]) * head.eye_to_chin_px / EYE_TO_CHIN
    return head.chin_px[1] + head.down[1] * length_px > picture.bottom_px


def marks_by_proportion(head: Head) -> CorrectedMarks:
    """The chain below the chin on the face's own axis, by the handbook's proportions."""
    unit_px = head.eye_to_chin_px / EYE_TO_CHIN
    points, errors = {}, {}
    for name in CHAIN:
        length_px = (MARK_LEVELS["chin"] - MARK_LEVELS[name]) * unit_px
        points[name] = (
            head.chin_px[0] + head.down[0] * length_px,
            head.chin_px[1] + head.down[1] * length_px,
        )
        errors[name] = PROPORTION_ERROR * length_px
    return CorrectedMarks(points_px=points, errors_px=errors)


def _ruler(
    points: Mapping[str, PointPx], chain: CorrectedMarks, picture: Box, known: tuple[str, ...]
) -> BodyRuler:
    seen = {
        name: (name in known or name not in CHAIN) and holds(picture, points[name])
        for name in MARK_LEVELS
    }
    return ruler_from_points(points, seen, _error_at_edge(points, chain, picture.bottom_px))


def _error_at_edge(points: Mapping[str, PointPx], chain: CorrectedMarks, edge_y_px: float) -> float:
    """Expected error of the reading: the marks' errors, weighed by their nearness to the edge."""
    names = list(MARK_LEVELS)
    for upper, lower in pairwise(names):
        y_upper, y_lower = points[upper][1], points[lower][1]
        if y_upper <= edge_y_px < y_lower:
            share = (edge_y_px - y_upper) / (y_lower - y_upper)
            level_per_px = (MARK_LEVELS[upper] - MARK_LEVELS[lower]) / (y_lower - y_upper)
            error_px = math.hypot(
                (1 - share) * chain.errors_px.get(upper, 0.0),
                share * chain.errors_px.get(lower, 0.0),
            )
            return max(LEAST_ERROR_LEVEL, error_px * level_per_px)
    figure_px = max(1.0, ruler_length_px([points[name] for name in names]))
    return max(LEAST_ERROR_LEVEL, chain.errors_px["sole"] / figure_px)


def ruler_from_points(
    points: Mapping[str, PointPx], seen: Mapping[str, bool], error_level: float
) -> BodyRuler:
    """A ruler from points by mark name.

    Args:
        points: pixels of the whole file, every mark of `MARK_LEVELS`.
        seen: which of them were seen inside the picture.
        error_level: expected error of the bottom edge's reading.
    """
    marks = tuple(
        RulerMark(
            name=name, level=level, x_px=points[name][0], y_px=points[name][1], seen=seen[name]
        )
        for name, level in MARK_LEVELS.items()
    )
    length_px = ruler_length_px([(mark.x_px, mark.y_px) for mark in marks])
    return BodyRuler(marks=marks, figure_px=max(length_px, 1e-6), error_level=error_level)
