"""Which frames of a shot are measured: few in a steady one, more where something happens."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from framecheck.classify.shot_sampling import count_useful, is_still, needs_more
from framecheck.records.judged import FrameJudgement, FrameResult, ShotType, SizeName
from framecheck.records.values import NotMeasured


def times(*seconds):
    return [Fraction(str(second)) for second in seconds]


def a_size(name):
    return SizeName(vocabulary="trade", name=name, abbr=name, confidence=0.9, second="")


def looks(*levels, cells=100):
    """Pictures of one level each; a pair (level, n) has that level in the first n cells only."""
    made = []
    for level in levels:
        value, count = level if isinstance(level, tuple) else (level, cells)
        look = np.zeros((10, 10, 3), np.float32)
        look.reshape(-1, 3)[:count] = value
        made.append(look)
    return made


NINE = times(0, 1, 2, 3, 4, 5, 6, 7, 8)


@pytest.fixture
def a_sample(a_person, a_picture, a_frame):
    def build(*, crop=0.6, people=1, shot_type=ShotType.SINGLE, name="", **person):
        picture = a_picture(crop)
        found = [a_person(picture, person=n, **person) for n in range(people)]
        sizes = (a_size(name),) if name else ()
        judgement = FrameJudgement(shot_type=shot_type, sizes=sizes, flags=(), advice=())
        return FrameResult(file="a", measurement=a_frame(picture, *found), judgement=judgement)

    return build


@pytest.mark.parametrize(
    ("times_s", "first"),
    [
        pytest.param(times(3), (0,), id="one frame"),
        pytest.param(times(0, 0.2), (0,), id="very short"),
        pytest.param(times(0, 0.1, 0.3), (1,), id="very short, the middle"),
        pytest.param(times(0, 0.5, 0.9), (0, 2), id="short"),
        pytest.param(times(0, 0.5, 1.0), (0, 2), id="start and end"),
        pytest.param(times(0, 3, 5, 8), (0, 1, 3), id="the middle is nearest in time"),
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


@pytest.mark.parametrize(
    ("start", "middle", "end", "more"),
    [
        pytest.param({"crop": 0.5}, {"crop": 0.6}, {"crop": 0.7}, (), id="an even push-in"),
        pytest.param({"crop": 0.5}, {"crop": 0.55}, {"crop": 0.7}, (6,), id="nearly even"),
        pytest.param({"crop": 0.5}, {"crop": 0.5}, {"crop": 0.7}, (6,), id="late"),
        pytest.param({"crop": 0.7}, {"crop": 0.5}, {"crop": 0.5}, (2,), id="early"),
        pytest.param({"x_px": 600}, {"x_px": 960}, {"x_px": 1320}, (), id="an even crossing"),
        pytest.param({"x_px": 600}, {"x_px": 1320}, {"x_px": 600}, (2, 6), id="there and back"),
        pytest.param({"yaw_deg": -45.0}, {"yaw_deg": 0.0}, {"yaw_deg": 45.0}, (2, 6), id="a turn"),
        pytest.param(
            {"crop": 0.5}, {"crop": 0.6, "people": 2}, {"crop": 0.7}, (2, 6), id="somebody more"
        ),
    ],
)
def test_an_even_change_is_told_by_three_frames(a_sample, start, middle, end, more) -> None:
    measured = {0: a_sample(**start), 4: a_sample(**middle), 8: a_sample(**end)}
    assert needs_more(NINE, measured) == more


def test_an_even_change_in_a_long_shot_is_not_looked_into_further(a_sample) -> None:
    long = [3 * t for t in NINE]
    measured = {n: a_sample(crop=0.4 + 0.04 * n) for n in (0, 2, 4, 6, 8)}
    assert needs_more(long, measured) == ()
    # the stretch beside an uneven one is looked into unless it goes on evenly on its other side
    assert needs_more(long, measured | {8: a_sample(crop=0.95)}) == (7,)


def test_the_ends_that_differ_bring_the_middle_however_near_they_are(a_sample) -> None:
    short = times(0, 0.6, 1.2)
    assert needs_more(short, {0: a_sample(), 2: a_sample()}) == ()
    assert needs_more(short, {0: a_sample(), 2: a_sample(crop=0.7)}) == (1,)
    assert needs_more(short, {0: a_sample(name="MS"), 2: a_sample(name="CU")}) == (1,)
    assert needs_more(short, {0: a_sample(), 1: a_sample(), 2: a_sample(crop=0.7)}) == ()


def test_where_nothing_moves_one_frame_tells_it_all() -> None:
    assert needs_more(NINE, {}, looks(*[50, 53, 50, 56, 50, 50, 50, 50, 50])) == (4,)
    assert needs_more(NINE, {}, looks(*[50] * 8, 57)) == (0, 4, 8)
    assert needs_more(NINE[:1], {}, looks(50)) == (0,)


def test_one_cell_that_changes_is_movement() -> None:
    assert is_still(looks(50, 56, 44))
    assert not is_still(looks(0, (7, 1)))
    assert not is_still(looks(50))  # nothing to compare it with


def test_what_comes_and_goes_between_the_ends_is_measured(a_sample) -> None:
    same = a_sample()
    five = times(0, 1, 2, 3, 4)
    ends = {0: same, 4: same}
    assert needs_more(five, ends, looks(0, 0, (13, 5), 0, 0)) == (2,)
    assert needs_more(five, ends, looks(0, 0, (13, 4), 0, 0)) == ()
    assert needs_more(five, ends, looks(0, 0, (12, 100), 0, 0)) == ()
    # a camera that pans shows something else everywhere; half-way is looked at, no further
    measured = {0: same, 4: same, 8: same}
    assert needs_more(NINE, measured, looks(*range(0, 180, 20))) == ()
    # half-way it shows what the end shows as well
    assert needs_more(five, ends, looks(0, 0, 90, 90, 90)) == ()


@pytest.mark.parametrize(
    ("seconds", "count"), [("0", 3), ("4", 3), ("4.1", 5), ("8", 5), ("8.1", 9), ("600", 9)]
)
def test_so_many_frames_are_useful(seconds, count) -> None:
    assert count_useful(Fraction(seconds)) == count


@pytest.mark.parametrize("seconds", ["1", "4", "4.1", "8"])
def test_no_more_than_the_useful_frames_are_asked_for(a_sample, seconds) -> None:
    times_s = [Fraction(seconds) * n / 16 for n in range(17)]
    measured = {}
    while more := needs_more(times_s, measured):
        measured |= {index: a_sample(people=index) for index in more}  # each differs from all
    assert len(measured) == count_useful(Fraction(seconds))


def without(frame, **missing):
    """The frame with readings of its people taken away."""
    people = tuple(replace(p, **missing) for p in frame.measurement.people)
    return replace(frame, measurement=replace(frame.measurement, people=people))


HIDDEN = NotMeasured(reason="hidden")


def test_a_turn_that_is_not_read_is_no_difference(a_sample) -> None:
    turned = a_sample(yaw_deg=60.0)
    unread = without(a_sample(), head_yaw_deg=HIDDEN)
    assert needs_more(NINE, {0: a_sample(), 4: turned, 8: turned}) == (2,)
    assert needs_more(NINE, {0: unread, 4: turned, 8: turned}) == ()
    assert needs_more(NINE, {0: turned, 4: turned, 8: unread}) == ()
    assert needs_more(NINE, {0: unread, 4: unread, 8: unread}) == ()


def test_a_line_goes_through_what_is_read(a_sample) -> None:
    """The crop level is missing at one end: the place alone tells whether the way is even."""
    for xs, more in (((500, 800, 1100), ()), ((500, 500, 1100), (6,))):
        for place in (0, 2):
            three = [a_sample(x_px=x) for x in xs]
            three[place] = without(three[place], crop_level=HIDDEN)
            assert needs_more(NINE, dict(zip((0, 4, 8), three, strict=True))) == more


def test_a_gap_without_frames_hides_none_of_the_others(a_sample) -> None:
    """Of 0, 4 and 12 s the first two have nothing between them; half-way to the third is 8 s."""
    measured = {0: a_sample(), 1: a_sample(crop=0.7), 4: a_sample(crop=0.3)}
    assert needs_more(times(0, 4, 6, 8, 12), measured) == (3,)


def test_a_turn_makes_no_even_change(a_sample) -> None:
    """The head turns there and back while the place goes on evenly."""
    turns = ((0.0, 40.0, 80.0), (0.0, 0.0, 40.0), (0.0, 40.0, 40.0), (0.0, -25.0, 10.0),
             (0.0, 20.0, 40.0), (0.0, 40.0, 20.0))  # fmt: skip
    for yaws in turns:
        xs = (600, 850, 1100)
        three = [a_sample(x_px=x, yaw_deg=yaw) for x, yaw in zip(xs, yaws, strict=True)]
        assert needs_more(NINE, dict(zip((0, 4, 8), three, strict=True))) == (2, 6)
    even = [a_sample(x_px=x) for x in (600, 850, 1100)]
    assert needs_more(NINE, dict(zip((0, 4, 8), even, strict=True))) == ()


def test_a_shot_late_in_its_clip_is_looked_at_alike(a_sample) -> None:
    """Times are those of the shot, not of the clip: a minute later nothing is different."""
    later = [t + 60 for t in NINE]
    short = times(60, 60.1, 60.3)
    assert needs_more(later, {}) == needs_more(NINE, {}) == (0, 4, 8)
    assert needs_more(short, {}) == (1,)
    one, other = a_sample(name="medium"), a_sample(name="close-up")
    near = times(60, 60.3, 60.6)
    assert needs_more(near, {0: one, 2: other}) == ()
    assert needs_more(times(60, 60.6, 61.2), {0: one, 2: other}) == (1,)


def test_only_the_chosen_vocabulary_tells_a_difference(a_sample) -> None:
    one = a_sample(name="medium")
    sizes = (*one.judgement.sizes, a_size("bust"))
    other = replace(one, judgement=replace(one.judgement, sizes=sizes))
    assert needs_more(times(0, 1, 2), {0: one, 2: other}) == ()
