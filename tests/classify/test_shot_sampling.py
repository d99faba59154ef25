"""Which frames of a shot are measured: few in a steady one, more where something happens."""

from __future__ import annotations

from fractions import Fraction

import pytest

from framecheck.classify.shot_sampling import needs_more
from framecheck.records.judged import FrameJudgement, FrameResult, ShotType


def times(*seconds):
    return [Fraction(str(second)) for second in seconds]


NINE = times(0, 1, 2, 3, 4, 5, 6, 7, 8)


@pytest.fixture
def a_sample(a_person, a_picture, a_frame):
    def build(*, crop=0.6, people=1, shot_type=ShotType.SINGLE, **person):
        picture = a_picture(crop)
        found = [a_person(picture, person=n, **person) for n in range(people)]
        judgement = FrameJudgement(shot_type=shot_type, sizes=(), flags=(), advice=())
        return FrameResult(file="a", measurement=a_frame(picture, *found), judgement=judgement)

    return build


@pytest.mark.parametrize(
    ("times_s", "first"),
    [
        pytest.param(times(3), (0,), id="one frame"),
        pytest.param(times(0, 0.2), (0,), id="very short"),
        pytest.param(times(0, 0.1, 0.3), (1,), id="very short, the middle"),
        pytest.param(times(0, 0.5, 0.9), (0, 2), id="short"),
        pytest.param(times(0, 0.5, 1.0), (0, 1, 2), id="start, middle and end"),
        pytest.param(times(0, 0.2, 0.4, 2.0), (0, 2, 3), id="the middle is nearest in time"),
        pytest.param(NINE, (0, 4, 8), id="eight seconds"),
        pytest.param([3 * t for t in NINE], (0, 2, 4, 6, 8), id="a long one"),
        pytest.param([60 * t for t in NINE], tuple(range(9)), id="a very long one"),
        pytest.param(times(0, 30), (0, 1), id="nothing between"),
    ],
)
def test_the_first_frames_depend_on_the_length(times_s, first) -> None:
    assert needs_more(times_s, {}) == first


def test_a_steady_shot_needs_no_more(a_sample) -> None:
    same = a_sample()
    assert needs_more(NINE, {0: same, 4: same, 8: same}) == ()


@pytest.mark.parametrize(
    "other",
    [
        pytest.param({"crop": 0.7}, id="another cut"),
        pytest.param({"figure_px": 1200.0}, id="nearer"),
        pytest.param({"x_px": 1050}, id="elsewhere"),
        pytest.param({"yaw_deg": 45.0}, id="turned"),
        pytest.param({"people": 2}, id="somebody more"),
        pytest.param({"people": 0}, id="nobody"),
        pytest.param({"shot_type": ShotType.OVER_THE_SHOULDER}, id="another type"),
    ],
)
def test_more_is_measured_between_neighbours_that_differ(a_sample, other) -> None:
    same, new = a_sample(), a_sample(**other)
    assert needs_more(NINE, {0: same, 4: same, 8: new}) == (6,)
    assert needs_more(NINE, {0: new, 4: same, 8: new}) == (2, 6)


@pytest.mark.parametrize(
    "other",
    [{"crop": 0.63}, {"figure_px": 1050.0}, {"x_px": 900}, {"yaw_deg": 20.0}],
    ids=lambda other: next(iter(other)),
)
def test_what_is_within_the_errors_is_no_difference(a_sample, other) -> None:
    assert needs_more(NINE, {0: a_sample(), 4: a_sample(**other), 8: a_sample()}) == ()


def test_it_ends_where_neighbours_are_near_enough(a_sample) -> None:
    measured = {0: a_sample(), 4: a_sample(), 8: a_sample(people=2)}
    for _ in range(5):
        more = needs_more(NINE, measured)
        if not more:
            break
        assert not set(more) & set(measured)
        measured |= {index: a_sample(people=2) for index in more}
    assert sorted(measured) == [0, 4, 6, 8]  # 4 and 6 are 2 s apart


def test_a_subject_that_cannot_be_read_is_no_difference(a_sample, a_picture) -> None:
    nobody = a_sample(people=0)
    assert needs_more(NINE, {0: nobody, 4: nobody, 8: nobody}) == ()
