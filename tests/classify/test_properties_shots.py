"""What holds for the frames of every shot: backwards, slower, in the mirror."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.classify.shot_change import (
    name_change,
    samples_in_motion,
    tell_movement,
    turned_deg,
)
from framecheck.classify.shot_sampling import count_useful, is_still, needs_more
from framecheck.classify.shot_subject import SubjectAt, follow_subject
from framecheck.classify.shot_summary import summarise_shot, time_shares
from framecheck.records.clips import ShotSpan, SizeChange, Transition
from framecheck.records.judged import FrameJudgement, FrameResult, ShotType, SizeName
from tests.classify.conftest import build_frame, build_person, build_picture
from tests.classify.mirrors import mirrored
from tests.steady import FEW, STEADY

BACKWARDS = {
    SizeChange.STEADY: SizeChange.STEADY,
    SizeChange.TIGHTENING: SizeChange.WIDENING,
    SizeChange.WIDENING: SizeChange.TIGHTENING,
}
TURNS = st.integers(-720, 720).map(float)
HUNDREDTHS = st.integers(0, 100).map(lambda n: n / 100)


@STEADY
@given(TURNS, TURNS)
def test_the_smaller_angle_between_two_directions(one, other) -> None:
    """By the vectors that point there."""
    a, b = (np.array([np.cos(np.radians(x)), np.sin(np.radians(x))]) for x in (one, other))
    expected = 2 * np.degrees(np.arctan2(np.linalg.norm(a - b), np.linalg.norm(a + b)))
    assert turned_deg(one, other) == pytest.approx(expected, abs=1e-6)
    assert turned_deg(one, other) == turned_deg(other, one)


@st.composite
def walks(draw) -> list[SubjectAt]:
    """A subject in some frames of a shot, some readings missing."""
    found = []
    for sample in range(draw(st.integers(0, 7))):
        missing = draw(st.integers(0, 9))
        found.append(
            SubjectAt(
                sample=sample, time_s=float(sample), x_wfrac=draw(HUNDREDTHS),
                y_frac=draw(HUNDREDTHS), error_level=0.02,
                log_scale=None if missing == 0 else draw(HUNDREDTHS),
                crop_level=None if missing == 1 else draw(HUNDREDTHS),
                yaw_deg=None if missing == 2 else draw(TURNS),
            )
        )  # fmt: skip
    return found


def again(walk, *, times=1.0, mirror=False, back=False):
    made = [
        SubjectAt(
            sample=at.sample, time_s=times * at.time_s,
            x_wfrac=1 - at.x_wfrac if mirror else at.x_wfrac, y_frac=at.y_frac,
            log_scale=at.log_scale, crop_level=at.crop_level, error_level=at.error_level,
            yaw_deg=-at.yaw_deg if mirror and at.yaw_deg is not None else at.yaw_deg,
        )
        for at in walk
    ]  # fmt: skip
    if not back:
        return made
    times_s = [at.time_s for at in made]
    turned = [{name: getattr(at, name) for name in SubjectAt.__slots__} for at in made[::-1]]
    return [SubjectAt(**{**row, "time_s": t}) for row, t in zip(turned, times_s, strict=True)]


@STEADY
@given(walks())
def test_backwards_a_shot_changes_the_other_way(walk) -> None:
    back = again(walk, back=True)
    assert name_change(back) is BACKWARDS[name_change(walk)]
    assert tell_movement(back) is tell_movement(walk)
    assert samples_in_motion(back) == samples_in_motion(walk)


@STEADY
@given(walks(), st.sampled_from([0.5, 4.0]))
def test_a_mirror_changes_nothing_and_time_only_the_motion(walk, times) -> None:
    mirror = again(walk, mirror=True)
    assert name_change(mirror) is name_change(walk)
    assert tell_movement(mirror) is tell_movement(walk)
    slower = again(walk, times=times)
    assert name_change(slower) is name_change(walk)
    assert tell_movement(slower) is tell_movement(walk)
    less, more = sorted((times, 1.0))
    assert samples_in_motion(again(walk, times=more)) <= samples_in_motion(again(walk, times=less))


@STEADY
@given(walks())
def test_steady_means_less_than_the_least_change_in_any_pair(walk) -> None:
    levels = [at.crop_level for at in walk if at.crop_level is not None]
    scales = [at.log_scale for at in walk if at.log_scale is not None]
    still = all(max(v, default=0) - min(v, default=0) == 0 for v in (levels, scales))
    if still:
        assert name_change(walk) is SizeChange.STEADY


TIMES = st.lists(st.integers(0, 300), min_size=1, max_size=9, unique=True).map(
    lambda times: [t / 25 for t in sorted(times)]
)


def a_span(lasts_s):
    return ShotSpan(
        shot=0, start_frame=0, end_frame=round(lasts_s * 25), start_s=Fraction(0),
        end_s=Fraction(lasts_s), transition=Transition.CUT, clean_from_frame=0,
        clean_to_frame=round(lasts_s * 25),
    )  # fmt: skip


@STEADY
@given(TIMES, st.integers(13, 20))
def test_each_frame_stands_for_the_time_that_is_nearest_to_it(times, lasts) -> None:
    """Counted: every hundredth of a second goes to the frame nearest to it."""
    shares = time_shares(a_span(lasts), times)
    at = (np.arange(100 * lasts) + 0.5) / 100
    nearest = np.abs(at[:, None] - np.array(times)).argmin(axis=1)
    counted = np.bincount(nearest, minlength=len(times)) / len(at)
    assert shares == pytest.approx(counted, abs=0.011 / lasts + 1e-9)
    assert sum(shares) == pytest.approx(1)


NAMES = ("wide", "full", "medium")


@st.composite
def shots(draw) -> list[FrameResult]:
    """The measured frames of a shot, a second apart."""
    made = []
    for n in range(draw(st.integers(1, 6))):
        picture = build_picture(draw(st.integers(0, 90)) / 100)
        people = [
            build_person(picture, person=p, x_px=float(draw(st.integers(100, 1500))))
            for p in range(draw(st.integers(0, 2)))
        ]
        name = draw(st.sampled_from(NAMES)) if people else ""
        size = SizeName(vocabulary="v", name=name, abbr=name, confidence=0.8, second="")
        judgement = FrameJudgement(
            shot_type=draw(st.sampled_from([ShotType.SINGLE, ShotType.TWO])),
            sizes=(size,) if people else (), flags=(), advice=(),
        )  # fmt: skip
        made.append(
            FrameResult(
                file="f", measurement=build_frame(picture, *people), judgement=judgement, shot=0,
                frame=25 * n, time_s=float(n),
            )
        )  # fmt: skip
    return made


@FEW
@given(shots())
def test_the_label_of_a_shot_is_that_of_most_of_its_time(frames) -> None:
    lasts = len(frames)
    summary = summarise_shot(a_span(lasts), frames)
    shares = time_shares(a_span(lasts), [frame.time_s or 0.0 for frame in frames])
    time = dict.fromkeys(["", *NAMES], 0.0)
    for frame, share in zip(frames, shares, strict=True):
        time[frame.judgement.sizes[0].name if frame.judgement.sizes else ""] += share
    told = {name: share for name, share in time.items() if name and share}
    if not told:
        assert summary.size is None
        return
    assert summary.size is not None
    assert time[summary.size.name] == pytest.approx(max(told.values()))
    assert summary.stability == pytest.approx(time[summary.size.name])
    assert summary.size.confidence == pytest.approx(0.8)
    assert summary.samples == len(frames)
    assert summary.frame in {frame.frame for frame in frames}
    assert summary.people in {len(frame.measurement.people) for frame in frames}


@FEW
@given(shots(), st.integers(1, 100_000))
def test_a_shot_is_told_alike_wherever_it_lies_in_its_clip(frames, later) -> None:
    """So many frames later, at 25 a second: only the numbers of its frames are others."""
    span = a_span(len(frames))
    moved = replace(
        span, start_s=Fraction(later, 25), end_s=len(frames) + Fraction(later, 25),
        start_frame=later, end_frame=later + span.end_frame,
    )  # fmt: skip
    there = [
        replace(
            f, frame=(f.frame or 0) + later, time_s=float((f.time_s or 0) + Fraction(later, 25))
        )
        for f in frames
    ]
    one, other = summarise_shot(span, frames), summarise_shot(moved, there)
    assert other.frame == one.frame + later
    for name in ("start_size", "middle_size", "end_size", "size_change", "subject_moves", "people",
                 "shot_type", "flags", "notes", "samples"):  # fmt: skip
        assert getattr(other, name) == getattr(one, name), name
    assert other.stability == pytest.approx(one.stability)


@FEW
@given(shots())
def test_a_subject_is_followed_alike_in_the_mirror(frames) -> None:
    there = [replace(f, measurement=mirrored(f.measurement)) for f in frames]
    one, other = follow_subject(frames), follow_subject(there)
    assert [at.sample for at in one] == [at.sample for at in other]
    assert [at.sample for at in one] == [
        n for n, frame in enumerate(frames) if frame.measurement.people
    ]
    for mine, yours in zip(one, other, strict=True):
        assert yours.x_wfrac == pytest.approx(1 - mine.x_wfrac)
        assert (yours.y_frac, yours.log_scale) == pytest.approx((mine.y_frac, mine.log_scale))
        assert yours.time_s == mine.time_s


@FEW
@given(shots())
def test_asking_for_frames_comes_to_an_end(frames) -> None:
    """Each answer names frames that are not measured yet, until nothing more is asked for."""
    times = [Fraction(round(2 * (frame.time_s or 0.0))) for frame in frames]
    measured: dict[int, FrameResult] = {}
    for _ in range(len(frames) + 1):
        wanted = needs_more(times, measured)
        assert list(wanted) == sorted(set(wanted))
        assert not set(wanted) & set(measured)
        if not wanted:
            break
        measured.update({n: frames[n] for n in wanted})
    assert not needs_more(times, measured)
    if times[-1] - times[0] >= 1:
        assert {0, len(times) - 1} <= set(measured)


@STEADY
@given(st.integers(0, 100).map(lambda n: Fraction(n, 4)), st.integers(0, 100))
def test_a_longer_shot_is_never_asked_for_less(lasts, more) -> None:
    assert count_useful(lasts) <= count_useful(lasts + more)
    assert count_useful(lasts) in {3, 5, 9}


@STEADY
@given(st.lists(st.integers(0, 30), min_size=1, max_size=5))
def test_still_is_what_stays_near_its_first_look(levels) -> None:
    looks = [np.full((4, 4, 3), level, np.float32) for level in levels]
    near = all(abs(level - levels[0]) <= 6 for level in levels)
    assert is_still(looks) == (near and len(levels) > 1)
