"""One label for a shot: weighed by time, with what becomes of it, and the frame that shows it."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from framecheck.classify.shot_summary import summarise_shot, time_shares
from framecheck.records.clips import ShotSpan, SizeChange, Transition
from framecheck.records.framing import Edge
from framecheck.records.judged import (
    Flag,
    FrameJudgement,
    FrameResult,
    Severity,
    ShotType,
    SizeName,
)

RATE = 24
NAMES = {"MS": "medium", "MCU": "medium close-up", "CU": "close-up"}


def a_size(abbr, confidence=0.9, second=""):
    return SizeName(
        vocabulary="trade", name=NAMES[abbr], abbr=abbr, confidence=confidence, second=second
    )


def a_span(start_s=0, end_s=4):
    return ShotSpan(
        shot=2, start_frame=start_s * RATE, end_frame=end_s * RATE, start_s=Fraction(start_s),
        end_s=Fraction(end_s), transition=Transition.CUT, clean_from_frame=start_s * RATE,
        clean_to_frame=end_s * RATE,
    )  # fmt: skip


@pytest.fixture
def a_sample(a_person, a_picture, a_frame):
    """A measured frame; `size` is an abbreviation, a `SizeName` or None."""

    def build(time_s, size="MS", *, crop=0.6, people=1, shot_type=None, flags=(), **person):
        picture = a_picture(crop)
        found = [a_person(picture, person=n, **person) for n in range(people)]
        named = a_size(size) if isinstance(size, str) else size
        usual = {0: ShotType.NO_PEOPLE, 1: ShotType.SINGLE, 2: ShotType.TWO}
        return FrameResult(
            file="a.mov",
            measurement=a_frame(picture, *found),
            judgement=FrameJudgement(
                shot_type=shot_type or usual[people],
                sizes=(named,) if named and people else (),
                flags=tuple(flags),
                advice=(),
            ),
            shot=2,
            frame=round(time_s * RATE),
            time_s=time_s,
        )

    return build


def a_flag(part, severity=Severity.HIGH, person=0):
    return Flag(
        part=part, person=person, edge=Edge.BOTTOM, distance_level=0.0, severity=severity,
        certainty=1.0,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("times_s", "shares"),
    [
        ([0.0, 2.0, 4.0], [0.25, 0.5, 0.25]),
        ([2.0], [1.0]),
        ([0.0, 1.0, 4.0], [0.125, 0.5, 0.375]),
        ([1.0, 3.0], [0.5, 0.5]),
    ],
)
def test_a_frame_stands_for_the_time_that_is_nearest_to_it(times_s, shares) -> None:
    assert time_shares(a_span(), times_s) == pytest.approx(shares)


def test_a_steady_shot(a_sample) -> None:
    summary = summarise_shot(a_span(), [a_sample(t) for t in (0.0, 2.0, 4.0)])
    assert summary.size == a_size("MS")
    assert summary.start_size == summary.middle_size == summary.end_size == a_size("MS")
    assert summary.size_change is SizeChange.STEADY
    assert summary.stability == pytest.approx(1.0)
    assert summary.subject_moves is False
    assert (summary.people, summary.shot_type) == (1, ShotType.SINGLE)
    assert (summary.flags, summary.notes) == ((), ())
    assert (summary.frame, summary.samples) == (48, 3)


def test_the_label_goes_by_time_and_not_by_the_number_of_frames(a_sample) -> None:
    frames = [a_sample(t, "CU") for t in (0.0, 0.2, 0.4)] + [a_sample(4.0, "MS")]
    summary = summarise_shot(a_span(), frames)
    # the close-ups stand for 0 to 2.2 s of 4 s, of which the last one takes 1.9 s
    assert summary.size is not None
    assert summary.size.abbr == "CU"
    assert summary.stability == pytest.approx(2.2 / 4)
    shorter = [a_sample(t, "CU") for t in (0.0, 0.2, 0.4)] + [a_sample(1.0, "MS")]
    summary = summarise_shot(a_span(), shorter)
    assert summary.size is not None
    assert summary.size.abbr == "MS"
    assert summary.stability == pytest.approx(3.3 / 4)
    assert summary.notes == ("sizes by time: medium 82 %, close-up 18 %",)


def test_confidence_and_second_name_of_a_shot(a_sample) -> None:
    frames = [
        a_sample(0.0, a_size("MS", 0.6, "medium close-up")),
        a_sample(2.0, a_size("MS", 1.0, "medium close-up")),
        a_sample(4.0, a_size("MS", 0.8)),
    ]
    size = summarise_shot(a_span(), frames).size
    assert size is not None
    assert size.confidence == pytest.approx(0.25 * 0.6 + 0.5 * 1.0 + 0.25 * 0.8)
    assert size.second == "medium close-up"
    mixed = [*frames[:2], a_sample(4.0, "CU")]
    size = summarise_shot(a_span(), mixed).size
    assert size is not None
    assert size.second == "close-up"  # what was really there comes before what was nearly there
    rarely = [a_sample(0.0, a_size("MS", second="close-up")), *frames[2:]]
    size = summarise_shot(a_span(end_s=40), rarely).size
    assert size is not None
    assert size.second == ""


def test_frames_without_a_size_count_against_its_stability(a_sample) -> None:
    frames = [a_sample(0.0), a_sample(2.0), a_sample(4.0, None)]
    summary = summarise_shot(a_span(), frames)
    assert summary.size == a_size("MS")
    assert summary.stability == pytest.approx(0.75)
    assert summary.end_size is None


def test_a_shot_without_people(a_sample) -> None:
    summary = summarise_shot(a_span(), [a_sample(t, people=0) for t in (0.0, 2.0, 4.0)])
    assert (summary.size, summary.start_size, summary.end_size) == (None, None, None)
    assert (summary.people, summary.shot_type) == (0, ShotType.NO_PEOPLE)
    assert summary.stability == pytest.approx(1.0)
    assert summary.subject_moves is None
    assert summary.size_change is SizeChange.STEADY
    assert summary.frame == 48


def test_a_size_that_cannot_be_named_says_why(a_sample) -> None:
    frame = a_sample(0.0, None)
    judgement = replace(frame.judgement, notes=("size not named: the head is out",))
    summary = summarise_shot(a_span(), [replace(frame, judgement=judgement)])
    assert summary.notes == ("one frame measured", "size not named: the head is out")


@pytest.mark.parametrize(
    ("counts", "people", "notes"),
    [
        ([1, 2, 1], 2, ("people counted: 1 to 2",)),  # half the time: people are sooner missed
        ([2, 1, 1], 1, ("people counted: 1 to 2",)),
        ([2, 2, 2], 2, ()),
    ],
)
def test_the_usual_number_of_people(a_sample, counts, people, notes) -> None:
    frames = [a_sample(t, people=n) for t, n in zip((0.0, 2.0, 4.0), counts, strict=True)]
    summary = summarise_shot(a_span(), frames)
    assert (summary.people, summary.notes) == (people, notes)


def test_the_usual_shot_type(a_sample) -> None:
    types = (ShotType.SINGLE, ShotType.OVER_THE_SHOULDER, ShotType.SINGLE, ShotType.TWO)
    times_s = (0.0, 2.0, 2.5, 4.0)
    frames = [a_sample(t, shot_type=kind, people=1) for t, kind in zip(times_s, types, strict=True)]
    # over the shoulder 1.25 s, single 1.0 + 1.0 s, two 0.75 s
    assert summarise_shot(a_span(), frames).shot_type is ShotType.SINGLE


def test_parts_flagged_half_of_the_time_worst_first(a_sample) -> None:
    low, high = Severity.LOW, Severity.HIGH
    frames = [
        a_sample(0.0, flags=[a_flag("headroom", low), a_flag("wrist", low)]),
        a_sample(2.0, flags=[a_flag("headroom", low), a_flag("knee", high), a_flag("knee", low)]),
        a_sample(4.0, flags=[a_flag("headroom", low), a_flag("elbow", high)]),
    ]
    # headroom all the time, the knee half of it, wrist and elbow a quarter each
    assert summarise_shot(a_span(), frames).flags == ("knee", "headroom")


def test_a_short_shot_is_told_by_what_there_is(a_sample) -> None:
    frames = [a_sample(0.0, "MS"), a_sample(0.5, "CU")]
    summary = summarise_shot(a_span(end_s=1), frames)
    assert summary.start_size == a_size("MS")
    assert summary.end_size == a_size("CU")
    assert summary.middle_size == a_size("MS")
    one = summarise_shot(a_span(end_s=1), [a_sample(0.5)])
    assert one.start_size == one.middle_size == one.end_size == a_size("MS")
    assert one.subject_moves is None
    assert one.notes == ("one frame measured",)


def test_the_start_is_read_from_the_first_frame_with_a_size_in_the_first_third(a_sample) -> None:
    frames = [a_sample(0.0, None), a_sample(1.0, "CU"), a_sample(2.0), a_sample(4.0)]
    assert summarise_shot(a_span(), frames).start_size == a_size("CU")
    frames[1] = a_sample(1.0, None)
    assert summarise_shot(a_span(), frames).start_size is None


def test_the_best_frame_shows_what_the_label_says(a_sample) -> None:
    frames = [a_sample(0.0), a_sample(2.0, "CU"), a_sample(3.0, people=2), a_sample(4.0)]
    frames.append(a_sample(5.0, a_size("MS", 0.95)))
    assert summarise_shot(a_span(end_s=5), frames).frame == 120


def test_the_best_frame_is_sure_and_near_the_reading_of_the_shot(a_sample) -> None:
    frames = [a_sample(0.0, a_size("MS", 0.95), crop=0.50), a_sample(2.0, crop=0.60)]
    frames += [a_sample(3.0, crop=0.61), a_sample(4.0, a_size("MS", 0.5), crop=0.6)]
    assert summarise_shot(a_span(), frames).frame == 48


def test_the_best_frame_is_not_in_fast_motion(a_sample) -> None:
    places = {0.0: 300, 1.0: 300, 2.0: 300, 2.5: 700, 4.0: 700}
    frames = [
        a_sample(t, a_size("MS", 0.95 if t in (2.0, 2.5) else 0.9), x_px=x)
        for t, x in places.items()
    ]
    # the subject crosses a quarter of the picture's width between 2.0 and 2.5 s
    assert summarise_shot(a_span(), frames).frame == 24


def test_a_shot_needs_a_frame() -> None:
    with pytest.raises(ValueError, match="without a measured frame"):
        summarise_shot(a_span(), [])


SEVEN = (0.0, 0.6, 1.2, 2.0, 2.8, 3.4, 4.0)


def test_each_third_is_told_by_its_frame_at_the_start_the_middle_and_the_end(a_sample) -> None:
    """Places from the first frame to the last: 0, 0.15, 0.3; 0.5; 0.7, 0.85, 1."""
    sizes = ("CU", "MS", "MS", "MCU", "MS", "MS", "CU")
    frames = [a_sample(t, size) for t, size in zip(SEVEN, sizes, strict=True)]
    summary = summarise_shot(a_span(), frames)
    told = [summary.start_size, summary.middle_size, summary.end_size]
    assert [size.abbr for size in told if size] == ["CU", "MCU", "CU"]


def test_the_middle_third_reaches_from_one_third_to_two(a_sample) -> None:
    """A frame at 0.4 lies in it, and one at 0.6; one at 0.3 or 0.7 does not."""
    for inside, outside in ((1.6, 1.2), (2.4, 2.8)):
        frames = sorted(
            [a_sample(0.0, "MS"), a_sample(inside, "CU"), a_sample(outside, "MS"),
             a_sample(4.0, "MS")],
            key=lambda frame: frame.time_s,
        )  # fmt: skip
        middle = summarise_shot(a_span(), frames).middle_size
        assert middle is not None
        assert middle.abbr == "CU"


def test_a_frame_on_the_rim_of_a_third_is_in_both(a_sample) -> None:
    frames = [a_sample(0.0, None), a_sample(1.0, "CU"), a_sample(2.0, "MS"), a_sample(3.0, None)]
    summary = summarise_shot(a_span(0, 3), frames)
    told = (summary.start_size, summary.end_size)
    assert [size.abbr if size else None for size in told] == ["CU", "MS"]


def test_a_last_frame_without_a_name_leaves_it_to_the_one_before(a_sample) -> None:
    frames = [a_sample(t, "MS") for t in (0.0, 1.0, 2.0)] + [
        a_sample(3.5, "CU"),
        a_sample(4.0, None),
    ]
    end = summarise_shot(a_span(), frames).end_size
    assert end is not None
    assert end.abbr == "CU"


def test_a_shot_without_a_length_shares_alike() -> None:
    span = replace(a_span(), end_s=Fraction(0))
    assert time_shares(span, [0.0, 0.0, 0.0, 0.0]) == [0.25] * 4
    with pytest.raises(ValueError, match=r"^a shot without a measured frame cannot be summarised$"):
        summarise_shot(span, [])


def test_a_second_name_is_that_of_the_others_or_the_one_that_half_of_the_time_tells(
    a_sample,
) -> None:
    sure, doubtful = a_size("MS"), a_size("MS", second="medium close-up")
    for sizes, second in (
        ((sure, sure, sure), ""),
        ((doubtful, sure, sure), ""),
        ((doubtful, doubtful, sure), "medium close-up"),
        ((doubtful, doubtful, a_size("CU")), "close-up"),
    ):
        frames = [a_sample(t, s) for t, s in zip((0.0, 2.0, 4.0), sizes, strict=True)]
        size = summarise_shot(a_span(), frames).size
        assert size is not None
        assert size.second == second


def test_a_second_name_that_less_than_half_of_the_time_tells_is_none(a_sample) -> None:
    seconds = ("medium close-up", "close-up", "")
    frames = [a_sample(t, a_size("MS", second=second))
              for t, second in zip((0.5, 1.5, 2.5), seconds, strict=True)]  # fmt: skip
    size = summarise_shot(a_span(0, 3), frames).size
    assert size is not None
    assert size.second == ""


def test_a_middle_frame_without_a_name_leaves_it_to_another_of_the_middle(a_sample) -> None:
    frames = [a_sample(t, size) for t, size in
              ((0.0, "MS"), (1.8, None), (2.4, "CU"), (4.0, "MS"))]  # fmt: skip
    middle = summarise_shot(a_span(), frames).middle_size
    assert middle is not None
    assert middle.abbr == "CU"


def test_parts_are_told_by_their_worst_and_then_by_their_time(a_sample) -> None:
    """Of alike severity the one flagged longer first, though both are told most of the time."""
    wrist, ankle, knee = a_flag("wrist"), a_flag("ankle"), a_flag("knee", Severity.LOW)
    frames = [
        a_sample(0.0, flags=(wrist, ankle)),
        a_sample(2.0, flags=(wrist, a_flag("knee", Severity.HIGH))),
        a_sample(4.0, flags=(wrist, ankle, knee)),
    ]
    assert summarise_shot(a_span(), frames).flags == ("wrist", "knee", "ankle")
    # the wrist is severe in one frame only, and that is what counts
    slight = a_flag("wrist", Severity.LOW)
    low = [a_sample(t, flags=(a_flag("elbow", Severity.MEDIUM), slight)) for t in (0.0, 2.0)]
    high = a_sample(4.0, flags=(a_flag("elbow", Severity.MEDIUM), a_flag("wrist")))
    assert summarise_shot(a_span(), [*low, high]).flags == ("wrist", "elbow")
    assert summarise_shot(a_span(), [high, *low]).flags == ("wrist", "elbow")


def test_the_best_frame_shows_as_many_people_as_the_shot(a_sample) -> None:
    frames = [a_sample(t, people=p, shot_type=ShotType.SINGLE)
              for t, p in ((0.0, 2), (1.0, 2), (2.0, 1), (3.0, 2), (4.0, 2))]  # fmt: skip
    summary = summarise_shot(a_span(), frames)
    assert summary.people == 2
    assert summary.frame in {24, 72}


def test_sizes_are_noted_by_the_time_that_they_have(a_sample) -> None:
    """45, 30 and 25 per cent: not by the alphabet."""
    frames = [a_sample(0.0, "CU"), a_sample(2.0, "MS"), a_sample(3.6, "MCU")]
    notes = summarise_shot(a_span(), frames).notes
    assert notes == ("sizes by time: medium 45 %, medium close-up 30 %, close-up 25 %",)


def test_a_shot_late_in_its_clip_is_told_alike(a_sample) -> None:
    sizes = ("CU", "MS", "MS", "MCU", "MS", "MS", "MS")
    early = summarise_shot(a_span(), [a_sample(t, s) for t, s in zip(SEVEN, sizes, strict=True)])
    late = summarise_shot(
        a_span(60, 64), [a_sample(60 + t, s) for t, s in zip(SEVEN, sizes, strict=True)]
    )
    assert (late.start_size, late.middle_size) == (early.start_size, early.middle_size)
    assert late.start_size is not None
    assert late.middle_size is not None
    assert (late.start_size.abbr, late.middle_size.abbr) == ("CU", "MCU")
    assert late.stability == pytest.approx(early.stability)
    assert late.frame == early.frame + 60 * RATE == 1469  # of 0.3 and 0.7 the earlier
    assert late.notes == early.notes


def test_a_shot_of_half_a_second_is_shared_by_its_time() -> None:
    span = replace(a_span(), end_s=Fraction(1, 2))
    assert time_shares(span, [0.0, 0.1, 0.5]) == pytest.approx([0.1, 0.5, 0.4])


def test_the_start_is_told_from_the_first_third_alone(a_sample) -> None:
    """A frame at 0.3 of the way is of the first third, and not of the middle."""
    frames = [a_sample(0.0, "MS"), a_sample(1.2, "CU"), a_sample(2.7, "MS"), a_sample(4.0, "MS")]
    middle = summarise_shot(a_span(), [frames[0], frames[1], frames[3]]).middle_size
    assert middle is not None
    assert middle.abbr == "CU"  # nothing was measured in the middle: the nearest tells
    unnamed = a_sample(1.9, None)
    assert summarise_shot(a_span(), [*frames[:2], unnamed, frames[3]]).middle_size is None


def test_the_name_counts_before_people_and_type_together(a_sample) -> None:
    """Half of the time is one medium frame of two people; the rest shows one, and surer."""
    usual = [a_sample(t, a_size(abbr, confidence=1.0)) for t, abbr in ((0.0, "CU"), (0.5, "MCU"))]
    odd = a_sample(2.0, a_size("MS", confidence=0.3), people=2)
    more = [a_sample(t, a_size(abbr, confidence=1.0)) for t, abbr in ((3.4, "CU"), (4.0, "MCU"))]
    frames = [*usual, odd, *more]
    summary = summarise_shot(a_span(), frames)
    assert summary.size is not None
    assert (summary.size.abbr, summary.people) == ("MS", 1)
    assert summary.shot_type is ShotType.SINGLE
    assert summary.frame == 48
