"""Lens and distance: from a measured picture, or from numbers, to tables of set-ups."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from importlib import resources
from pathlib import Path

from framecheck.classify.sensor_formats import choose_sensor, parse_sensor_formats
from framecheck.classify.size_fields import size_fields
from framecheck.errors import ConfigError
from framecheck.geometry.optics import used_sensor_mm
from framecheck.geometry.set_ups import LensRow, SetUp, SizeRow, compare_lenses, compare_sizes
from framecheck.measure.camera_place import locate_camera, used_width_mm
from framecheck.pipeline.settings import Settings, load_judging
from framecheck.records.framing import FrameMeasurement, Posture
from framecheck.records.lens import POPULATION, CameraPlace, Estimate, Lens, SensorFormat, Stature
from framecheck.records.lens_data import LensData
from framecheck.records.values import Box, NotMeasured

NOTICE = (
    "Distances here are about pictures, not about safety: vehicles, heights, rigs, weapons and "
    "water are for the people responsible on set, and for the local rules."
)
DEFAULT_LENSES_MM = (18.0, 25.0, 35.0, 50.0, 75.0, 100.0)
"""Focal lengths of a small set of primes; common practice."""
DEFAULT_BEHIND_M = 2.0
NEAR_PERSON_M = 0.5
"""A second person counts as behind or in front from this much on."""
DIAGONAL_135_MM = 43.267
"""Of 36 x 24 mm, what equivalent focal lengths refer to."""

_FORMATS = resources.files("framecheck.classify") / "data" / "sensor_formats.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """The room that there is.

    Attributes:
        depth_m: from wall to wall, None for no limit.
        behind_camera_m: what the camera and who works it need behind the lens.
        behind_subject_m: what stays free behind the subject.
    """

    depth_m: float | None = None
    behind_camera_m: float = 0.7
    behind_subject_m: float = 0.5

    @property
    def most_distance_m(self) -> float | None:
        """The farthest that the lens can be from the subject."""
        if self.depth_m is None:
            return None
        return self.depth_m - self.behind_camera_m - self.behind_subject_m


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUpQuestion:
    """What is asked about a set-up.

    Attributes:
        lens: in use now.
        focals_mm: the lenses at hand.
        stature: of the subject.
        behind_m: how far behind the subject the background lies; None for another person in the
            picture, else the wall, else `DEFAULT_BEHIND_M`.
        place: the room that there is.
        vocabulary: the sizes to compare.
        standing: the subject stands, whatever the picture shows of that.
    """

    lens: Lens
    focals_mm: tuple[float, ...] = DEFAULT_LENSES_MM
    stature: Stature = POPULATION
    behind_m: float | None = None
    place: Place = Place()
    vocabulary: str = "trade"
    standing: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherPerson:
    """Somebody else in the picture.

    Attributes:
        person: index. behind_m: farther from the lens than the subject; < 0 nearer.
        aside_m: from the middle of the view, + right. looks: size beside the subject's.
    """

    person: int
    behind_m: float
    aside_m: float
    looks: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SetUpAnswer:
    """The set-up as it is, and the others.

    Attributes:
        place: where the camera stood; None where the distance was given.
        distance_m: from the lens to the subject.
        now: the set-up that the rows are compared with.
        lenses, sizes: the tables.
        others: further people whose place could be told.
        question: what was asked.
    """

    place: CameraPlace | None
    distance_m: Estimate
    now: SetUp
    lenses: tuple[LensRow, ...]
    sizes: tuple[SizeRow, ...]
    others: tuple[OtherPerson, ...]
    question: SetUpQuestion


def known_sensors() -> tuple[SensorFormat, ...]:
    """The film apertures and sensor formats of the data file."""
    return parse_sensor_formats(_FORMATS.read_text("utf-8"), "sensor_formats.toml")


def find_sensor(words: str) -> tuple[float, float]:
    """Width and height of a sensor by name, or by size as `36x24`.

    Raises:
        ConfigError: neither.
    """
    return choose_sensor(words, known_sensors())


def lens_of_file(path: Path) -> LensData:
    """What a still says of its lens.

    Raises:
        MediaError: the file cannot be used.
    """
    from framecheck.media.lens_data import read_lens_data

    return read_lens_data(path)


def sensor_of_file(data: LensData, picture: Box) -> tuple[float, float] | None:
    """The sensor that a file states, or that its equivalent focal length implies."""
    if data.sensor_wh_mm is not None:
        width_mm, height_mm = data.sensor_wh_mm  # as stored
        return (height_mm, width_mm) if data.turned else data.sensor_wh_mm
    if data.focal_mm is None or data.focal_35_mm is None:
        return None
    diagonal_mm = DIAGONAL_135_MM * data.focal_mm / data.focal_35_mm
    diagonal_px = (picture.w_px**2 + picture.h_px**2) ** 0.5
    return (picture.w_px / diagonal_px * diagonal_mm, picture.h_px / diagonal_px * diagonal_mm)


def plan_from_picture(
    measurement: FrameMeasurement, question: SetUpQuestion, person: int = 0
) -> SetUpAnswer | NotMeasured:
    """Set-ups that start from a measured picture.

    Args:
        measurement: the picture.
        question: what is asked.
        person: index of the subject.

    Raises:
        ConfigError: there is no such person, or the room is too small for anything.
    """
    if not measurement.people:
        return NotMeasured(reason="nobody is found in the picture")
    if not 0 <= person < len(measurement.people):
        found = len(measurement.people)
        raise ConfigError(f"there is no person {person} in the picture; it has {found}")
    subject, picture = measurement.people[person], measurement.picture
    if question.standing:
        subject = replace(subject, posture=Posture.STANDING)
    place = locate_camera(subject, picture, question.lens, question.stature)
    if isinstance(place, NotMeasured):
        return place
    others = _others(measurement, question, (person, place))
    width_mm = used_width_mm(question.lens, picture)
    return _answer(
        (place, place.distance_m),
        (width_mm, width_mm * picture.h_px / picture.w_px),
        question,
        others,
    )


def plan_from_distance(distance_m: float, aspect: float, question: SetUpQuestion) -> SetUpAnswer:
    """Set-ups that start from a distance.

    Args:
        distance_m: from the lens to the subject.
        aspect: width over height of the picture.
        question: what is asked.

    Raises:
        ConfigError: the room is too small for anything.
    """
    width_mm, height_mm = question.lens.sensor_wh_mm
    used = used_sensor_mm((width_mm * question.lens.squeeze, height_mm), (aspect, 1.0))
    exact = Estimate(value=distance_m, low=distance_m, high=distance_m)
    return _answer((None, exact), used, question, ())


def _answer(
    found: tuple[CameraPlace | None, Estimate],
    used_wh_mm: tuple[float, float],
    question: SetUpQuestion,
    others: tuple[OtherPerson, ...],
) -> SetUpAnswer:
    place, distance_m = found
    most_m = question.place.most_distance_m
    if most_m is not None and most_m <= 0:
        raise ConfigError(
            f"a room of {question.place.depth_m:g} m leaves no distance: "
            f"{question.place.behind_camera_m:g} m behind the lens and "
            f"{question.place.behind_subject_m:g} m behind the subject are kept free"
        )
    now = SetUp(
        distance_m=distance_m.value,
        focal_mm=question.lens.focal_mm,
        used_wh_mm=used_wh_mm,
        behind_m=_behind_m(question, others),
        most_distance_m=most_m,
    )
    focals_mm = (*question.focals_mm, question.lens.focal_mm)
    return SetUpAnswer(
        place=place,
        distance_m=distance_m,
        now=now,
        lenses=compare_lenses(now, focals_mm),
        sizes=compare_sizes(now, _sizes(question), focals_mm),
        others=others,
        question=question,
    )


def _sizes(question: SetUpQuestion) -> list[tuple[str, str, tuple[float, float, float]]]:
    judging = load_judging(Settings(vocabularies=(question.vocabulary,)))
    height_m = question.stature.mean_m
    return [
        (
            field.name,
            field.abbr,
            (field.low * height_m, field.middle * height_m, field.high * height_m),
        )
        for field in size_fields(judging.vocabularies[0], judging.ranges)
    ]


def _behind_m(question: SetUpQuestion, others: Sequence[OtherPerson]) -> float:
    if question.behind_m is not None:
        return question.behind_m
    behind = [other.behind_m for other in others if other.behind_m >= NEAR_PERSON_M]
    wall_m = None if question.place.depth_m is None else question.place.behind_subject_m
    return min(behind, default=wall_m or DEFAULT_BEHIND_M)


def _others(
    measurement: FrameMeasurement, question: SetUpQuestion, subject: tuple[int, CameraPlace]
) -> tuple[OtherPerson, ...]:
    # Of the others nothing is known but how tall people are, and the camera is the same one.
    index, place = subject
    found = []
    for other in measurement.people:
        if other.person == index:
            continue
        seen = locate_camera(other, measurement.picture, question.lens, POPULATION)
        if isinstance(seen, CameraPlace):
            found.append(
                OtherPerson(
                    person=other.person,
                    behind_m=seen.ahead_m - place.ahead_m,
                    aside_m=seen.aside_m,
                    looks=place.ahead_m / seen.ahead_m,
                )
            )
    return tuple(found)
