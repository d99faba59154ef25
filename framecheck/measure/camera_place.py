"""Where the camera stood: distance, height and tilt, from the marks on one body.

A person of known stature is a ruler that stands upright in the room. Marks at known heights on it
are seen at known angles; the place and the tilt of the camera that explain them best are searched
by least squares. A single body says little about the tilt, and less the less of it is seen, so that
tilt and height start from what cameras usually do, and the stated interval grows accordingly.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from framecheck.geometry.optics import angle_of_view_deg, used_sensor_mm
from framecheck.records.framing import PersonFraming, Posture, RulerMark
from framecheck.records.lens import POPULATION, CameraPlace, Estimate, Lens, Stature
from framecheck.records.values import Box, NotMeasured

FloatArray = npt.NDArray[np.float64]

STANDING_LEVELS = {
    "crown": 1.007,
    "eye": 0.933,
    "chin": 0.871,
    "shoulder": 0.792,
    "hip": 0.529,
    "knee": 0.303,
    "ankle": 0.053,
    "sole": 0.004,
}
"""How high over the floor the ruler's marks lie on people who stand, over stature. The ruler is
anchored on joints (its shoulder is the joint, 3 % of stature under the shoulder point of the
handbook), and nobody stands as straight as a handbook: medians of 94 rendered people, seed 150."""

LEVEL_ERRORS = {
    "crown": 0.022,
    "eye": 0.022,
    "chin": 0.022,
    "shoulder": 0.012,
    "hip": 0.018,
    "knee": 0.016,
    "ankle": 0.016,
    "sole": 0.014,
}
"""One standard deviation of these, the error of the mark and the person's own shape together."""

GUESSED_ERROR = 0.04
"""The same for a shoulder or hip outside the picture; lower ones say nothing."""
GUESSED_MARKS = ("shoulder", "hip")
MARK_ERROR_PX = 1.5

USUAL_TILT_SD_DEG = 12.0
USUAL_HEIGHT = 0.85  # of stature: about the chest to the eyes
USUAL_HEIGHT_SD_M = 0.8
KNOWN_TILT_SD_DEG = 1.0
KNOWN_HEIGHT_SD_M = 0.05

SPREAD = 1.3
MODEL_ERROR = 0.06
"""What the fit says of its own error is multiplied by the first, and the second (a share of the
distance: bent necks, shoes, lenses that breathe) is added; seed 150, so that nine of ten hold."""
MOST_ERROR = 0.5
"""A distance that may as well be half or twice as far is none."""
NINE_OF_TEN = 1.645
EYE_LEVEL = STANDING_LEVELS["eye"]

_STEPS = 60
_SMALL = 1e-5


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sight:
    """What is known before the search.

    Attributes:
        levels: (n,) heights over stature. errors: (n,) of these.
        across, down: (n,) tangents of the angles to the right of and under the axis.
        stature_m: as expected.
        px: size of a pixel as a tangent.
        prior: usual height, its spread, usual tilt, its spread (metres and radians).
    """

    levels: FloatArray
    errors: FloatArray
    across: FloatArray
    down: FloatArray
    stature_m: float
    px: float
    prior: tuple[float, float, float, float]


def locate_camera(
    person: PersonFraming,
    picture: Box,
    lens: Lens,
    stature: Stature = POPULATION,
) -> CameraPlace | NotMeasured:
    """Where the camera stood, seen from a measured person.

    Args:
        person: with a ruler; people who are seen to stand are measured over the whole body, others
            by head and shoulders, which on tuning scenes was the better for them.
        picture: the active picture that the lens drew on the sensor, centred on its axis.
        lens: focal length, sensor, and what is known of its height and tilt; the height counts for
            people who are seen to stand.
        stature: how tall the person is; unknown, the population's spread is part of the error.

    Returns:
        Distances in metres, each with the interval that holds the truth nine times out of ten, or
        why there is none.

    Note:
        Pinhole; roll is not modelled; the lens is taken as focused far away.
    """
    marks = _usable_marks(person)
    if len(marks) < 2:
        return NotMeasured(reason="too little of the body is seen to tell a distance")
    focal_px = focal_length_px(lens, picture)
    if person.posture is not Posture.STANDING:
        lens = replace(lens, height_m=None)  # over a floor that nobody is seen to stand on
    sight = _sight(marks, (picture, focal_px, lens), stature)
    if float(np.ptp(sight.down)) <= 0:
        return NotMeasured(reason="the marks on the body lie on one line across the picture")
    found, spread = _search(sight)
    if not math.isfinite(spread[0, 0]) or SPREAD * math.sqrt(abs(spread[0, 0])) > MOST_ERROR:
        return NotMeasured(reason="the marks on the body lie too close to tell a distance")
    return _place(person, (lens, picture), sight, (found, spread, stature), marks)


def focal_length_px(lens: Lens, picture: Box) -> float:
    """The focal length in pixels of the picture, from the part of the sensor that it uses."""
    width_mm = used_width_mm(lens, picture)
    return lens.focal_mm / width_mm * picture.w_px


def used_width_mm(lens: Lens, picture: Box) -> float:
    """Width of the sensor that the picture uses, as if the lens were spherical."""
    width_mm, height_mm = lens.sensor_wh_mm
    return used_sensor_mm((width_mm * lens.squeeze, height_mm), (picture.w_px, picture.h_px))[0]


def view_angles_deg(lens: Lens, picture: Box) -> tuple[float, float, float]:
    """Horizontal, vertical and diagonal angle of view of the picture."""
    width_mm = used_width_mm(lens, picture)
    height_mm = width_mm * picture.h_px / picture.w_px
    sides_mm = (width_mm, height_mm, math.hypot(width_mm, height_mm))
    h_deg, v_deg, d_deg = (angle_of_view_deg(side, lens.focal_mm) for side in sides_mm)
    return h_deg, v_deg, d_deg


def _usable_marks(person: PersonFraming) -> tuple[RulerMark, ...]:
    if person.ruler is None:
        return ()
    marks = [m for m in person.ruler.marks if m.seen or m.name in GUESSED_MARKS]
    if person.posture is not Posture.STANDING:
        marks = [m for m in marks if m.level >= STANDING_LEVELS["shoulder"]]
    return tuple(marks) if sum(mark.seen for mark in marks) >= 2 else ()


def _sight(marks: Sequence[RulerMark], view: tuple[Box, float, Lens], stature: Stature) -> _Sight:
    picture, focal_px, lens = view
    centre = picture.centre_px
    errors = [LEVEL_ERRORS[mark.name] if mark.seen else GUESSED_ERROR for mark in marks]
    tilt = (0.0, USUAL_TILT_SD_DEG) if lens.tilt_deg is None else (lens.tilt_deg, KNOWN_TILT_SD_DEG)
    height = (USUAL_HEIGHT * stature.mean_m, USUAL_HEIGHT_SD_M)
    if lens.height_m is not None:
        height = (lens.height_m, KNOWN_HEIGHT_SD_M)
    return _Sight(
        levels=np.array([STANDING_LEVELS[mark.name] for mark in marks]),
        errors=np.array(errors),
        across=np.array([(mark.x_px - centre[0]) / focal_px for mark in marks]),
        down=np.array([(mark.y_px - centre[1]) / focal_px for mark in marks]),
        stature_m=stature.mean_m,
        px=MARK_ERROR_PX / focal_px,
        prior=(*height, math.radians(tilt[0]), math.radians(tilt[1])),
    )


def _search(sight: _Sight) -> tuple[FloatArray, FloatArray]:
    """Log of the distance along the floor, height of the lens and tilt, with their covariance.

    Levenberg-Marquardt; three unknowns, at most eleven equations.
    """
    length_m = float(np.ptp(sight.levels)) * sight.stature_m
    start_m = length_m / max(float(np.ptp(sight.down)), _SMALL)
    at = np.array([math.log(start_m), sight.prior[0], sight.prior[2]])
    damping = 1e-3
    for _ in range(_STEPS):
        misfit = _misfit(at, sight)
        slopes = _slopes(at, sight, misfit)
        square = slopes.T @ slopes
        damped = square + damping * np.diag(np.diag(square))
        step = np.clip(np.linalg.solve(damped, -slopes.T @ misfit), -0.5, 0.5)
        better = float(np.sum(_misfit(at + step, sight) ** 2)) < float(np.sum(misfit**2))
        if better:
            at, damping = np.add(at, step), damping * 0.3
        else:
            damping *= 10
        if float(np.abs(step).max()) < _SMALL:
            break
    slopes = _slopes(at, sight, _misfit(at, sight))
    return at, np.asarray(np.linalg.pinv(slopes.T @ slopes), dtype=np.float64)


def _slopes(at: FloatArray, sight: _Sight, misfit: FloatArray) -> FloatArray:
    columns = [(_misfit(at + step, sight) - misfit) / _SMALL for step in _SMALL * np.eye(3)]
    return np.stack(columns, axis=1)


def _misfit(at: FloatArray, sight: _Sight) -> FloatArray:
    """How far each mark, the height and the tilt are from what is expected, in deviations."""
    ahead_m, height_m, tilt = math.exp(at[0]), at[1], at[2]
    up_m = sight.levels * sight.stature_m - height_m
    depth_m = np.maximum(ahead_m * math.cos(tilt) + up_m * math.sin(tilt), 1e-3)
    down = (ahead_m * math.sin(tilt) - up_m * math.cos(tilt)) / depth_m
    error = np.hypot(sight.errors * sight.stature_m / ahead_m, sight.px)
    usual_m, usual_sd_m, usual_tilt, tilt_sd = sight.prior
    priors = [(height_m - usual_m) / usual_sd_m, (tilt - usual_tilt) / tilt_sd]
    return np.concatenate([(down - sight.down) / error, priors])


def _place(
    person: PersonFraming,
    view: tuple[Lens, Box],
    sight: _Sight,
    fit: tuple[FloatArray, FloatArray, Stature],
    marks: Sequence[RulerMark],
) -> CameraPlace:
    found, covariance, stature = fit
    ahead_m, height_m, tilt = math.exp(found[0]), float(found[1]), float(found[2])
    eyes_m = EYE_LEVEL * stature.mean_m
    depth_m = ahead_m * math.cos(tilt) + (eyes_m - height_m) * math.sin(tilt)
    aside_m = float(sight.across[0]) * depth_m
    distance_m = math.sqrt(ahead_m**2 + aside_m**2 + (eyes_m - height_m) ** 2)
    deviations = np.sqrt(np.diag(covariance)) * SPREAD
    share = math.hypot(float(deviations[0]), MODEL_ERROR, stature.sd_m / stature.mean_m)
    height = around(height_m, math.hypot(float(deviations[1]), share * abs(height_m - eyes_m)))
    standing = person.posture is Posture.STANDING
    return CameraPlace(
        distance_m=times(distance_m, share),
        ahead_m=ahead_m,
        aside_m=aside_m,
        over_eyes_m=Estimate(
            value=height.value - eyes_m, low=height.low - eyes_m, high=height.high - eyes_m
        ),
        height_m=height if standing else NotMeasured(reason=_why_no_floor(person)),
        tilt_deg=around(math.degrees(tilt), math.degrees(float(deviations[2]))),
        view_deg=view_angles_deg(*view),
        marks=tuple(mark.name for mark in marks),
        notes=() if standing else (f"by head and shoulders alone: {_why_no_floor(person)}",),
    )


def _why_no_floor(person: PersonFraming) -> str:
    if person.posture is None:
        return "whether the person stands is not seen"
    return (
        "the person is seated" if person.posture is Posture.SEATED else "the person leans or lies"
    )


def around(value: float, sd: float) -> Estimate:
    """An estimate with nine tenths of a normal error around it."""
    half = NINE_OF_TEN * abs(sd)
    return Estimate(value=value, low=value - half, high=value + half)


def times(value: float, share: float) -> Estimate:
    """An estimate above 0 whose error is a share of it, so that the interval reaches farther up."""
    factor = math.exp(NINE_OF_TEN * share)
    return Estimate(value=value, low=value / factor, high=value * factor)
