"""Distances from the exact marks of rendered scenes, so that no network is asked."""

import math
from pathlib import Path

import pytest

from framecheck.bench.truth import read_frames, truth_measurement, truth_ruler
from framecheck.records.judged import FrameJudgement, FrameResult, ShotType
from tests.bench.deliveries import report as report_deliveries
from tests.bench.distance import report

SCENES = Path(__file__).parent / "scenes"
NOTHING = FrameJudgement(shot_type=ShotType.SINGLE, sizes=(), flags=(), advice=())


@pytest.fixture(scope="module")
def scenes():
    frames = [
        frame
        for frame in read_frames(SCENES)
        if frame.people and all(truth_ruler(person) for person in frame.people)
    ]
    results = {
        frame.path.name: FrameResult(
            file=frame.path.name, measurement=truth_measurement(frame), judgement=NOTHING
        )
        for frame in frames
    }
    return frames, results


def test_exact_marks_give_the_distance_of_the_camera(scenes) -> None:
    found = report(*scenes)["standing"]
    assert found["scenes"] >= 60
    assert found["median_error"] <= 0.03
    assert abs(found["bias"]) <= 0.03
    # nine of ten are stated; so many scenes tell that to within two standard errors
    slack = 2 * math.sqrt(0.9 * 0.1 / found["scenes"])
    assert abs(found["held_unknown"] - 0.9) <= slack


def test_exact_rulers_are_exact_in_every_delivery_frame(scenes) -> None:
    for name, errors in report_deliveries(*scenes).items():
        assert errors["read"] >= 50, name
        assert errors["median"] < 1e-3, name
