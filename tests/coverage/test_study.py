"""The study from end to end: what it refuses, and what it keeps of each part."""

from dataclasses import replace

import pytest

from framecheck.coverage.study import study_sequence
from framecheck.records.coverage import CutThresholds, Direction
from framecheck.records.values import NotMeasured
from tests.coverage.builders import ANNE, BERT, a_moment, a_shot, a_talk, shown

LIMITS = CutThresholds()
NOBODY = NotMeasured(reason="nobody in the picture")


def test_a_study_has_its_name_and_its_limits() -> None:
    shots = [a_shot(0, shown())]
    assert study_sequence(shots, LIMITS).name == ""
    named = study_sequence(shots, LIMITS, name="a scene")
    assert (named.name, named.thresholds, named.cuts) == ("a scene", LIMITS, ())


def test_no_shots_and_shots_that_are_not_there_are_refused() -> None:
    with pytest.raises(ValueError, match=r"^a sequence needs a shot, got none$"):
        study_sequence([], LIMITS)
    shots = [a_shot(n, shown()) for n in range(2)]
    for pair in ((0, 2), (-1, 0)):
        missing = next(n for n in pair if n not in (0, 1))
        with pytest.raises(ValueError, match=rf"^there is no shot {missing}; the last one is 1$"):
            study_sequence(shots, LIMITS, named_pairs=[pair])


def test_a_reading_keeps_what_was_measured() -> None:
    person = shown(ANNE, head=0.2, yaw=30.0, body=-20.0, pitch=4.0)
    (reading,) = study_sequence([a_shot(0, person, seconds=2.0)], LIMITS).readings
    assert (reading.number, reading.start_s, reading.person, reading.people) == (
        0,
        0.0,
        "A",
        ("A",),
    )
    assert (reading.looks, reading.faces) == (Direction.RIGHT, Direction.LEFT)
    assert (reading.closeness_deg, reading.lens_height_deg) == (30.0, 4.0)
    assert reading.head_frac == pytest.approx(0.2)
    assert reading.external is False


def test_a_reading_of_nobody_says_so() -> None:
    (reading,) = study_sequence([a_shot(0)], LIMITS).readings
    assert (reading.person, reading.people) == ("", ())
    assert (reading.looks, reading.faces) == (Direction.UNKNOWN, Direction.UNKNOWN)
    assert (reading.closeness_deg, reading.lens_height_deg, reading.head_frac) == (NOBODY,) * 3
    (bare,) = study_sequence([a_shot(0, shown(head=None))], LIMITS).readings
    assert bare.head_frac == NotMeasured(reason="no head and no body could be measured")


def test_starts_add_up_as_long_as_lengths_are_known() -> None:
    for lengths, starts in (
        ((2.0, 0.0, 3.0, 1.0), (0.0, 2.0, 2.0, 5.0)),
        ((2.0, None, 3.0), (0.0, None, None)),
        ((None, 2.0), (None, None)),
    ):
        shots = [a_shot(n, shown(), seconds=s) for n, s in enumerate(lengths)]
        readings = study_sequence(shots, LIMITS).readings
        assert tuple(reading.start_s for reading in readings) == starts


def test_cuts_compare_the_last_picture_with_the_next_first_one() -> None:
    wide, near = a_moment(shown(head=0.1)), a_moment(shown(head=0.3))
    shots = [a_shot(n, shown()) for n in range(2)]
    shots = [replace(shot, first=wide, last=near) for shot in shots]
    (cut,) = study_sequence(shots, LIMITS).cuts
    assert cut.size_ratio == pytest.approx(1 / 3)


def test_a_crossing_is_told_with_its_cut() -> None:
    yaws = (30, -30, 30, 30, 30, -30)
    shots = a_talk(*((who, yaw, 0.3) for who, yaw in zip((ANNE, BERT) * 3, yaws, strict=True)))
    cuts = study_sequence(shots, LIMITS).cuts
    assert [cut.cut for cut in cuts if cut.line_crossed] == [2, 3]
    for cut in cuts:
        assert (cut.line_confidence > 0.9) is cut.line_crossed
        assert bool(cut.line_why) is cut.line_crossed


def test_named_pairs_come_first_and_need_two_people() -> None:
    shots = a_talk((ANNE, 30, 0.3), (BERT, -30, 0.3), (ANNE, 30, 0.3), (BERT, -30, 0.3))
    told = study_sequence(shots, LIMITS, named_pairs=[(0, 3)]).pairs
    assert [pair.named for pair in told] == [True, False]
    assert (told[0].shots_one, told[0].shots_other) == ((0,), (3,))
    empty = [*shots, a_shot(4)]
    assert [p.named for p in study_sequence(empty, LIMITS, named_pairs=[(0, 4)]).pairs] == [False]
    same = study_sequence(shots, LIMITS, named_pairs=[(0, 2)]).pairs
    assert [pair.named for pair in same] == [True, False]


def test_a_pair_that_the_user_names_has_a_line() -> None:
    """Both look right: no talk by itself, but the two are said to face each other."""
    shots = a_talk((ANNE, 30, 0.3), (BERT, 30, 0.3))
    assert not study_sequence(shots, LIMITS).cuts[0].line_crossed
    (cut,) = study_sequence(shots, LIMITS, named_pairs=[(1, 0)]).cuts
    assert cut.line_crossed
    assert cut.line_why.startswith("A and B face each other, and now both look right")
    nobody = [*shots, a_shot(2)]
    assert not any(
        c.line_crossed for c in study_sequence(nobody, LIMITS, named_pairs=[(0, 2)]).cuts
    )
