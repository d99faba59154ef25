"""What holds for the judgement of every picture: mirrored, moved, scaled, read again."""

from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from framecheck.classify.advice import Reframe, apply_reframe
from framecheck.classify.flags import (
    find_flags,
    flag_key,
    walk_flags,
    walk_flags_cheapest_first,
)
from framecheck.classify.judge import judge_frame
from framecheck.classify.people import (
    SEVERITIES,
    counts_as_subject,
    head_ratio,
    look_behind_px,
    lower_severity,
)
from framecheck.classify.reread import (
    eye_point_px,
    move_edge,
    reread,
    reread_for_flags,
    scale_field,
)
from framecheck.classify.room import parse_room_ranges, room_at
from framecheck.classify.thresholds import Thresholds
from framecheck.classify.vocabulary import parse_vocabulary
from framecheck.geometry.boxes import holds
from framecheck.records.framing import Edge
from framecheck.records.values import NotMeasured
from tests.classify.conftest import DATA
from tests.classify.mirrors import OTHER_EDGE, frames, mirrored, pictures, scaled
from tests.steady import FEW, STEADY

THRESHOLDS = Thresholds()
RANGES = parse_room_ranges((DATA / "headroom.toml").read_text(encoding="utf-8"), "headroom.toml")
TRADE = parse_vocabulary(
    (DATA / "vocabularies" / "trade.toml").read_text(encoding="utf-8"), "trade.toml"
)
MOVES = st.integers(-250, 250)


def flags_of(measurement):
    return find_flags(measurement, THRESHOLDS, RANGES)


def judged(measurement, **options):
    return judge_frame(measurement, (TRADE,), THRESHOLDS, RANGES, **options)


def told(flags):
    """Flags in an order of their own, with numbers that can be compared."""
    rows = [(*flag_key(f), f.severity.value, f.distance_level, f.certainty) for f in flags]
    return sorted(rows, key=lambda row: row[:4])


def same(one, other):
    assert [row[:4] for row in one] == [row[:4] for row in other]
    for mine, yours in zip(one, other, strict=True):
        assert mine[4:] == pytest.approx(yours[4:], abs=1e-6)


@STEADY
@given(frames())
def test_a_mirror_swaps_the_sides_of_the_flags_and_nothing_else(measurement) -> None:
    one, other = judged(measurement, advised=False), judged(mirrored(measurement), advised=False)
    swapped = [replace(flag, edge=OTHER_EDGE[flag.edge]) for flag in other.flags]
    same(told(one.flags), told(swapped))
    assert other.shot_type is one.shot_type
    assert [size.name for size in other.sizes] == [size.name for size in one.sizes]
    assert other.notes == one.notes


@STEADY
@given(frames(), st.sampled_from([0.5, 2.0, 4.0]), st.tuples(*[st.integers(-500, 500)] * 2))
def test_size_and_place_in_the_file_change_no_judgement(measurement, scale, by) -> None:
    one, other = (
        judged(measurement, advised=False),
        judged(scaled(measurement, scale, by), advised=False),
    )
    same(told(one.flags), told(other.flags))
    assert other.shot_type is one.shot_type
    assert other.sizes == one.sizes
    assert other.notes == one.notes


@STEADY
@given(frames())
def test_flags_come_worst_first_and_each_once(measurement) -> None:
    flags = flags_of(measurement)
    ranks = [SEVERITIES.index(flag.severity) for flag in flags]
    assert ranks == sorted(ranks)
    keys = [flag_key(flag) for flag in flags]
    assert len(set(keys)) == len(keys)
    for flag in flags:
        assert 0 <= flag.certainty <= 1
        assert 0 <= flag.person < len(measurement.people)


@STEADY
@given(frames(most=1))
def test_leg_flags_say_how_far_the_edge_is_from_the_joint(measurement) -> None:
    marks = {"ankle": 0.039, "mid-calf": 0.162, "knee": 0.285, "chin": 0.870}
    crop = measurement.people[0].crop_level
    for flag in flags_of(measurement):
        if flag.part in marks and flag.edge is Edge.BOTTOM:
            assert marks[flag.part] + flag.distance_level == pytest.approx(crop)


@FEW
@given(frames(most=2))
def test_advice_clears_what_it_names_and_raises_nothing(measurement) -> None:
    before = {flag_key(flag): flag.severity for flag in flags_of(measurement)}
    for advice in judged(measurement).advice:
        if not advice.clears:
            assert advice.edge is None
            assert advice.text.startswith("No reframe")
            continue
        size = advice.field_change_frac if advice.edge is None else advice.move_frac
        change = Reframe(edge=advice.edge, mille=round(1000 * size))
        picture = apply_reframe(measurement, change)
        after = {flag_key(f): f.severity for f in flags_of(reread(measurement, picture))}
        assert set(after) <= set(before)
        assert all(SEVERITIES.index(after[key]) >= SEVERITIES.index(before[key]) for key in after)
        assert not any(part in advice.clears and edge == getattr(advice.edge, "value", edge)
                       for part, _, edge in after if part not in {"looking room"})  # fmt: skip
        assert 0 < abs(size) <= THRESHOLDS.advice_max_frac


@FEW
@given(frames(most=1))
def test_no_smaller_move_of_the_advised_edge_would_do(measurement) -> None:
    """Down to the step of the search, five thousandths."""
    flags = flags_of(measurement)
    for advice in judged(measurement).advice:
        if advice.edge is None or set(advice.clears) != {flag.part for flag in flags}:
            continue
        found = round(1000 * advice.move_frac)
        for mille in range(5, abs(found) - 4, 5):
            change = Reframe(edge=advice.edge, mille=mille if found > 0 else -mille)
            left = flags_of(reread(measurement, apply_reframe(measurement, change)))
            assert left


@STEADY
@given(frames())
def test_a_picture_read_again_is_the_picture(measurement) -> None:
    again = reread(measurement, measurement.picture)
    for one, other in zip(measurement.people, again.people, strict=True):
        for name in ("crop_level", "top_level", "headroom_frac", "eye_line_frac", "figure_frac",
                     "look_room_frac", "look_ahead_wfrac"):  # fmt: skip
            before, after = getattr(one, name), getattr(other, name)
            if isinstance(before, NotMeasured):
                assert after is before
            else:
                assert after == pytest.approx(before, abs=1e-6), name


@STEADY
@given(frames(), st.integers(-100, 100), st.integers(-100, 100))
def test_the_way_to_a_picture_does_not_matter(measurement, down, up) -> None:
    """Read in one step or by way of another picture: what is measured is the same."""
    there = move_edge(measurement.picture, Edge.BOTTOM, down)
    end = move_edge(there, Edge.TOP, up)
    direct, by_way = reread(measurement, end), reread(reread(measurement, there), end)
    for one, other in zip(direct.people, by_way.people, strict=True):
        for name in ("crop_level", "top_level", "headroom_frac", "eye_line_frac", "figure_frac"):
            assert getattr(one, name) == pytest.approx(getattr(other, name), abs=1e-9), name
        assert [joint.inside for joint in one.joints] == [joint.inside for joint in other.joints]
        assert all(j.inside == holds(end, (j.x_px, j.y_px)) for j in one.joints)


@STEADY
@given(frames(), st.integers(-100, 100), st.integers(-100, 100))
def test_the_search_for_advice_sees_the_flags_that_are_told(measurement, down, up) -> None:
    """It reads less of a moved picture, and asks for its flags in another order."""
    end = move_edge(move_edge(measurement.picture, Edge.BOTTOM, down), Edge.TOP, up)
    told = walk_flags(reread(measurement, end), THRESHOLDS, RANGES)
    seen = walk_flags_cheapest_first(reread_for_flags(measurement, end), THRESHOLDS, RANGES)
    assert sorted(map(repr, seen)) == sorted(map(repr, told))


@STEADY
@given(frames(most=1), st.integers(-60, 60), st.integers(-60, 60))
def test_looking_room_read_again_is_what_the_new_sides_leave(measurement, left, right) -> None:
    """Half a head is 60 px in these figures, and what lies beyond it is room."""
    person = measurement.people[0]
    assume(isinstance(person.look_room_frac, float))
    old = measurement.picture
    x = person.nose_px[0]
    new = move_edge(move_edge(old, Edge.LEFT, left), Edge.RIGHT, right)
    clear = all(min(x - 60 - box.x_px, box.right_px - x - 60) >= 1 for box in (old, new))
    assume(clear)
    again = reread(measurement, new).people[0]
    sides = {1: new.right_px - x - 60, -1: x - 60 - new.x_px}
    to = 1 if person.head_yaw_deg > 0 else -1
    assert again.look_ahead_wfrac == pytest.approx(sides[to] / new.w_px, abs=1e-9)
    assert again.look_room_frac == pytest.approx(sides[to] / sides[-to], rel=1e-6)
    assert look_behind_px(person, old) == pytest.approx(
        old.right_px - x - 60 if to < 0 else x - 60 - old.x_px
    )


@STEADY
@given(pictures(), st.sampled_from(Edge), MOVES)
def test_an_edge_moved_there_and_back_is_where_it_was(picture, edge, px) -> None:
    assume(-px < min(picture.w_px, picture.h_px))
    moved = move_edge(picture, edge, px)
    assert (moved.area_px2 > picture.area_px2) == (px > 0)
    again = move_edge(moved, edge, -px)
    assert (again.x_px, again.y_px, again.w_px, again.h_px) == pytest.approx(
        (picture.x_px, picture.y_px, picture.w_px, picture.h_px)
    )
    kept = [Edge.LEFT, Edge.TOP, Edge.RIGHT, Edge.BOTTOM]
    kept.remove(edge)
    for other in kept:
        assert side(moved, other) == pytest.approx(side(picture, other))
    outward = {Edge.LEFT: -1, Edge.TOP: -1, Edge.RIGHT: 1, Edge.BOTTOM: 1}[edge]
    assert side(moved, edge) - side(picture, edge) == pytest.approx(outward * px)


def side(box, edge):
    return {Edge.LEFT: box.x_px, Edge.TOP: box.y_px, Edge.RIGHT: box.right_px,
            Edge.BOTTOM: box.bottom_px}[edge]  # fmt: skip


@STEADY
@given(frames(), st.integers(-250, 250).filter(bool))
def test_a_field_that_grows_keeps_the_eyes_in_their_place(measurement, mille) -> None:
    picture = measurement.picture
    eyes = eye_point_px(measurement)
    assert holds(picture, eyes)
    new = scale_field(picture, 1 + mille / 1000, eyes)
    for at, low, size, new_low, new_size in (
        (eyes[0], picture.x_px, picture.w_px, new.x_px, new.w_px),
        (eyes[1], picture.y_px, picture.h_px, new.y_px, new.h_px),
    ):
        assert (at - new_low) / new_size == pytest.approx((at - low) / size)
        assert new_size == pytest.approx(size * (1 + mille / 1000))
    assert apply_reframe(measurement, Reframe(edge=None, mille=mille)) == new


@STEADY
@given(frames())
def test_heads_are_compared_both_ways(measurement) -> None:
    people = measurement.people
    for one in people:
        assert head_ratio(one, one) == pytest.approx(1)
        for other in people:
            there, back = head_ratio(one, other), head_ratio(other, one)
            assert there * back == pytest.approx(1)
            bare = [replace(p, head_height_px=NotMeasured(reason="hidden")) for p in (one, other)]
            assert head_ratio(*bare) == pytest.approx(there)
    assert counts_as_subject(people[0], measurement, THRESHOLDS)


@STEADY
@given(st.sampled_from(SEVERITIES), st.integers(0, 5), st.integers(0, 5))
def test_lowering_adds_up_and_ends_at_low(severity, one, other) -> None:
    at_once = lower_severity(severity, one + other)
    assert lower_severity(lower_severity(severity, one), other) is at_once
    assert SEVERITIES.index(at_once) == min(2, SEVERITIES.index(severity) + one + other)


@STEADY
@given(st.floats(-2, 1.2))
def test_room_lies_between_the_rows_around_it(level) -> None:
    found, rows = room_at(RANGES, level), RANGES.rows
    if level > rows[-1].crop_level:
        assert found is None
        return
    assert found is not None
    low = max(
        (r for r in rows if r.crop_level <= level), key=lambda r: r.crop_level, default=rows[0]
    )
    high = min((r for r in rows if r.crop_level >= level), key=lambda r: r.crop_level)
    for name in ("headroom_min", "headroom_max", "look_ratio_min"):
        ends = sorted((getattr(low, name), getattr(high, name)))
        assert ends[0] - 1e-9 <= getattr(found, name) <= ends[1] + 1e-9
        gap = high.crop_level - low.crop_level
        if gap > 0:
            share = (level - low.crop_level) / gap
            exact = (1 - share) * getattr(low, name) + share * getattr(high, name)
            assert getattr(found, name) == pytest.approx(exact, abs=1e-9)
    assert found.headroom_min <= found.headroom_max
    assert found.at in {low.at, high.at}
