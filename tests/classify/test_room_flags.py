from __future__ import annotations

from dataclasses import replace

import pytest

from framecheck.classify.room import RoomRange, RoomRanges
from framecheck.classify.room_flags import find_room_flags
from framecheck.classify.thresholds import Thresholds
from framecheck.records.framing import Edge, Facing
from framecheck.records.judged import Severity
from framecheck.records.values import NotMeasured

HIDDEN = NotMeasured(reason="hidden")


def room(frame, thresholds, ranges, found=()):
    return list(find_room_flags(frame, thresholds, ranges, found))


@pytest.mark.parametrize(
    ("top_px", "part", "severity"),
    [
        # Bottom edge at the waist, y = 498, crown at y = 100; 0.04 to 0.183 passes.
        pytest.param(58.0, None, None, id="42 of 440 px: 0.095 passes"),
        pytest.param(11.0, None, None, id="0.1828 passes"),
        pytest.param(-20.0, "headroom", Severity.LOW, id="0.232, a little too much"),
        pytest.param(-200.0, "headroom", Severity.MEDIUM, id="0.43, far too much"),
        pytest.param(90.0, "headroom", Severity.LOW, id="0.025, too little"),
    ],
)
def test_headroom_at_the_waist(
    a_person, a_picture, a_frame, thresholds, ranges, top_px, part, severity
) -> None:
    picture = a_picture(0.602, top_px=top_px)
    flags = room(a_frame(picture, a_person(picture)), thresholds, ranges)
    assert [flag.part for flag in flags] == ([] if part is None else [part])
    for flag in flags:
        assert flag.severity is severity
        assert flag.edge is Edge.TOP
        assert (flag.distance_level > 0) is (top_px < 0)
        assert flag.certainty > 0.5


def test_the_eyes_one_third_down_pass_from_chest_to_shoulder_and_not_from_the_hip_outward(
    a_person, a_picture, a_frame, thresholds, ranges
) -> None:
    # Derived oracle: F = 1.5 (0.936 - c) is the picture height over stature.
    verdicts = {}
    for crop in (0.818, 0.757, 0.720, 0.530, 0.285, 0.0):
        height_px = 1500 * (0.936 - crop)
        picture = a_picture(crop, top_px=1100 - 1000 * crop - height_px)
        frame = a_frame(picture, a_person(picture))
        assert frame.people[0].eye_line_frac == pytest.approx(1 / 3)
        flags = room(frame, thresholds, ranges)
        verdicts[crop] = [flag.distance_level > 0 for flag in flags]
    assert verdicts == {
        0.818: [], 0.757: [], 0.720: [], 0.530: [True], 0.285: [True], 0.0: [True],
    }  # fmt: skip


def test_no_blame_for_room_over_the_smaller_of_two(
    a_person, a_picture, a_frame, thresholds, ranges
) -> None:
    picture = a_picture(0.602, top_px=-20.0)
    main = a_person(picture)
    taller = a_person(picture, person=1, x_px=1100, crown_px=40.0)
    assert [f.part for f in room(a_frame(picture, main), thresholds, ranges)] == ["headroom"]
    assert room(a_frame(picture, main, taller), thresholds, ranges) == []


@pytest.mark.parametrize(
    ("x_px", "yaw", "facing", "edge"),
    [
        pytest.param(800, 90.0, Facing.PROFILE, None, id="profile in the middle"),
        pytest.param(1300, 90.0, Facing.PROFILE, Edge.RIGHT, id="looks out, to the right"),
        pytest.param(300, -90.0, Facing.PROFILE, Edge.LEFT, id="looks out, to the left"),
        pytest.param(300, 90.0, Facing.PROFILE, None, id="room ahead"),
        pytest.param(960, 90.0, Facing.PROFILE, None, id="profile, ratio 0.644"),
        pytest.param(1010, 90.0, Facing.PROFILE, Edge.RIGHT, id="profile, ratio 0.56"),
        pytest.param(1010, 45.0, Facing.THREE_QUARTER, None, id="three-quarter needs less"),
        pytest.param(1300, 0.0, Facing.TO_LENS, None, id="faces the lens"),
    ],
)
def test_looking_room(
    a_person, a_picture, a_frame, thresholds, ranges, x_px, yaw, facing, edge
) -> None:
    # Bottom edge at crop level 0.65: the least ratio is about 0.60.
    picture = a_picture(0.65, top_px=50.0)
    person = a_person(picture, x_px=x_px, yaw_deg=yaw, facing=facing)
    flags = room(a_frame(picture, person), thresholds, ranges)
    assert [(f.part, f.edge) for f in flags] == ([] if edge is None else [("looking room", edge)])
    assert all(flag.distance_level < 0 for flag in flags)


def test_missing_looking_room_is_what_the_edge_would_have_to_move(
    a_person, a_picture, a_frame, thresholds, ranges
) -> None:
    picture = a_picture(0.72, top_px=60.0)
    person = a_person(picture, x_px=1200, yaw_deg=90.0, facing=Facing.PROFILE)
    flag = room(a_frame(picture, person), thresholds, ranges)[0]
    # Nose 60 px ahead, back of the head 60 px behind: 340 px ahead, 1140 px behind, 0.52 wanted.
    assert flag.distance_level == pytest.approx(-(0.52 * 1140 - 340) / 1000)
    assert flag.severity is Severity.MEDIUM


@pytest.mark.parametrize(
    "change",
    [
        {"look_room_frac": HIDDEN},
        {"look_ahead_wfrac": HIDDEN},
        {"head_yaw_deg": HIDDEN},
        {"facing": None},
    ],
    ids=lambda change: next(iter(change)),
)
def test_looking_room_needs_its_measures(
    a_person, a_picture, a_frame, thresholds, ranges, change
) -> None:
    picture = a_picture(0.72, top_px=60.0)
    person = a_person(picture, x_px=1400, yaw_deg=90.0, facing=Facing.PROFILE)
    assert room(a_frame(picture, person), thresholds, ranges) != []
    assert room(a_frame(picture, replace(person, **change)), thresholds, ranges) == []


def test_a_narrow_picture_is_not_judged_for_looking_room(
    a_person, a_picture, a_frame, thresholds, ranges
) -> None:
    picture = a_picture(0.72, top_px=60.0, left_px=600.0, w_px=300.0)
    person = a_person(picture, x_px=820, yaw_deg=90.0, facing=Facing.PROFILE)
    assert room(a_frame(picture, person), thresholds, ranges) == []


@pytest.mark.parametrize(
    "change",
    [
        pytest.param({"crop_level": HIDDEN}, id="no crop level"),
        pytest.param({"figure_frac": HIDDEN}, id="no figure height"),
        pytest.param({"figure_frac": 0.44}, id="small figure"),
        pytest.param({"crop_level": 0.9}, id="tighter than the table"),
        pytest.param({"headroom_frac": HIDDEN}, id="no headroom"),
        pytest.param({"ruler": None}, id="no ruler"),
    ],
)
def test_what_is_not_judged(a_person, a_picture, a_frame, thresholds, ranges, change) -> None:
    picture = a_picture(0.602, top_px=-200.0)
    person = a_person(picture)
    assert room(a_frame(picture, person), thresholds, ranges) != []
    assert room(a_frame(picture, replace(person, **change)), thresholds, ranges) == []


def one_row(*, least=0.05, most=0.10, ratio=1.0):
    row = RoomRange(
        at="everywhere", crop_level=0.9, headroom_min=least, headroom_max=most, look_ratio_min=ratio
    )
    return RoomRanges(title="t", source="s", rows=(row,))


@pytest.mark.parametrize(
    ("headroom", "off"), [(0.05, None), (0.10, None), (0.049, -0.001), (0.101, 0.001)]
)
def test_both_ends_of_the_range_pass(a_person, a_picture, a_frame, thresholds, headroom, off):
    picture = a_picture(0.6)
    person = replace(a_person(picture), headroom_frac=headroom)
    found = room(a_frame(picture, person), thresholds, one_row())
    assert len(found) == (0 if off is None else 1)
    for flag in found:
        assert flag.distance_level == pytest.approx(off * picture.h_px / 1000)


@pytest.mark.parametrize("off", [0.0625, -0.0625])
def test_off_by_as_much_as_medium_starts_is_still_low(a_person, a_picture, a_frame, off):
    picture = a_picture(0.6)
    headroom = 0.5 + off if off > 0 else 0.25 + off
    person = replace(a_person(picture), headroom_frac=headroom)
    for limit, severity in ((0.0625, Severity.LOW), (0.0624, Severity.MEDIUM)):
        limits = Thresholds(room_medium_frac=limit)
        (flag,) = room(a_frame(picture, person), limits, one_row(least=0.25, most=0.5))
        assert flag.severity is severity


@pytest.mark.parametrize(("yaw", "edge"), [(0.5, Edge.RIGHT), (-0.5, Edge.LEFT)])
def test_the_side_that_lacks_room_is_the_one_looked_at(
    a_person, a_picture, a_frame, thresholds, yaw, edge
):
    picture = a_picture(0.6)
    person = replace(
        a_person(picture, facing=Facing.PROFILE, yaw_deg=yaw), headroom_frac=0.07,
        look_room_frac=0.5, look_ahead_wfrac=0.2,
    )  # fmt: skip
    (flag,) = room(a_frame(picture, person), thresholds, one_row())
    assert (flag.part, flag.edge) == ("looking room", edge)
    # behind is 0.2 x 1600 / 0.5 = 640 px; 1.0 of it is 640, and 320 are there: 320 px are missing
    assert flag.distance_level == pytest.approx(-0.32)
    # (1 - 0.5) over 8 per cent of 0.5 are 12.5 standard deviations
    assert flag.certainty == pytest.approx(1.0)
    sure = replace(person, look_room_frac=1 / 1.08)
    (flag,) = room(a_frame(picture, sure), thresholds, one_row())
    assert flag.certainty == pytest.approx(0.8413, abs=1e-4)  # one standard deviation
