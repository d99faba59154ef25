"""Scores by group, calibration, counting and posture, on made-up cases counted by hand."""

import math

import pytest

from framecheck.bench.groups import by_tag, tag_text, tone_differences, tone_text
from framecheck.bench.score import Case, Found, confidence_figures, figures, pitch_class
from framecheck.bench.truth import is_upright, tags_of

HEAD = ((100.0, 100.0), 40.0)


def a_case(true_heads: int, found_heads: int, **more: object) -> Case:
    rank = 0 if true_heads and found_heads else None
    found = Found(heads=[HEAD] * found_heads, subject_rank=rank)
    case = Case(
        name="x", tags=(), truth=Found(heads=[HEAD] * true_heads), found=found, near_border=False
    )
    for name, value in more.items():
        setattr(case, name, value)
    return case


def a_row(confidence: float, *, right: bool) -> Case:
    case = a_case(1, 1)
    case.truth.band = "medium"
    case.found.row_size, case.found.row_confidence = ("medium" if right else "wide"), confidence
    return case


def test_counts_are_scored_apart_by_how_many_there_are() -> None:
    cases = [
        a_case(1, 1), a_case(3, 2), a_case(0, 0), a_case(0, 1),
        a_case(4, 5), a_case(6, 3), a_case(5, 4), a_case(9, 7),
    ]  # fmt: skip
    found = figures(cases)
    assert found["count_right_1_to_3"] == pytest.approx(1 / 2)
    assert found["count_within_one_4_to_6"] == pytest.approx(2 / 3)
    assert found["count_within_two_7_to_12"] == 1.0
    assert found["nobody_counted_where_nobody_is"] == pytest.approx(1 / 2)


def test_over_the_shoulder_by_hand() -> None:
    """Two true, three told, one of them right: precision 1/3, recall 1/2, F1 2/5."""
    names = [("over-the-shoulder", "over-the-shoulder"), ("over-the-shoulder", "two")]
    names += [("two", "over-the-shoulder"), ("single", "over-the-shoulder"), ("two", "two")]
    cases = []
    for true, told in names:
        case = a_case(1, 1)
        case.truth.shot_type, case.found.shot_type = true, told
        cases.append(case)
    found = figures(cases)
    assert found["over_shoulder_precision"] == pytest.approx(1 / 3)
    assert found["over_shoulder_recall"] == pytest.approx(1 / 2)
    assert found["over_shoulder_f1"] == pytest.approx(2 / 5)


def test_the_upright_and_the_bent_are_scored_apart() -> None:
    cases = []
    for upright, error in [(True, 0.01), (True, 0.01), (False, 0.2)]:
        case = a_case(1, 1, upright=upright)
        case.truth.crop_level, case.found.crop_level = 0.5, 0.5 + error
        cases.append(case)
    found = figures(cases)
    assert found["crop_level_error_p90_upright"] == pytest.approx(0.01)
    assert found["crop_level_error_p90_bent"] == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("pitch_deg", "name"),
    [(0, "level"), (9.9, "level"), (10, "low"), (44, "low"), (-10, "high"), (-9.9, "level")],
)
def test_a_camera_that_looks_up_is_low(pitch_deg: float, name: str) -> None:
    assert pitch_class(pitch_deg) == name


def test_pitch_classes_are_not_scored_beside_their_border() -> None:
    cases = []
    for true, found in [(20.0, 15.0), (-30.0, 5.0), (8.0, 12.0), (0.0, None)]:
        case = a_case(1, 1)
        case.truth.pitch_deg, case.found.pitch_deg = true, found
        cases.append(case)
    assert figures(cases)["pitch_class_right"] == pytest.approx(1 / 2)


def test_the_calibration_error_by_hand() -> None:
    """At 0.95 nine of ten right, at 0.55 one of two: (10 * 0.05 + 2 * 0.05) / 12."""
    cases = [a_row(0.95, right=k > 0) for k in range(10)]
    cases += [a_row(0.55, right=True), a_row(0.55, right=False), a_case(1, 1)]
    found = confidence_figures(cases)
    assert found["calibration_error"] == pytest.approx((10 * 0.05 + 2 * 0.05) / 12)
    assert found["sure_rows_right"] == pytest.approx(0.9)
    assert (found["sure_rows"], found["sized_rows"]) == (10, 12)


def test_a_size_told_where_nobody_is_is_wrong() -> None:
    case = a_case(0, 1)
    case.found.row_size, case.found.row_confidence = "medium", 1.0
    found = confidence_figures([case])
    assert found["sure_rows_right"] == 0.0
    assert found["calibration_error"] == 1.0
    assert math.isnan(confidence_figures([])["calibration_error"])


def test_groups_of_fewer_than_four_frames_are_left_out() -> None:
    cases = [a_case(1, 1, tags=("hat", "tone deep")) for _ in range(4)]
    cases += [a_case(1, 0, tags=("hat",)) for _ in range(3)]
    cases += [a_case(1, 0, tags=("rare",))]
    groups = by_tag(cases)
    assert set(groups) == {"hat", "tone deep"}
    assert groups["hat"]["subject_found"] == pytest.approx(4 / 7)
    assert groups["tone deep"]["subject_found"] == 1.0
    text = tag_text(groups, by_tag(cases))
    assert [row.split()[0] for row in text.splitlines()] == ["tag", "hat", "tone"]


def test_tones_are_compared_with_the_mean_of_the_tones() -> None:
    """Found 4 of 4 and 2 of 4: the mean is three quarters, a quarter above and below."""
    cases = [a_case(1, 1, tags=("tone deep",)) for _ in range(4)]
    cases += [a_case(1, k % 2, tags=("tone light",)) for k in range(4)]
    groups = by_tag(cases)
    gaps = tone_differences(groups)
    assert gaps["tone deep"]["subject_found"] == pytest.approx(0.25)
    assert gaps["tone light"]["subject_found"] == pytest.approx(-0.25)
    assert "50.0 %  -25.0 (se 25.0)" in tone_text(groups)
    assert tone_differences({}) == {}


def person(hip: tuple[float, float, float], posture: str = "standing") -> dict[str, object]:
    marks: dict[str, list[float]] = {}
    for name, place in {"shoulder": (0.0, 0.0, 3.0), "hip": hip, "ankle": (0.0, 1.0, 3.0)}.items():
        marks |= {f"{name}_left": list(place), f"{name}_right": list(place)}
    return {"posture": posture, "marks_m": marks}


def test_who_bends_or_sits_is_not_upright() -> None:
    """Hip on the line from shoulder to ankle, and 30 cm behind its middle: 62 degrees."""
    assert is_upright(person((0, 0.5, 3)))
    assert not is_upright(person((0, 0.5, 3.3)))
    assert not is_upright(person((0, 0.5, 3), posture="seated"))
    lost = person((0, 0.5, 3))
    lost["marks_m"]["ankle_left"] = None  # type: ignore[index]
    assert is_upright(lost)


def test_a_frame_bears_the_tags_of_its_main_subject() -> None:
    main = person((0, 0.5, 3), posture="seated")
    main |= {"tags": ["tone deep"], "facing": "away", "occluded_frac": 0.3}
    truth = {
        "tags": ["crowd"], "people": [main, {"tags": ["tone light"]}],
        "camera": {"pitch_deg": -30.0},
    }  # fmt: skip
    assert set(tags_of(truth)) == {
        "crowd", "people 2", "camera steep", "tone deep", "facing away", "occluded", "bent",
    }  # fmt: skip
    assert tags_of({"people": [], "camera": {"pitch_deg": 0.0}}) == ("people 0",)
