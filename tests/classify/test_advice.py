from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framecheck.classify.advice import Reframe, advise, apply_reframe
from framecheck.classify.flags import find_flags, flag_key
from framecheck.classify.thresholds import Thresholds
from framecheck.records.framing import Edge, Facing


def judged(frame, thresholds, ranges):
    flags = find_flags(frame, thresholds, ranges)
    return flags, advise(frame, flags, thresholds, ranges)


def changes(advice):
    return [(a.edge, a.move_frac, a.field_change_frac) for a in advice]


def test_nothing_to_mend_nothing_to_say(a_person, a_picture, a_frame, thresholds, ranges) -> None:
    picture = a_picture(0.41)
    assert judged(a_frame(picture, a_person(picture)), thresholds, ranges) == ((), ())


@pytest.mark.parametrize(
    ("crop_level", "expected", "text"),
    [
        # Picture 790 px high, zone ends 20 px (2.53 %) up; on the eyes (y = 164) the bottom edge,
        # 626 px under them, has to come up by 20 px: 3.19 %.
        pytest.param(
            0.31,
            [(Edge.BOTTOM, -0.026, 0.0), (None, 0.0, -0.032)],
            "Move the bottom edge 2.6 % of the frame height up to clear the knee (crop in post).",
            id="just above the knee",
        ),
        # Picture 1080 px high, sole 20 px (1.85 %) down; 20 / (1080 - 164) = 2.18 %.
        pytest.param(
            0.02,
            [(Edge.BOTTOM, 0.019, 0.0), (None, 0.0, 0.022)],
            "Move the bottom edge 1.9 % of the frame height down to clear the ankle "
            "(reframe on set).",
            id="soles trimmed",
        ),
        # 950 px high: 150 px (15.8 %) down on set, or 180 px (18.95 %) up in post.
        pytest.param(
            0.15,
            [(Edge.BOTTOM, 0.158, 0.0), (Edge.BOTTOM, -0.19, 0.0), (None, 0.0, 0.191)],
            "Move the bottom edge 15.8 % of the frame height down to clear the mid-calf "
            "(reframe on set).",
            id="mid-calf, a crop as a further choice",
        ),
    ],
)
def test_smallest_change_by_hand(
    a_person, a_picture, a_frame, thresholds, ranges, crop_level, expected, text
) -> None:
    picture = a_picture(crop_level)
    _, advice = judged(a_frame(picture, a_person(picture)), thresholds, ranges)
    assert changes(advice) == expected
    assert advice[0].text == text
    assert all(other.text.startswith("Or ") for other in advice[1:])


def test_a_trimmed_crown_is_given_room(a_person, a_picture, a_frame, thresholds, ranges) -> None:
    picture = a_picture(0.5, top_px=120.0)
    flags, advice = judged(a_frame(picture, a_person(picture)), thresholds, ranges)
    assert [flag.part for flag in flags] == ["crown"]
    # 20 px to the crown alone would leave no headroom: 0.04 of the grown picture is asked for.
    top = next(a for a in advice if a.edge is Edge.TOP)
    height_px = 480 + 20 + 0.04 / 0.96 * 500
    assert top.move_frac == pytest.approx((height_px - 480) / 480, abs=0.001)
    assert top.text.startswith("Better move the top edge")
    assert top.clears == ("crown",)


def test_looking_room_is_given_ahead_or_taken_away_behind(
    a_person, a_picture, a_frame, a_joint, thresholds, ranges
) -> None:
    picture = a_picture(0.72, top_px=60.0)
    person = a_person(picture, x_px=1050, yaw_deg=90.0, facing=Facing.PROFILE)
    _, advice = judged(a_frame(picture, person), thresholds, ranges)
    # The picture is 320 px high. 490 px ahead, 990 px behind, 0.52 wanted: 24.8 px are missing
    # ahead, 7.75 % of the height, 1.6 % of the width.
    move = next(a for a in advice if a.edge is Edge.RIGHT)
    assert move.move_frac == 0.078
    assert "1.6 % of the frame width to the right" in move.text
    # A tighter field passes as well, as a tighter size asks for less; so a crop is told.
    assert any(a.edge is None and a.field_change_frac < 0 for a in advice)
    person = replace(person, joints=(a_joint("elbow", 1400, 300), a_joint("wrist", 1650, 300)))
    flags, advice = judged(a_frame(picture, person), thresholds, ranges)
    assert [flag.part for flag in flags] == ["looking room"]
    # With an arm that must not come nearer to the right edge, 47.7 px (14.9 %) off the left one.
    assert (Edge.LEFT, -0.15) in [(a.edge, a.move_frac) for a in advice]


def test_a_profile_at_the_edge_is_past_mending(
    a_person, a_picture, a_frame, thresholds, ranges
) -> None:
    picture = a_picture(0.72, top_px=60.0)
    person = a_person(picture, x_px=1240, yaw_deg=90.0, facing=Facing.PROFILE)
    _, advice = judged(a_frame(picture, person), thresholds, ranges)
    # 300 px ahead, 1180 px behind: 313.6 px are missing, and 25 % of the height are 80 px.
    assert changes(advice) == [(None, 0.0, 0.0)]
    assert "set the looking room right without another flag" in advice[0].text


@pytest.fixture(scope="session")
def two_edges(a_person, a_picture, a_frame, a_joint):
    """The knee 20 px under the end of its zone, a wrist 10 px inside the right edge."""
    picture = a_picture(0.31)
    places = {"elbow": 1400, "wrist": 1590, "fingertips": 1700}
    arm = tuple(a_joint(part, x_px, 300) for part, x_px in places.items())
    return a_frame(picture, a_person(picture, joints=arm))


def test_one_change_for_two_edges_where_there_is_one(two_edges, thresholds, ranges) -> None:
    flags, advice = judged(two_edges, thresholds, ranges)
    assert [flag.part for flag in flags] == ["knee", "wrist"]
    # The wrist needs the right edge, 800 px from the eyes, to come in by 40 px: 5.0 %.
    assert changes(advice) == [(None, 0.0, pytest.approx(-0.05, abs=0.0011))]
    assert advice[0].clears == ("knee", "wrist")


def test_else_two_edges_are_mended_one_by_one(two_edges, ranges) -> None:
    _, advice = judged(two_edges, Thresholds(advice_max_frac=0.03), ranges)
    # Each edge has 20 px to go, of a picture 790 px high; the field would need 3.2 and 5.0 %.
    moves = [(a.edge, a.move_frac, a.clears) for a in advice if a.edge is not None]
    assert (Edge.BOTTOM, -0.026, ("knee",)) in moves
    assert (Edge.RIGHT, 0.026, ("wrist",)) in moves


def test_when_nothing_small_helps_it_says_so(a_person, a_picture, a_frame, ranges) -> None:
    picture = a_picture(0.15)
    strict = Thresholds(advice_max_frac=0.1)
    flags, advice = judged(a_frame(picture, a_person(picture)), strict, ranges)
    assert [flag.part for flag in flags] == ["mid-calf"]
    assert changes(advice) == [(None, 0.0, 0.0)]
    assert advice[0].clears == ()
    assert advice[0].text == (
        "No reframe of up to 10 % can clear the mid-calf without another flag: change the "
        "distance, the height or the pose on set."
    )


def test_the_worst_of_an_edge_comes_first_when_not_all_can_be_cleared(
    a_person, a_picture, a_frame, ranges
) -> None:
    # Two people: one's knee and, up to 10 % either way, the other's lower leg lie at the edge.
    picture = a_picture(0.31)
    main = a_person(picture)
    other = a_person(picture, person=1, x_px=300, crown_px=100, figure_px=930, left_cut=0.7)
    frame = a_frame(picture, main, other)
    strict = Thresholds(advice_max_frac=0.03)
    flags, advice = judged(frame, strict, ranges)
    assert [(f.part, f.person) for f in flags] == [("knee", 0), ("knee", 1)]
    assert advice[0].clears == ("knee",)
    assert advice[0].move_frac == pytest.approx(-0.026)
    assert "person" not in advice[0].text


@settings(max_examples=60, deadline=None)
@given(
    crop=st.floats(0.0, 0.9), top_px=st.floats(-150, 140), x_px=st.floats(200, 1400),
    wrist=st.floats(0.45, 0.65), facing=st.sampled_from([Facing.TO_LENS, Facing.PROFILE]),
)  # fmt: skip
def test_applied_advice_clears_its_flags_and_makes_none(
    a_person, a_picture, a_frame, a_joint, thresholds, ranges, crop, top_px, x_px, wrist, facing
) -> None:
    def measured(picture):
        # A new figure in the picture given: nothing is taken from the advice's own re-reading.
        arm = tuple(
            a_joint(part, x_px - 60, 1100 - 1000 * level)
            for part, level in (
                ("elbow", wrist + 0.145), ("wrist", wrist), ("fingertips", wrist - 0.108),
            )
        )  # fmt: skip
        yaw = 90.0 if facing is Facing.PROFILE else 0.0
        return a_frame(
            picture, a_person(picture, x_px=x_px, joints=arm, yaw_deg=yaw, facing=facing)
        )

    frame = measured(a_picture(crop, top_px=top_px))
    flags, advice = judged(frame, thresholds, ranges)
    assert bool(flags) is bool(advice)
    before = {flag_key(flag) for flag in flags}
    for a in advice:
        assert abs(a.move_frac) <= thresholds.advice_max_frac
        assert abs(a.field_change_frac) <= thresholds.advice_max_frac
        mille = round(1000 * (a.move_frac if a.edge else a.field_change_frac))
        assert (mille == 0) is (a.clears == ())
        picture = apply_reframe(frame, Reframe(edge=a.edge, mille=mille))
        after = find_flags(measured(picture), thresholds, ranges)
        assert not {flag.part for flag in after} & set(a.clears)
        assert {flag_key(flag) for flag in after} <= before


@settings(max_examples=30, deadline=None)
@given(crop=st.floats(0.001, 0.329))
def test_no_smaller_move_in_the_same_direction_clears_the_legs(
    a_person, a_picture, a_frame, thresholds, ranges, crop
) -> None:
    picture = a_picture(crop)
    frame = a_frame(picture, a_person(picture))
    _, advice = judged(frame, thresholds, ranges)
    for a in (a for a in advice if a.edge is Edge.BOTTOM):
        mille = round(1000 * a.move_frac)
        for less in range(1, abs(mille)):
            smaller = Reframe(edge=Edge.BOTTOM, mille=less if mille > 0 else -less)
            moved = apply_reframe(frame, smaller)
            after = find_flags(a_frame(moved, a_person(moved)), thresholds, ranges)
            assert after, f"{smaller} would have been enough"


def test_a_person_beside_is_named_in_the_sentence(
    a_person, a_picture, a_frame, thresholds, ranges
) -> None:
    picture = a_picture(0.41)
    # The other stands higher: the bottom edge at y = 690 lies at level 0.31 of a 855 px figure.
    other = a_person(picture, person=1, x_px=400, figure_px=855.07)
    frame = a_frame(picture, a_person(picture), replace(other))
    _, advice = judged(frame, thresholds, ranges)
    assert "to clear the knee of person 1" in advice[0].text
