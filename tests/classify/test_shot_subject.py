"""One person followed through the frames of a shot."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from framecheck.classify.shot_subject import follow_subject
from framecheck.records.judged import FrameJudgement, FrameResult, ShotType
from framecheck.records.values import NotMeasured


@pytest.fixture
def a_sample(a_person, a_picture, a_frame):
    """A frame with people, each told by keywords; the first is the frame's own main subject."""

    def build(time_s, *people):
        picture = a_picture(0.3)
        found = [a_person(picture, person=n, **told) for n, told in enumerate(people)]
        judgement = FrameJudgement(shot_type=ShotType.GROUP, sizes=(), flags=(), advice=())
        return FrameResult(
            file="a.mov", measurement=a_frame(picture, *found), judgement=judgement, time_s=time_s
        )

    return build


LEFT, RIGHT = {"x_px": 400}, {"x_px": 1200}


def test_a_subject_is_told_by_place_size_reading_and_turn(a_sample) -> None:
    (at,) = follow_subject([a_sample(1.5, {"x_px": 400, "yaw_deg": 20.0})])
    # nose at 0.09 of the figure below its crown; picture 1600 wide and 800 high
    assert (at.x_wfrac, at.y_frac) == (0.25, pytest.approx(190 / 800))
    assert at.log_scale == pytest.approx(math.log(1000 / 800))
    assert at.crop_level == pytest.approx(0.3)
    assert (at.sample, at.time_s, at.error_level, at.yaw_deg) == (0, 1.5, 0.02, 20.0)


def test_the_same_person_is_followed_when_another_comes_to_the_fore(a_sample) -> None:
    frames = [
        a_sample(0.0, RIGHT, LEFT),
        a_sample(1.0, LEFT, RIGHT),
        a_sample(2.0, RIGHT, LEFT),
        a_sample(3.0, LEFT, RIGHT),
    ]
    assert [at.x_wfrac for at in follow_subject(frames)] == [0.25, 0.25, 0.25, 0.25]


def test_somebody_slightly_nearer_does_not_take_over(a_sample) -> None:
    frames = [a_sample(0.0, {"x_px": 800}), a_sample(1.0, {"x_px": 900}, {"x_px": 800})]
    frames.append(a_sample(2.0, {"x_px": 900}))
    assert [at.x_wfrac for at in follow_subject(frames)] == [0.5, 0.5625, 0.5625]


def test_people_of_another_size_are_others(a_sample) -> None:
    near = {"x_px": 800, "figure_px": 2000.0}
    frames = [a_sample(0.0, {"x_px": 800}), a_sample(1.0, near, {"x_px": 700})]
    frames.append(a_sample(2.0, {"x_px": 800}))
    scales = [at.log_scale for at in follow_subject(frames)]
    assert scales[0] == scales[2]
    # the walk begins in the middle, with that frame's own main subject
    assert scales[1] != scales[0]
    assert follow_subject(frames[:2])[1].log_scale == scales[0]


def test_frames_without_anybody_are_left_out(a_sample) -> None:
    frames = [a_sample(0.0), a_sample(1.0, LEFT), a_sample(2.0)]
    assert [at.sample for at in follow_subject(frames)] == [1]
    assert follow_subject(frames[:1]) == ()


def test_a_scale_is_taken_from_the_head_where_the_figure_is_not_read(a_sample) -> None:
    frame = a_sample(0.0, LEFT)
    person = replace(
        frame.measurement.people[0],
        figure_frac=NotMeasured(reason="knees not seen"),
        crop_level=NotMeasured(reason="knees not seen"),
        head_yaw_deg=NotMeasured(reason="no face"),
        ruler=None,
    )
    measurement = replace(frame.measurement, people=(person,))
    (at,) = follow_subject([replace(frame, measurement=measurement)])
    assert at.log_scale == pytest.approx(math.log(1000 / 800))  # the head is 0.13 of 1000
    assert (at.crop_level, at.yaw_deg, at.error_level) == (None, None, 0.0)
    headless = replace(person, head_height_px=NotMeasured(reason="no face"))
    measurement = replace(frame.measurement, people=(headless,))
    (at,) = follow_subject([replace(frame, measurement=measurement)])
    assert at.log_scale is None
