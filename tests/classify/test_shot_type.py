from __future__ import annotations

from dataclasses import replace

import pytest

from framecheck.classify.shot_type import name_shot_type
from framecheck.records.framing import Facing, Role
from framecheck.records.judged import ShotType
from framecheck.records.values import NotMeasured


@pytest.mark.parametrize(
    ("count", "shot_type"),
    [
        (0, ShotType.NO_PEOPLE),
        (1, ShotType.SINGLE),
        (2, ShotType.TWO),
        (3, ShotType.THREE),
        (4, ShotType.GROUP),
        (9, ShotType.GROUP),
    ],
)
def test_by_count(a_person, a_picture, a_frame, thresholds, count, shot_type) -> None:
    picture = a_picture(0.3)
    people = [a_person(picture, person=i, x_px=100 + 150 * i) for i in range(count)]
    assert name_shot_type(a_frame(picture, *people), thresholds) is shot_type


def test_extras_and_people_outside_do_not_count(a_person, a_picture, a_frame, thresholds) -> None:
    picture = a_picture(0.3)
    extra = a_person(picture, person=1, role=Role.BACKGROUND, x_px=300, figure_px=300)
    gone = a_person(picture, person=2, x_px=-80, right_cut=0.7)
    frame = a_frame(picture, a_person(picture), extra, gone)
    assert name_shot_type(frame, thresholds) is ShotType.SINGLE


NEAR = {"person": 1, "role": Role.FOREGROUND, "x_px": 250, "figure_px": 1700.0}


@pytest.mark.parametrize(
    ("near", "shot_type"),
    [
        pytest.param({"facing": Facing.AWAY}, ShotType.OVER_THE_SHOULDER, id="away, cut below"),
        pytest.param(
            {"facing": Facing.PROFILE, "yaw_deg": 120.0},
            ShotType.OVER_THE_SHOULDER,
            id="three-quarter back",
        ),
        pytest.param({"facing": None}, ShotType.OVER_THE_SHOULDER, id="head cut away"),
        pytest.param({"facing": Facing.PROFILE, "yaw_deg": 90.0}, ShotType.TWO, id="profile"),
        pytest.param(
            {"facing": Facing.AWAY, "figure_px": 350.0}, ShotType.SINGLE, id="not cut at all"
        ),
        pytest.param(
            {"facing": Facing.AWAY, "figure_px": 350.0, "left_cut": 0.9},
            ShotType.OVER_THE_SHOULDER,
            id="cut by the side alone",
        ),
        pytest.param(
            {"facing": Facing.AWAY, "role": Role.SUBJECT}, ShotType.TWO, id="no foreground role"
        ),
    ],
)
def test_over_the_shoulder(a_person, a_picture, a_frame, thresholds, near, shot_type) -> None:
    picture = a_picture(0.6)
    frame = a_frame(picture, a_person(picture), a_person(picture, **(NEAR | near)))
    assert name_shot_type(frame, thresholds) is shot_type


def test_two_backs_are_not_over_the_shoulder(a_person, a_picture, a_frame, thresholds) -> None:
    picture = a_picture(0.6)
    main = a_person(picture, facing=Facing.AWAY, yaw_deg=180.0)
    near = a_person(picture, facing=Facing.AWAY, **NEAR)
    assert name_shot_type(a_frame(picture, main, near), thresholds) is ShotType.SINGLE


def test_hands_alone_are_an_insert(a_person, a_picture, a_frame, thresholds) -> None:
    picture = a_picture(0.4, top_px=400.0)
    hands = a_person(picture)
    assert hands.top_level == pytest.approx(0.7)
    assert name_shot_type(a_frame(picture, hands), thresholds) is ShotType.INSERT
    partner = replace(a_person(picture, person=1), nose_px=(800.0, 500.0))
    assert name_shot_type(a_frame(picture, hands, partner), thresholds) is ShotType.TWO


HIDDEN = NotMeasured(reason="hidden")


def test_a_head_whose_place_is_not_read_is_not_out(
    a_person, a_picture, a_frame, thresholds
) -> None:
    picture = a_picture(0.5)
    for level, kind in (
        (HIDDEN, ShotType.SINGLE),
        (0.87, ShotType.SINGLE),
        (0.869, ShotType.INSERT),
    ):
        person = replace(a_person(picture), top_level=level)
        assert name_shot_type(a_frame(picture, person), thresholds) is kind


@pytest.mark.parametrize(
    ("crop", "kind"),
    [(0.1, ShotType.OVER_THE_SHOULDER), (0.0, ShotType.SINGLE), (HIDDEN, ShotType.SINGLE)],
)
def test_a_near_back_that_nothing_cuts_frames_no_view(
    a_person, a_picture, a_frame, thresholds, crop, kind
) -> None:
    picture = a_picture(0.5)
    back = replace(
        a_person(picture, person=1, role=Role.FOREGROUND, facing=Facing.AWAY, yaw_deg=170.0),
        crop_level=crop,
    )
    assert name_shot_type(a_frame(picture, a_person(picture), back), thresholds) is kind


@pytest.mark.parametrize(
    "changes",
    [{"facing": None}, {"facing": Facing.AWAY}, {"crop_level": HIDDEN}, {"head_yaw_deg": 150.0},
     {"role": Role.FOREGROUND}],
    ids=lambda changes: next(iter(changes)),
)  # fmt: skip
def test_over_the_shoulder_needs_a_face_to_look_at(
    a_person, a_picture, a_frame, thresholds, changes
) -> None:
    picture = a_picture(0.5)
    back = a_person(picture, person=1, role=Role.FOREGROUND, facing=Facing.AWAY, yaw_deg=170.0)
    face = a_person(picture)
    whole = a_frame(picture, face, back)
    assert name_shot_type(whole, thresholds) is ShotType.OVER_THE_SHOULDER
    other = a_frame(picture, replace(face, **changes), back)
    assert name_shot_type(other, thresholds) is not ShotType.OVER_THE_SHOULDER
