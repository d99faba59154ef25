"""One shot: how many of its frames are measured, and what is said of one in which nothing moves."""

from fractions import Fraction

import numpy as np
import pytest

from framecheck.pipeline.looks import reduce_picture
from framecheck.pipeline.settings import Settings, load_judging
from framecheck.pipeline.shot import ShotTask, ShotWork
from framecheck.records.clips import SampledFrame, ShotSpan, ShotTake, Transition
from framecheck.records.picture import Picture
from framecheck.records.values import Box
from tests.pipeline.fakes import FakeMeasurer
from tests.pipeline.test_parts import a_header

SIZE_TENTHS = 20


def a_take(*levels):
    """Samples a second apart, of the given brightness below the line that the fake reads."""
    samples = []
    for second, level in enumerate(levels):
        rgb = np.full((90, 160, 3), level, np.uint8)
        rgb[0] = SIZE_TENTHS
        box = Box(x_px=0, y_px=0, w_px=160, h_px=90)
        picture = Picture(rgb=rgb, active=box, name="fake")
        samples.append(SampledFrame(frame=25 * second, time_s=Fraction(second), picture=picture))
    count = 25 * len(levels)
    span = ShotSpan(
        shot=0, start_frame=0, end_frame=count, start_s=Fraction(0), end_s=Fraction(count, 25),
        transition=Transition.START, clean_from_frame=0, clean_to_frame=count,
    )  # fmt: skip
    return ShotTake(span=span, samples=tuple(samples))


def summarise(take):
    """The summary of the shot, measured by the fake."""
    work = ShotWork(measurer=FakeMeasurer(), judging=load_judging(Settings()))
    measuring = work(ShotTask(file="a", header=a_header(25), take=take))
    try:
        while True:
            next(measuring)
    except StopIteration as end:
        return end.value.result.summary


def test_where_nothing_moves_one_frame_tells_that_nobody_does():
    summary = summarise(a_take(50, 50, 52, 50, 50))
    assert (summary.samples, summary.frame, summary.subject_moves) == (1, 50, False)
    assert "nothing moves" in summary.notes


def test_ends_that_agree_tell_the_shot_and_the_middle_when_it_shows_something_else():
    assert summarise(a_take(50, 60, 70, 80, 90)).samples == 3  # each second shows something else
    quiet = summarise(a_take(50, 52, 54, 56, 58))
    assert (quiet.samples, quiet.subject_moves) == (2, False)
    assert "nothing moves" not in quiet.notes


def test_one_sample_alone_does_not_tell_that_nothing_moves():
    assert summarise(a_take(50)).subject_moves is None


@pytest.mark.parametrize("size_wh", [(1280, 720), (720, 1280), (160, 90), (33, 17)])
def test_a_look_is_small_and_keeps_the_levels(size_wh):
    width, height = size_wh
    rgb = np.zeros((height, width, 3), np.uint8)
    rgb[:, width // 2 :] = (200, 100, 50)
    box = Box(x_px=0, y_px=0, w_px=width, h_px=height)
    look = reduce_picture(Picture(rgb=rgb, active=box))
    assert look.shape[0] * look.shape[1] <= 130 * 75
    assert look[0, 0].tolist() == [0, 0, 0]
    assert look[-1, -1].tolist() == [200, 100, 50]
