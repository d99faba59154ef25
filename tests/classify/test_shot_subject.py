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


def without_sizes(frame):
    missing = NotMeasured(reason="hidden")
    people = tuple(
        replace(person, figure_frac=missing, head_height_px=missing)
        for person in frame.measurement.people
    )
    return replace(frame, measurement=replace(frame.measurement, people=people))


def test_where_no_size_is_read_the_place_alone_counts(a_sample) -> None:
    frames = [without_sizes(a_sample(float(t), LEFT, RIGHT)) for t in range(3)]
    frames[2] = without_sizes(a_sample(2.0, RIGHT, LEFT))
    found = follow_subject(frames)
    assert [at.x_wfrac for at in found] == [0.25, 0.25, 0.25]
    assert [at.log_scale for at in found] == [None] * 3


def test_the_ruler_tells_the_size_before_the_head_does(a_sample) -> None:
    frame = a_sample(0.0, LEFT)
    person = replace(frame.measurement.people[0], figure_frac=0.5, head_height_px=400.0)
    one = replace(frame, measurement=replace(frame.measurement, people=(person,)))
    assert follow_subject([one])[0].log_scale == pytest.approx(math.log(0.5))
    bare = replace(person, figure_frac=NotMeasured(reason="hidden"))
    other = replace(frame, measurement=replace(frame.measurement, people=(bare,)))
    # 400 px of head are 400 / 0.13 of figure, in a picture 800 px high
    assert follow_subject([other])[0].log_scale == pytest.approx(math.log(400 / 0.13 / 800))


def test_the_walk_begins_at_the_frame_nearest_to_the_middle(a_sample) -> None:
    """Of five the third, of four the second; its own main subject is the one that is followed."""
    for count, centre in ((5, 2), (4, 1), (2, 0)):
        frames = [a_sample(float(t), *((RIGHT, LEFT) if t == centre else (LEFT, RIGHT)))
                  for t in range(count)]  # fmt: skip
        assert {at.x_wfrac for at in follow_subject(frames)} == {0.75}


def test_each_further_person_is_other_to_the_main_subject(a_sample) -> None:
    """The second person is preferred only from 0.15 nearer on: 240 px of 1600."""
    for apart, followed in ((230, 0.5 + 230 / 1600), (250, 0.5)):
        frames = [a_sample(0.0, {"x_px": 800}),
                  a_sample(1.0, {"x_px": 800 + apart}, {"x_px": 800})]  # fmt: skip
        assert follow_subject(frames)[1].x_wfrac == pytest.approx(followed)


def test_nearness_counts_across_and_down_alike(a_sample) -> None:
    low = {"x_px": 800, "crown_px": 500.0}
    near = {"x_px": 1000}
    frames = [a_sample(0.0, {"x_px": 800}), a_sample(1.0, low, near)]
    # 400 px of 800 down are 0.5, 200 of 1600 across 0.125
    assert follow_subject(frames)[1].x_wfrac == pytest.approx(1000 / 1600)


def test_an_unknown_size_is_no_difference_of_size(a_sample) -> None:
    """The first is 0.2 away and of unknown size, the second 0.3 away and as large as before."""
    start = a_sample(0.0, {"x_px": 400})
    after = a_sample(1.0, {"x_px": 720}, {"x_px": 880})
    missing = NotMeasured(reason="hidden")
    first = replace(after.measurement.people[0], figure_frac=missing, head_height_px=missing)
    people = (first, after.measurement.people[1])
    after = replace(after, measurement=replace(after.measurement, people=people))
    assert follow_subject([start, after])[1].x_wfrac == pytest.approx(720 / 1600)


def test_sizes_are_compared_by_their_ratio(a_sample) -> None:
    """Twice as large at the same place is farther away than 0.4 of the width."""
    start = a_sample(0.0, {"x_px": 400})
    large = {"x_px": 400, "crown_px": 10.0, "figure_px": 2000.0}
    frames = [start, a_sample(1.0, large, {"x_px": 1040})]
    assert follow_subject(frames)[1].x_wfrac == pytest.approx(1040 / 1600)


def test_places_are_told_within_the_active_picture(a_sample, a_person, a_picture, a_frame) -> None:
    picture = a_picture(0.3, top_px=-200.0, left_px=400.0, w_px=1000.0)
    frame = a_sample(0.0, LEFT)
    placed = replace(frame, measurement=a_frame(picture, a_person(picture, x_px=900.0)))
    (at,) = follow_subject([placed])
    assert (at.x_wfrac, at.y_frac) == (pytest.approx(0.5), pytest.approx((190 + 200) / 1000))
