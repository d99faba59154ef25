"""The main subject of a shot, followed through its measured frames.

Which of two people is the main subject can change from frame to frame, as both are nearly as
prominent. What becomes of a subject within a shot is therefore read along one and the same person.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from framecheck.records.framing import FrameMeasurement, PersonFraming
from framecheck.records.judged import FrameResult
from framecheck.records.values import Measured, NotMeasured

HEAD_SHARE = 0.13
"""Crown to chin over stature (Drillis & Contini 1966, chin at 0.870)."""
OTHER_BIAS = 0.15
"""Somebody else than the frame's own main subject is taken when this much nearer, see `_apart`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SubjectAt:
    """The subject in one measured frame.

    Attributes:
        sample: which of the measured frames. time_s: its time.
        x_wfrac, y_frac: the nose from the left and top edge, over picture width and height.
        log_scale: natural logarithm of figure height over picture height; None when not read.
        crop_level: reading of the bottom edge; None when not read. error_level: its error.
        yaw_deg: turn of the head; None when not read.
    """

    sample: int
    time_s: float
    x_wfrac: float
    y_frac: float
    log_scale: float | None
    crop_level: float | None
    error_level: float
    yaw_deg: float | None


def follow_subject(frames: Sequence[FrameResult]) -> tuple[SubjectAt, ...]:
    """The subject in each measured frame that shows anybody, in order.

    The walk begins at the frame nearest to the middle that shows somebody and goes outwards, each
    step to the person who is nearest in place and size, the frame's own main subject first.
    """
    peopled = [index for index, frame in enumerate(frames) if frame.measurement.people]
    if not peopled:
        return ()
    centre = min(peopled, key=lambda index: abs(2 * index - len(frames) + 1))
    start = _place(frames, centre, frames[centre].measurement.people[0])
    before = _walk(frames, [i for i in reversed(peopled) if i < centre], start)
    after = _walk(frames, [i for i in peopled if i > centre], start)
    return (*reversed(before), start, *after)


def _walk(frames: Sequence[FrameResult], way: Sequence[int], last: SubjectAt) -> list[SubjectAt]:
    found: list[SubjectAt] = []
    for index in way:
        places = [_place(frames, index, p) for p in frames[index].measurement.people]
        biased = [_apart(last, place) + OTHER_BIAS * (n > 0) for n, place in enumerate(places)]
        last = places[biased.index(min(biased))]
        found.append(last)
    return found


def _apart(one: SubjectAt, other: SubjectAt) -> float:
    """How unlike two places are: picture fractions and the logarithm of the scale, added."""
    scale = 0.0
    if one.log_scale is not None and other.log_scale is not None:
        scale = abs(one.log_scale - other.log_scale)
    return math.hypot(one.x_wfrac - other.x_wfrac, one.y_frac - other.y_frac) + scale


def _place(frames: Sequence[FrameResult], index: int, person: PersonFraming) -> SubjectAt:
    measurement = frames[index].measurement
    picture = measurement.picture
    return SubjectAt(
        sample=index,
        time_s=frames[index].time_s or 0.0,
        x_wfrac=(person.nose_px[0] - picture.x_px) / picture.w_px,
        y_frac=(person.nose_px[1] - picture.y_px) / picture.h_px,
        log_scale=_log_scale(person, measurement),
        crop_level=_or_none(person.crop_level),
        error_level=person.ruler.error_level if person.ruler is not None else 0.0,
        yaw_deg=_or_none(person.head_yaw_deg),
    )


def _log_scale(person: PersonFraming, measurement: FrameMeasurement) -> float | None:
    figure = _or_none(person.figure_frac)
    head_px = _or_none(person.head_height_px)
    if figure is None and head_px is not None:
        figure = head_px / HEAD_SHARE / measurement.picture.h_px
    return math.log(figure) if figure is not None and figure > 0 else None


def _or_none(value: Measured) -> float | None:
    return None if isinstance(value, NotMeasured) else value
