from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framecheck.classify.judge import judge_frame
from framecheck.records.framing import Facing, Role
from framecheck.records.judged import ShotType
from framecheck.records.values import Box, NotMeasured


@pytest.fixture(scope="session")
def judge(vocabularies, thresholds, ranges):
    chosen = (vocabularies["trade"], vocabularies["style-statistics"])
    return lambda frame: judge_frame(frame, chosen, thresholds, ranges)


def test_a_frame_cut_at_the_knee(judge, a_person, a_picture, a_frame) -> None:
    picture = a_picture(0.285)
    judgement = judge(a_frame(picture, a_person(picture)))
    assert judgement.shot_type is ShotType.SINGLE
    assert [(s.vocabulary, s.abbr) for s in judgement.sizes] == [
        ("trade", "MFS"), ("style-statistics", "MLS"),
    ]  # fmt: skip
    assert [flag.part for flag in judgement.flags] == ["knee"]
    assert judgement.advice[0].clears == ("knee",)
    assert judgement.notes == ()


def test_a_clean_frame(judge, a_person, a_picture, a_frame) -> None:
    picture = a_picture(0.41)
    judgement = judge(a_frame(picture, a_person(picture)))
    assert (judgement.flags, judgement.advice, judgement.notes) == ((), (), ())


def test_no_people(judge, a_picture, a_frame) -> None:
    judgement = judge(a_frame(a_picture()))
    assert judgement.shot_type is ShotType.NO_PEOPLE
    assert (judgement.sizes, judgement.flags, judgement.notes) == ((), (), ())


def test_no_vocabulary_no_sizes_and_no_excuse(a_person, a_picture, a_frame, thresholds, ranges):
    picture = a_picture(0.41)
    judgement = judge_frame(a_frame(picture, a_person(picture)), (), thresholds, ranges)
    assert (judgement.sizes, judgement.notes) == ((), ())


ROOM = "headroom and looking room not judged: "


@pytest.mark.parametrize(
    ("crop", "top_px", "change", "notes"),
    [
        pytest.param(
            0.41,
            50.0,
            {"ruler": None, "crop_level": NotMeasured(reason="no body found")},
            ("size not named: no ruler", f"{ROOM}no crop level"),
            id="no ruler",
        ),
        pytest.param(
            0.3, 500.0, {}, ("size not named: the head is out over the top edge",), id="no head"
        ),
        pytest.param(
            0.4,
            50.0,
            {"crop_level": 1.1, "top_level": 1.3},
            (
                "size not named: the bottom edge lies above the body",
                f"{ROOM}tighter than the range table goes",
            ),
            id="no body",
        ),
        pytest.param(
            -2.0, -100.0, {}, (f"{ROOM}the figure is small in its surroundings",), id="small"
        ),
        pytest.param(
            0.91, 120.0, {}, (f"{ROOM}tighter than the range table goes",), id="very tight"
        ),
    ],
)
def test_notes_explain_what_is_missing(
    judge, a_person, a_picture, a_frame, crop, top_px, change, notes
) -> None:
    picture = a_picture(crop, top_px=top_px)
    person = replace(a_person(picture), **change)
    assert judge(a_frame(picture, person)).notes == notes


def test_an_over_the_shoulder_leaves_the_near_figure_alone(
    judge, a_person, a_picture, a_frame
) -> None:
    picture = a_picture(0.66)
    near = a_person(
        picture, person=1, role=Role.FOREGROUND, facing=Facing.AWAY, x_px=250, crown_px=-400,
        figure_px=3000, left_cut=0.9,
    )  # fmt: skip
    judgement = judge(a_frame(picture, a_person(picture, x_px=1000), near))
    assert judgement.shot_type is ShotType.OVER_THE_SHOULDER
    assert all(flag.person == 0 for flag in judgement.flags)
    assert judgement.notes == ("person 1: in the foreground, meant to be cut, not flagged",)


@settings(max_examples=40, deadline=None)
@given(crop=st.floats(-3, 0.95), top_px=st.floats(0, 130))
def test_twice_the_pixels_change_no_word(judge, a_person, a_picture, a_frame, crop, top_px):
    small = a_picture(crop, top_px=top_px)
    large = Box(x_px=0, y_px=2 * top_px, w_px=3200, h_px=2 * small.h_px)
    one = judge(a_frame(small, a_person(small)))
    two = judge(a_frame(large, a_person(large, x_px=1600, crown_px=200, figure_px=2000)))
    assert (one.shot_type, one.notes) == (two.shot_type, two.notes)
    assert [(s.name, s.second) for s in one.sizes] == [(s.name, s.second) for s in two.sizes]
    assert [flag.part for flag in one.flags] == [flag.part for flag in two.flags]
    assert [a.clears for a in one.advice] == [a.clears for a in two.advice]


@pytest.mark.parametrize(
    ("top", "crop", "told"),
    [
        (0.869, 0.5, ("size not named: the head is out over the top edge",)),
        (0.87, 0.87, ("size not named: the bottom edge lies above the body",)),
        (0.87, 0.5, ()),
    ],
)
def test_why_a_size_has_no_name(
    vocabularies, thresholds, ranges, a_person, a_picture, a_frame, top, crop, told
) -> None:
    picture = a_picture(0.6)
    person = replace(a_person(picture), top_level=top, crop_level=crop)
    judgement = judge_frame(a_frame(picture, person), (vocabularies["trade"],), thresholds, ranges)
    assert tuple(note for note in judgement.notes if note.startswith("size")) == told
    assert bool(judgement.sizes) is not bool(told)


HIDDEN = NotMeasured(reason="hidden")


@pytest.mark.parametrize(
    ("figure", "crop", "why"),
    [
        (0.45, 0.5, None),
        (0.449, 0.5, "the figure is small in its surroundings"),
        (2.0, 0.87, None),
        (2.0, 0.871, "tighter than the range table goes"),
        (HIDDEN, 0.5, "no crop level"),
        (1.0, HIDDEN, "no crop level"),
    ],
)
def test_why_room_is_not_judged(
    thresholds, ranges, a_person, a_picture, a_frame, figure, crop, why
) -> None:
    picture = a_picture(0.6)
    person = replace(a_person(picture), figure_frac=figure, crop_level=crop, headroom_frac=0.05)
    notes = judge_frame(a_frame(picture, person), (), thresholds, ranges).notes
    told = [note for note in notes if not note.startswith("size")]
    assert told == ([] if why is None else [f"headroom and looking room not judged: {why}"])


def test_advice_can_be_left_out(judge, thresholds, ranges, a_person, a_picture, a_frame) -> None:
    picture = a_picture(0.285)
    frame = a_frame(picture, a_person(picture))
    assert judge(frame).advice
    assert judge_frame(frame, (), thresholds, ranges, advised=False).advice == ()
    assert judge_frame(frame, (), thresholds, ranges, advised=False).flags == judge(frame).flags
