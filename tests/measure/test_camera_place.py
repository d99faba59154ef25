"""The camera's place, against pinhole projections that are worked out here."""

import math
from dataclasses import replace

import pytest

from framecheck.geometry.ruler import MARK_LEVELS
from framecheck.measure.camera_place import (
    STANDING_LEVELS,
    focal_length_px,
    locate_camera,
    view_angles_deg,
)
from framecheck.records.framing import BodyRuler, Posture, RulerMark
from framecheck.records.lens import POPULATION, CameraPlace, Estimate, Lens, Stature
from framecheck.records.values import Box, NotMeasured
from tests.classify.conftest import build_person, build_picture

PICTURE = Box(x_px=0, y_px=0, w_px=1920, h_px=1080)
FULL_FRAME = (36.0, 24.0)
KNOWN = Stature(mean_m=1.75)


def seen_from(ahead_m, height_m, tilt_deg, *, focal_mm=50.0, aside_m=0.0, stature_m=1.75):
    """A person whose marks are where a pinhole camera sees them; world x right, y ahead, z up."""
    focal_px = focal_mm / 36.0 * 1920
    tilt = math.radians(tilt_deg)
    marks = []
    for name, level in STANDING_LEVELS.items():
        up_m = level * stature_m - height_m
        depth = ahead_m * math.cos(tilt) + up_m * math.sin(tilt)
        down = ahead_m * math.sin(tilt) - up_m * math.cos(tilt)
        x, y = 960 + focal_px * aside_m / depth, 540 + focal_px * down / depth
        inside = 0 <= y <= 1080
        marks.append(RulerMark(name=name, level=MARK_LEVELS[name], x_px=x, y_px=y, seen=inside))
    ruler = BodyRuler(marks=tuple(marks), figure_px=800.0, error_level=0.01)
    return replace(build_person(build_picture()), ruler=ruler, posture=Posture.STANDING)


def place_of(person, lens=None, stature=KNOWN) -> CameraPlace:
    lens = lens or Lens(focal_mm=50.0, sensor_wh_mm=FULL_FRAME)
    place = locate_camera(person, PICTURE, lens, stature)
    assert isinstance(place, CameraPlace)
    return place


@pytest.mark.parametrize(
    ("ahead_m", "height_m", "tilt_deg"), [(6, 1.5, 0), (6, 1.0, 3), (4, 1.75, -8), (12, 1.2, 0)]
)
def test_a_whole_figure_gives_distance_height_and_tilt(ahead_m, height_m, tilt_deg) -> None:
    place = place_of(
        seen_from(ahead_m, height_m, tilt_deg, focal_mm=35),
        Lens(focal_mm=35, sensor_wh_mm=FULL_FRAME),
    )
    true_m = math.hypot(ahead_m, 0.933 * 1.75 - height_m)
    assert place.distance_m.value == pytest.approx(true_m, rel=0.03)
    assert place.distance_m.low < true_m < place.distance_m.high
    assert isinstance(place.height_m, Estimate)
    assert place.height_m.low < height_m < place.height_m.high
    assert place.tilt_deg.low < tilt_deg < place.tilt_deg.high


def test_a_worked_distance() -> None:
    # 1.70 m seen 720 px of 1080 high on 36 mm wide 16:9 with 50 mm: 6.296 m (pinhole, D = f H / h)
    person = seen_from(6.296, 0.85, 0, stature_m=1.70)
    lens = Lens(focal_mm=50, sensor_wh_mm=FULL_FRAME, tilt_deg=0.0)
    marks = {mark.name: mark.y_px for mark in person.ruler.marks}
    per_level = (marks["sole"] - marks["crown"]) / (1.007 - 0.004)
    assert per_level == pytest.approx(720, abs=0.1)
    place = place_of(person, lens, Stature(mean_m=1.70))
    assert place.ahead_m == pytest.approx(6.296, rel=1e-3)


def test_what_is_known_of_the_camera_helps() -> None:
    tight = seen_from(1.0, 2.2, -30)
    free = place_of(tight)
    helped = place_of(tight, Lens(focal_mm=50, sensor_wh_mm=FULL_FRAME, tilt_deg=-30.0))
    true_m = math.hypot(1.0, 0.933 * 1.75 - 2.2)
    assert abs(helped.distance_m.value - true_m) < abs(free.distance_m.value - true_m)
    assert helped.distance_m.value == pytest.approx(true_m, rel=0.03)
    placed = place_of(
        seen_from(5, 0.4, 5), Lens(focal_mm=50, sensor_wh_mm=FULL_FRAME, height_m=0.4)
    )
    assert isinstance(placed.height_m, Estimate)
    assert placed.height_m.value == pytest.approx(0.4, abs=0.02)


def test_an_unknown_stature_widens_the_interval() -> None:
    person = seen_from(6, 1.5, 0)
    known, unknown = place_of(person).distance_m, place_of(person, stature=POPULATION).distance_m
    assert unknown.high / unknown.low > known.high / known.low
    assert unknown.value / known.value == pytest.approx(1.70 / 1.75, rel=0.01)


def test_distance_follows_the_lens_and_the_sensor() -> None:
    person = seen_from(6, 1.5, 0)
    at_100 = place_of(person, Lens(focal_mm=100, sensor_wh_mm=FULL_FRAME))
    assert at_100.ahead_m == pytest.approx(2 * place_of(person).ahead_m, rel=0.02)
    squeezed = Lens(focal_mm=50, sensor_wh_mm=(18.0, 24.0), squeeze=2.0)
    assert focal_length_px(squeezed, PICTURE) == pytest.approx(50 / 36 * 1920)


def test_aside_is_to_the_viewers_right() -> None:
    assert place_of(seen_from(6, 1.5, 0, aside_m=1.0)).aside_m == pytest.approx(1.0, rel=0.02)
    assert place_of(seen_from(6, 1.5, 0, aside_m=-1.0)).aside_m == pytest.approx(-1.0, rel=0.02)


def test_someone_who_sits_is_measured_by_the_head() -> None:
    person = replace(seen_from(3, 1.5, 0), posture=Posture.SEATED)
    place = place_of(person)
    assert set(place.marks) <= {"crown", "eye", "chin", "shoulder"}
    assert place.height_m == NotMeasured(reason="the person is seated")
    assert "head and shoulders" in place.notes[0]
    assert place.distance_m.value == pytest.approx(3.0, rel=0.05)
    # the height of the lens over the floor says nothing of someone whose height over it is unknown
    assert place_of(person, Lens(focal_mm=50, sensor_wh_mm=FULL_FRAME, height_m=0.2)) == place


def test_too_little_to_tell() -> None:
    person = seen_from(6, 1.5, 0)
    assert person.ruler is not None
    blind = replace(person.ruler, marks=tuple(replace(m, seen=False) for m in person.ruler.marks))
    lens = Lens(focal_mm=50, sensor_wh_mm=FULL_FRAME)
    for nobody in (replace(person, ruler=None), replace(person, ruler=blind)):
        found = locate_camera(nobody, PICTURE, lens)
        assert isinstance(found, NotMeasured)
        assert "too little" in found.reason


def test_angles_of_view_of_the_used_part() -> None:
    # 36 x 20.25 of 36 x 24 at 50 mm; 39.60 is the published width at 50 mm
    angles = view_angles_deg(Lens(focal_mm=50, sensor_wh_mm=FULL_FRAME), PICTURE)
    assert [round(angle, 2) for angle in angles] == [39.60, 22.90, 44.89]


@pytest.mark.parametrize("wrong", [{"mean_m": 0.1}, {"mean_m": 3.0}, {"mean_m": 1.7, "sd_m": 0.9}])
def test_statures_that_cannot_be(wrong) -> None:
    with pytest.raises(ValueError, match="stature"):
        Stature(**wrong)


def test_records_refuse_nonsense() -> None:
    with pytest.raises(ValueError, match="above 0"):
        Lens(focal_mm=0, sensor_wh_mm=FULL_FRAME)
    with pytest.raises(ValueError, match="own interval"):
        Estimate(value=1, low=2, high=3)
