"""The bench of sequences judges what it should: its plans and its truth, without rendering."""

import pytest

from framecheck.records.coverage import CutThresholds, Verdict
from tests.bench.cuts import is_clear, true_angle_deg, true_differences, true_ratio, true_verdict

LIMITS = CutThresholds()


def a_shot(*, head_px=180.0, height_px=720, bearing=0.0, eyes_px=250.0, yaw=20.0, pitch=0.0):
    person = {
        "ruler": {"head_height_px": head_px},
        "marks_px": {"eye_left": [600.0, eyes_px], "eye_right": [640.0, eyes_px]},
        "head_yaw_deg": yaw, "head_pitch_deg": pitch,
    }  # fmt: skip
    return {"people": [person], "picture_xywh_px": [0, 0, 1280, height_px],
            "camera_bearing_deg": bearing}  # fmt: skip


def test_truth_of_a_cut_by_hand() -> None:
    before, after = a_shot(bearing=170.0), a_shot(head_px=135.0, height_px=360, bearing=-160.0)
    assert true_ratio(before, after) == pytest.approx(1.5)  # a quarter, then three eighths
    assert true_angle_deg(before, after) == pytest.approx(30.0)


@pytest.mark.parametrize(
    ("ratio", "angle", "same", "verdict"),
    [
        (1.0, 10, True, Verdict.TOO_SIMILAR),
        (1.0, 10, False, Verdict.COMFORTABLE),
        (1.0, 40, True, Verdict.COMFORTABLE),
        (0.7, 0, True, Verdict.COMFORTABLE),
        (0.25, 0, True, Verdict.VERY_LARGE),
        (4.0, 90, False, Verdict.VERY_LARGE),
    ],
)
def test_what_ought_to_be_said(ratio, angle, same, verdict) -> None:
    assert true_verdict(ratio, angle, same=same, limits=LIMITS) is verdict


@pytest.mark.parametrize(
    ("ratio", "angle", "same", "clear"),
    [
        (1.0, 10, True, True),
        (1.0, 25, True, False),  # the angle decides, and is near its limit
        (1.5, 25, True, True),
        (1.21, 0, True, False),
        (1.21, 60, True, True),  # whatever the size, the angle is enough
        (1.21, 0, False, True),  # another person
        (3.4, 0, False, False),
    ],
)
def test_what_is_clear_of_the_thresholds(ratio, angle, same, clear) -> None:
    assert is_clear(ratio, angle, same=same, limits=LIMITS) is clear
    assert is_clear(1 / ratio, angle, same=same, limits=LIMITS) is clear


def test_differences_of_a_pair_by_hand() -> None:
    one, other = a_shot(yaw=20.0), a_shot(yaw=-45.0, eyes_px=322.0, pitch=15.0, head_px=270.0)
    assert true_differences(one, other) == {
        "size": pytest.approx(1.5), "eye line": pytest.approx(0.1),
        "closeness": pytest.approx(25.0), "lens height": pytest.approx(15.0),
    }  # fmt: skip


def test_the_plans_of_a_set() -> None:
    """Needs the rendering packages, as the other tests of the stage do."""
    for package in ("anny", "pyvista"):
        pytest.importorskip(package)
    from tests.bench.cut_scenes import plan_set

    plans = plan_set(7, 9, 6)
    assert [plan.kind for plan in plans] == ["pair"] * 9 + ["conversation"] * 6
    assert [len({shot.who for shot in plan.shots}) for plan in plans[:3]] == [1, 1, 2]
    assert [plan.tags for plan in plans[9:12]] == [("matched",), ("fault",), ("crossed",)]
    assert len({shot.side for shot in plans[9].shots}) == 1
    assert len({shot.side for shot in plans[11].shots}) == 2
    assert plans == plan_set(7, 9, 6)
    assert plans != plan_set(8, 9, 6)
