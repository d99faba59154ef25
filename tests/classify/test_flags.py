from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.classify.flags import find_flags
from framecheck.classify.thresholds import Thresholds
from framecheck.records.framing import BodyRuler, Edge, Facing, Role, RulerMark
from framecheck.records.judged import Severity
from framecheck.records.values import Box, NotMeasured


def cuts(flags):
    return [flag.part for flag in flags if flag.part not in ("headroom", "looking room")]


@pytest.mark.parametrize(
    ("crop_level", "part", "severity", "distance"),
    [
        pytest.param(-0.01, None, None, None, id="clear of the feet"),
        pytest.param(0.0, None, None, None, id="touches the sole"),
        pytest.param(0.001, "ankle", Severity.HIGH, -0.038, id="soles just trimmed"),
        pytest.param(0.039, "ankle", Severity.HIGH, 0.0, id="ankle"),
        pytest.param(0.10, "ankle", Severity.MEDIUM, 0.061, id="over the ankle"),
        pytest.param(0.162, "mid-calf", Severity.HIGH, 0.0, id="mid-calf"),
        pytest.param(0.22, "mid-calf", Severity.MEDIUM, 0.058, id="upper calf"),
        pytest.param(0.23, "knee", Severity.MEDIUM, -0.055, id="well below the knee"),
        pytest.param(0.25, "knee", Severity.HIGH, -0.035, id="just below the knee"),
        pytest.param(0.285, "knee", Severity.HIGH, 0.0, id="knee"),
        pytest.param(0.329, "knee", Severity.HIGH, 0.044, id="just above the knee"),
        pytest.param(0.34, None, None, None, id="clear of the knee"),
        pytest.param(0.41, None, None, None, id="mid-thigh"),
        pytest.param(0.602, None, None, None, id="waist"),
        pytest.param(0.72, None, None, None, id="chest"),
        pytest.param(0.818, None, None, None, id="shoulder"),
        pytest.param(0.855, None, None, None, id="under the chin"),
        pytest.param(0.87, "chin", Severity.MEDIUM, 0.0, id="chin"),
        pytest.param(0.91, None, None, None, id="eyes alone"),
    ],
)
def test_cuts_of_the_bottom_edge(
    a_person, a_picture, a_frame, thresholds, ranges, crop_level, part, severity, distance
) -> None:
    picture = a_picture(crop_level)
    flags = find_flags(a_frame(picture, a_person(picture)), thresholds, ranges)
    assert cuts(flags) == ([] if part is None else [part])
    for flag in (flag for flag in flags if flag.part == part):
        assert flag.severity is severity
        assert flag.distance_level == pytest.approx(distance, abs=1e-6)
        assert flag.edge is Edge.BOTTOM
        assert 0 < flag.certainty <= 1


def test_certainty_is_the_share_of_the_error_inside_the_zone(
    a_person, a_picture, a_frame, thresholds, ranges
) -> None:
    # The knee zone ends at 0.33, one standard deviation above the reading.
    picture = a_picture(0.31)
    flags = find_flags(a_frame(picture, a_person(picture, error=0.02)), thresholds, ranges)
    knee = next(flag for flag in flags if flag.part == "knee")
    assert knee.certainty == pytest.approx(0.8413, abs=1e-4)


def test_both_ends_of_a_zone_belong_to_it(a_person, a_picture, a_frame, thresholds, ranges) -> None:
    picture = a_picture(0.5)
    person = a_person(picture)
    for level in (thresholds.knee_from_level + 1e-9, thresholds.knee_to_level):
        frame = a_frame(picture, replace(person, crop_level=level))
        assert "knee" in cuts(find_flags(frame, thresholds, ranges))
    for level in (thresholds.chin_from_level, thresholds.chin_to_level):
        frame = a_frame(picture, replace(person, crop_level=level))
        assert "chin" in cuts(find_flags(frame, thresholds, ranges))


@pytest.mark.parametrize(
    ("crop_level", "top_px", "flagged"),
    [
        pytest.param(0.5, 120.0, True, id="medium, crown trimmed by 0.02"),
        pytest.param(0.5, 100.0, False, id="medium, edge touches the crown"),
        pytest.param(0.5, 140.0, False, id="medium, forehead cut: a matter of headroom"),
        pytest.param(0.80, 120.0, False, id="close-up: accepted practice"),
    ],
)
def test_crown(
    a_person, a_picture, a_frame, thresholds, ranges, crop_level, top_px, flagged
) -> None:
    picture = a_picture(crop_level, top_px=top_px)
    flags = find_flags(a_frame(picture, a_person(picture)), thresholds, ranges)
    crowns = [flag for flag in flags if flag.part == "crown"]
    assert bool(crowns) is flagged
    if flagged:
        assert crowns[0].edge is Edge.TOP
        assert crowns[0].distance_level == pytest.approx(0.02)  # > 0: the crown is lost
        assert "headroom" not in [flag.part for flag in flags]


def test_a_forehead_cut_in_a_medium_is_told_as_headroom(
    a_person, a_picture, a_frame, thresholds, ranges
) -> None:
    picture = a_picture(0.5, top_px=140.0)
    flags = find_flags(a_frame(picture, a_person(picture)), thresholds, ranges)
    assert [flag.part for flag in flags] == ["headroom"]
    assert flags[0].distance_level < 0


def test_nothing_is_flagged_where_a_side_cuts_the_body_away_first(
    a_person, a_picture, a_frame, thresholds, ranges
) -> None:
    # The figure leans out: its knee lies 300 px left of the picture.
    picture = Box(x_px=0, y_px=0, w_px=1600, h_px=815)
    marks = (
        RulerMark(name="crown", level=1.0, x_px=200, y_px=100, seen=True),
        RulerMark(name="hip", level=0.53, x_px=100, y_px=570, seen=True),
        RulerMark(name="knee", level=0.285, x_px=-300, y_px=815, seen=False),
        RulerMark(name="sole", level=0.0, x_px=-300, y_px=1100, seen=False),
    )
    ruler = BodyRuler(marks=marks, figure_px=1000, error_level=0.02)
    person = a_person(picture, ruler=ruler, x_px=200)
    assert person.crop_level == pytest.approx(0.285)
    assert cuts(find_flags(a_frame(picture, person), thresholds, ranges)) == []


def test_a_lying_figure_cut_at_the_knee_by_a_side(
    a_person, a_picture, a_frame, thresholds, ranges
) -> None:
    picture = Box(x_px=0, y_px=0, w_px=1000, h_px=600)
    levels = (("crown", 1.0), ("hip", 0.53), ("knee", 0.285), ("sole", 0.0))
    marks = tuple(
        # Level 0.285 lies at x = 1000, the right edge.
        RulerMark(name=name, level=level, x_px=1285 - 1000 * level, y_px=300, seen=True)
        for name, level in levels
    )
    ruler = BodyRuler(marks=marks, figure_px=1000, error_level=0.02)
    person = replace(a_person(picture, ruler=ruler), headroom_frac=0.1)
    # A pixel less than up to the knee cuts a thousandth above it.
    narrower = replace(picture, w_px=999)
    flags = find_flags(a_frame(narrower, person), thresholds, ranges)
    assert [(flag.part, flag.edge) for flag in flags] == [("knee", Edge.RIGHT)]
    assert flags[0].distance_level == pytest.approx(0.001)


def test_no_ruler_no_people_no_reading_no_flags(
    a_person, a_picture, a_frame, thresholds, ranges
) -> None:
    picture = a_picture(0.285)
    person = a_person(picture)
    hidden = NotMeasured(reason="hidden")
    bare = replace(person, crop_level=hidden, top_level=hidden)
    assert find_flags(a_frame(picture), thresholds, ranges) == ()
    assert find_flags(a_frame(picture, replace(person, ruler=None)), thresholds, ranges) == ()
    assert find_flags(a_frame(picture, bare), thresholds, ranges) == ()


def test_foreground_is_not_flagged_and_others_weigh_less(
    a_person, a_picture, a_frame, thresholds, ranges
) -> None:
    picture = a_picture(0.6)
    main = a_person(picture)
    # Crown at y = 140, length 504: its knee lies on the bottom edge at y = 500.36.
    small = {"crown_px": 140, "figure_px": 504.0, "person": 1, "x_px": 400}
    extra = a_person(picture, role=Role.BACKGROUND, **small)
    near = a_person(picture, role=Role.FOREGROUND, facing=Facing.AWAY, **small)
    flags = find_flags(a_frame(picture, main, extra), thresholds, ranges)
    assert [(f.part, f.person, f.severity) for f in flags if f.part == "knee"] == [
        ("knee", 1, Severity.MEDIUM)
    ]
    assert cuts(find_flags(a_frame(picture, main, near), thresholds, ranges)) == []


def test_worst_first(a_person, a_picture, a_frame, a_joint, thresholds, ranges) -> None:
    picture = a_picture(0.285, top_px=0.0)
    hand = (
        a_joint("elbow", 760, 500),
        a_joint("wrist", 760, 700),
        a_joint("fingertips", 760, 825),
    )
    person = a_person(picture, joints=hand, crown_px=300.0, figure_px=1000.0)
    flags = find_flags(a_frame(picture, person), thresholds, ranges)
    order = [Severity.HIGH, Severity.MEDIUM, Severity.LOW]
    ranks = [order.index(flag.severity) for flag in flags]
    assert len(flags) >= 2
    assert ranks == sorted(ranks)


@pytest.mark.parametrize("first", ["left", "right"])
def test_two_hands_cut_by_one_edge_are_one_flag_the_surer(
    a_person, a_picture, a_frame, a_joint, thresholds, ranges, first
) -> None:
    # Bottom edge at y = 500: one wrist lies on it, the other 20 px under it.
    picture = a_picture(0.6)
    second = "right" if first == "left" else "left"
    wrists = (a_joint("wrist", 760, 500.001, first), a_joint("wrist", 840, 520, second))
    flags = find_flags(a_frame(picture, a_person(picture, joints=wrists)), thresholds, ranges)
    found = [flag.distance_level for flag in flags if flag.part == "wrist"]
    assert found == [pytest.approx(0.0, abs=1e-5)]


def mirrored(person, picture):
    flip = 2 * picture.centre_px[0]
    ruler = person.ruler
    marks = tuple(replace(mark, x_px=flip - mark.x_px) for mark in ruler.marks)
    joints = tuple(replace(joint, x_px=flip - joint.x_px) for joint in person.joints)
    return replace(
        person,
        ruler=replace(ruler, marks=marks),
        joints=joints,
        nose_px=(flip - person.nose_px[0], person.nose_px[1]),
        head_yaw_deg=-person.head_yaw_deg,
        left_cut=person.right_cut,
        right_cut=person.left_cut,
    )


SWAPPED = {Edge.LEFT: Edge.RIGHT, Edge.RIGHT: Edge.LEFT}


@given(
    crop=st.floats(-0.1, 0.95), x_px=st.floats(50, 1550), reach_px=st.floats(-900, 900),
    yaw=st.sampled_from([-90.0, -45.0, 45.0, 90.0]),
)  # fmt: skip
def test_mirroring_the_picture_swaps_the_sides_and_nothing_else(
    a_person, a_picture, a_frame, a_joint, thresholds, ranges, crop, x_px, reach_px, yaw
) -> None:
    picture = a_picture(crop, top_px=50.0)
    arm = tuple(
        a_joint(part, x_px + share * reach_px, 300.0 + 100 * share)
        for part, share in (("elbow", 0.4), ("wrist", 0.75), ("fingertips", 1.0))
    )
    facing = Facing.PROFILE if abs(yaw) == 90 else Facing.THREE_QUARTER
    person = a_person(picture, x_px=x_px, joints=arm, yaw_deg=yaw, facing=facing)
    flags = find_flags(a_frame(picture, person), thresholds, ranges)
    other = find_flags(a_frame(picture, mirrored(person, picture)), thresholds, ranges)
    key = lambda f: (f.part, f.severity, round(f.distance_level, 6), round(f.certainty, 6))  # noqa: E731
    assert sorted((key(f), SWAPPED.get(f.edge, f.edge)) for f in flags) == sorted(
        (key(f), f.edge) for f in other
    )


@given(crop=st.floats(-0.1, 0.95), top_px=st.floats(0, 140))
def test_twice_the_pixels_change_no_flag(
    a_person, a_picture, a_frame, thresholds, ranges, crop, top_px
) -> None:
    small = a_picture(crop, top_px=top_px)
    large = Box(x_px=0, y_px=2 * top_px, w_px=3200, h_px=2 * small.h_px)
    one = find_flags(a_frame(small, a_person(small)), thresholds, ranges)
    doubled = a_person(large, x_px=1600, crown_px=200, figure_px=2000)
    two = find_flags(a_frame(large, doubled), thresholds, ranges)
    assert [(f.part, f.edge, f.severity) for f in one] == [
        (f.part, f.edge, f.severity) for f in two
    ]
    for a, b in zip(one, two, strict=True):
        assert a.distance_level == pytest.approx(b.distance_level, abs=1e-9)


def at_level(person, level):
    """The person with that reading of the bottom edge, to the last digit."""
    return replace(person, crop_level=level)


@pytest.mark.parametrize(
    ("level", "part"),
    [(0.25, "knee"), (0.35, "knee"), (0.15, "mid-calf"), (0.20, "mid-calf"), (0.05, "ankle"),
     (0.10, "ankle"), (0.85, "chin"), (0.92, "chin"), (0.249, None), (0.351, None), (0.049, None),
     (0.849, None), (0.921, None)],
)  # fmt: skip
def test_the_rims_of_each_zone(a_person, a_picture, a_frame, ranges, level, part):
    zones = Thresholds(
        ankle_from_level=0.05, ankle_to_level=0.10, mid_calf_from_level=0.15,
        mid_calf_to_level=0.20, knee_from_level=0.25, knee_to_level=0.35, chin_from_level=0.85,
        chin_to_level=0.92, room_figure_min_frac=99.0,
    )  # fmt: skip
    picture = a_picture(0.5)
    found = find_flags(a_frame(picture, at_level(a_person(picture), level)), zones, ranges)
    assert [flag.part for flag in found if flag.part != "crown"] == ([part] if part else [])


def test_where_zones_overlap_the_nearest_mark_counts(a_person, a_picture, a_frame, ranges):
    wide = Thresholds(
        ankle_to_level=0.5, mid_calf_from_level=0.0, mid_calf_to_level=0.5, knee_from_level=0.0,
        room_figure_min_frac=99.0,
    )  # fmt: skip
    picture = a_picture(0.5)
    for level, part in ((0.04, "ankle"), (0.12, "mid-calf"), (0.21, "mid-calf"), (0.24, "knee")):
        found = find_flags(a_frame(picture, at_level(a_person(picture), level)), wide, ranges)
        assert [flag.part for flag in found] == [part], level


def test_a_cut_as_near_as_the_core_reaches_is_severe(a_person, a_picture, a_frame, ranges):
    picture = a_picture(0.5)
    measured = a_frame(picture, at_level(a_person(picture), 0.285 - 0.03125))
    reach = abs((0.285 - 0.03125) - 0.285)
    for core, severity in ((reach, Severity.HIGH), (reach - 1e-6, Severity.MEDIUM)):
        limits = Thresholds(joint_core_level=core, room_figure_min_frac=99.0)
        assert [flag.severity for flag in find_flags(measured, limits, ranges)] == [severity]


@pytest.mark.parametrize(
    ("top", "crop", "told"),
    [(0.97, 0.5, True), (0.969, 0.5, False), (1.0, 0.5, False), (0.98, 0.769, True),
     (0.98, 0.77, False)],
)  # fmt: skip
def test_the_rims_of_a_trimmed_crown(
    a_person, a_picture, a_frame, thresholds, ranges, top, crop, told
):
    picture = a_picture(0.5)
    person = replace(a_person(picture), top_level=top, crop_level=crop)
    parts = [flag.part for flag in find_flags(a_frame(picture, person), thresholds, ranges)]
    assert ("crown" in parts) is told


def test_among_alike_the_main_subject_comes_first(a_person, a_picture, a_frame, ranges):
    limits = Thresholds(room_figure_min_frac=99.0)
    picture = a_picture(0.285)
    surer = a_person(picture, person=1, x_px=1200.0, error=0.001)
    main = a_person(picture, error=0.05)
    found = find_flags(a_frame(picture, main, surer), limits, ranges)
    assert [flag.person for flag in found] == [0, 1]
    assert found[0].certainty < found[1].certainty


def test_an_edge_over_the_crown_cuts_nobody(a_person, a_picture, a_frame, ranges):
    """Even where the zone of the chin is drawn that far."""
    wide = Thresholds(chin_to_level=1.5, room_figure_min_frac=99.0)
    picture = a_picture(0.5)
    for level, parts in ((0.999, ["chin"]), (1.0, []), (1.2, []), (0.0, []), (-0.1, [])):
        measured = a_frame(picture, at_level(a_person(picture), level))
        assert [flag.part for flag in find_flags(measured, wide, ranges)] == parts, level
