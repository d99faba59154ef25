"""What holds for every two people compared: both ways, in the mirror, at any size."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from framecheck.coverage.changes import angle_change_deg, shown_size, size_ratio
from framecheck.coverage.cuts import Side, judge_cuts
from framecheck.coverage.directions import closeness_deg, direction, lens_height_deg, looks
from framecheck.coverage.identity import group_people, letter
from framecheck.coverage.likeness import (
    MOST,
    log_odds,
    look_array,
    part_distances,
    probability,
    side_of,
)
from framecheck.coverage.statistics import rank_correlation, shot_lengths
from framecheck.records.coverage import CutThresholds, Direction, Verdict
from framecheck.records.looks import LOOK_PARTS, ColourShare, PartLook, PersonLook
from framecheck.records.values import NotMeasured
from tests.coverage.builders import ANNE, BERT, CARL, a_shot, shown
from tests.steady import FEW, STEADY

YAWS = st.integers(-179, 179).map(float)
HEADS = st.integers(3, 150).map(lambda n: n / 100)
THRESHOLDS = CutThresholds()
OTHER = {Direction.LEFT: Direction.RIGHT, Direction.RIGHT: Direction.LEFT}


def vector(angle_deg):
    return np.array([math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))])


PEOPLE = st.builds(
    lambda head, yaw, body, x, eyes: shown(head=head, yaw=yaw, body=body, x=x, eyes=eyes),
    HEADS, YAWS, YAWS, st.floats(0.05, 0.95), st.floats(0.1, 0.8),
)  # fmt: skip


@STEADY
@given(PEOPLE, PEOPLE)
def test_there_and_back_sizes_cancel_and_angles_agree(one, other) -> None:
    there, back = size_ratio(one, other), size_ratio(other, one)
    assert there * back == pytest.approx(1)
    assert angle_change_deg(one, other) == pytest.approx(angle_change_deg(other, one), abs=1e-9)
    assert 0 <= angle_change_deg(one, other) <= 180


@STEADY
@given(PEOPLE, PEOPLE, st.sampled_from([0.5, 2.0]))
def test_all_twice_as_large_is_twice_the_size(one, other, times) -> None:
    names = ("head_frac", "face_frac", "figure_frac")
    large = replace(other, **{name: times * getattr(other, name) for name in names})
    assert size_ratio(one, large) == pytest.approx(times * size_ratio(one, other))
    assert shown_size(large) == pytest.approx(times * shown_size(other))


@STEADY
@given(HEADS, YAWS, HEADS, YAWS)
def test_a_head_is_told_as_large_as_it_was_drawn(head, yaw, other, turn) -> None:
    """Builders draw what the witnesses would show of a bare head of that height."""
    one, two = shown(head=head, yaw=yaw), shown(head=other, yaw=turn)
    assert shown_size(one) == pytest.approx(head)
    assert size_ratio(one, two) == pytest.approx(other / head)


@STEADY
@given(YAWS, YAWS, YAWS, YAWS)
def test_the_camera_moved_by_what_head_and_body_turned(head, body, head_after, body_after) -> None:
    """The body counts a tenth of the head, each turn as a vector."""
    one, other = shown(yaw=head, body=body), shown(yaw=head_after, body=body_after)
    summed = vector(head_after - head) + 0.1 * vector(body_after - body)
    expected = abs(math.degrees(math.atan2(summed[1], summed[0])))
    assert angle_change_deg(one, other) == pytest.approx(expected, abs=1e-6)
    alone = [replace(person, body_yaw_deg=None) for person in (one, other)]
    turn = abs((head_after - head + 180) % 360 - 180)
    assert angle_change_deg(*alone) == pytest.approx(turn, abs=1e-6)


@STEADY
@given(YAWS, st.floats(0, 80))
def test_a_mirror_turns_every_look_about(yaw, neutral) -> None:
    here, there = direction(yaw, neutral), direction(-yaw, neutral)
    assert there is OTHER.get(here, here) or yaw == 0
    assert (here is Direction.TO_LENS) == (abs(yaw) < neutral)
    assert (here is Direction.AWAY) == (180 - abs(yaw) < neutral)
    person, image = shown(yaw=yaw), shown(yaw=-yaw)
    assert closeness_deg(person) == closeness_deg(image) == abs(yaw)
    assert side_of(person) == -side_of(image)
    assert lens_height_deg(person) == lens_height_deg(image)
    assert looks(person, neutral) is here


@STEADY
@given(YAWS, st.floats(-80, 80))
def test_the_height_of_the_lens_is_the_pitch_of_a_face(yaw, pitch) -> None:
    found = lens_height_deg(shown(yaw=yaw, pitch=pitch))
    if abs(yaw) > 112.5:
        assert found == NotMeasured(reason="seen from behind")
    else:
        assert found == pytest.approx(pitch)


COLOURS = st.builds(
    lambda light, a, b, share: ColourShare(light=light, green_red=a, blue_yellow=b, share=share),
    st.integers(5, 95).map(float), st.integers(-60, 60).map(float),
    st.integers(-60, 60).map(float), st.integers(50, 100).map(lambda n: n / 100),
)  # fmt: skip
PARTS = st.tuples(COLOURS, COLOURS).map(
    lambda two: (two[0], two[1]._replace(share=1 - two[0].share))
)


@st.composite
def person_looks(draw, parts=LOOK_PARTS) -> PersonLook:
    return PersonLook(parts=tuple(PartLook(part=part, colours=draw(PARTS)) for part in parts))


def distances(one, other):
    return part_distances(look_array([one]), look_array([other]))[0]


@STEADY
@given(person_looks(), person_looks())
def test_colours_are_as_far_there_as_back(one, other) -> None:
    assert distances(one, other) == pytest.approx(distances(other, one), abs=1e-6)
    assert distances(one, one) == pytest.approx(np.zeros(5), abs=1e-6)
    assert (distances(one, other) >= -1e-9).all()


@STEADY
@given(person_looks(parts=("chest",)), person_looks(parts=("chest",)))
def test_the_distance_is_that_of_moving_the_colours_by_hand(one, other) -> None:
    """An oracle: one light is put right, then every way of moving the shares is tried."""
    p, q = (np.array([[*c] for c in look.parts[0].colours]) for look in (one, other))
    p[:, 0] += 16
    q[:, 0] += 16
    means = [(c[:, :3] * c[:, 3:]).sum(axis=0) for c in (p, q)]
    half = math.exp(np.clip(math.log(means[1][0] / means[0][0]), -0.3, 0.3) / 2)
    cast = np.clip(means[1][1:] / half - means[0][1:] * half, -4, 4)
    a, b = p[:, :3] * half, q[:, :3] / half
    a[:, 1:] += cast / 2
    b[:, 1:] -= cast / 2
    gap = np.linalg.norm((a[:, None] - b[None]) * [0.8, 1, 1], axis=2)
    least = math.inf
    share, want = p[0, 3], q[0, 3]
    for flow in np.linspace(max(0, share + want - 1), min(share, want), 201):
        moved = np.array([[flow, share - flow], [want - flow, 1 - share - want + flow]])
        least = min(least, float((moved * gap).sum()))
    nearest = (gap[0].min() + gap[:, 0].min()) / 2
    found = distances(one, other)
    assert found[LOOK_PARTS.index("chest")] == pytest.approx((least + nearest) / 2, abs=1e-6)
    assert np.isnan(np.delete(found, LOOK_PARTS.index("chest"))).all()


@STEADY
@given(person_looks(), person_looks(), st.floats(1.01, 5))
def test_farther_colours_never_speak_more_for_one_person(one, other, times) -> None:
    near = distances(one, other)
    assert log_odds(times * near) <= log_odds(near) + 1e-9
    assert -MOST <= float(log_odds(near)) <= MOST
    assert log_odds(np.full(5, np.nan)) == 0


@STEADY
@given(st.floats(-20, 20))
def test_odds_and_chances(odds) -> None:
    chance = probability(odds)
    assert chance + probability(-odds) == pytest.approx(1)
    assert math.log(chance / (1 - chance)) == pytest.approx(max(-9, min(9, odds)), abs=1e-6)


VALUES = st.lists(st.integers(-5, 5).map(float), min_size=3, max_size=12)


@STEADY
@given(VALUES, st.data())
def test_rank_correlation_agrees_with_ranks_counted_by_hand(one, data) -> None:
    other = data.draw(st.lists(st.integers(-5, 5).map(float), min_size=len(one), max_size=len(one)))
    ranks = [
        [sum(v < w for v in side) + (sum(v == w for v in side) + 1) / 2 for w in side]
        for side in (one, other)
    ]
    found = rank_correlation(one, other)
    if len(set(one)) == 1 or len(set(other)) == 1:
        assert found is None
        return
    assert found == pytest.approx(np.corrcoef(ranks)[0, 1])
    assert rank_correlation(other, one) == pytest.approx(found)
    assert rank_correlation([v**3 for v in one], other) == pytest.approx(found)
    assert rank_correlation([-v for v in one], other) == pytest.approx(-found)


@STEADY
@given(st.lists(st.integers(1, 2000).map(lambda n: n / 25), min_size=1, max_size=20))
def test_lengths_of_shots_against_their_definitions(lengths) -> None:
    found = shot_lengths(lengths)
    assert (found.shots, found.total_s) == (len(lengths), pytest.approx(sum(lengths)))
    assert found.mean_s == pytest.approx(np.mean(lengths))
    assert found.median_s == pytest.approx(np.median(lengths))
    if len(lengths) > 1:
        assert found.deviation_s == pytest.approx(np.std(lengths, ddof=1))
    if isinstance(found.log_spread, float):
        assert found.mean_s / found.median_s == pytest.approx(math.exp(found.log_spread**2 / 2))
    else:
        assert found.mean_s <= found.median_s + 1e-12
    longer = shot_lengths([3 * length for length in lengths])
    if isinstance(found.log_spread, float) and found.log_spread > 1e-3:
        assert longer.log_spread == pytest.approx(found.log_spread)


@STEADY
@given(st.integers(0, 20_000))
def test_letters_count_as_columns_of_a_sheet_do(group) -> None:
    """Read back: each place is worth 26 of the next."""
    value = 0
    for char in letter(group):
        value = 26 * value + ord(char) - ord("A") + 1
    assert value == group + 1


@STEADY
@given(PEOPLE, PEOPLE)
def test_a_cut_backwards_is_as_comfortable(one, other) -> None:
    sides = [Side(people=[person], groups=[0]) for person in (one, other)]
    there, back = (judge_cuts([pair], THRESHOLDS)[0] for pair in (tuple(sides), tuple(sides[::-1])))
    assert there.verdict is back.verdict
    assert there.likeness == back.likeness
    assert there.place_change_wfrac == pytest.approx(-back.place_change_wfrac)
    assert there.height_change_frac == pytest.approx(-back.height_change_frac)
    assert (there.looks_from, there.looks_to) == (back.looks_to, back.looks_from)
    if there.verdict is Verdict.TOO_SIMILAR:
        factor = max(there.size_ratio, 1 / there.size_ratio)
        assert factor < THRESHOLDS.size_ratio_min
        assert there.angle_deg < THRESHOLDS.angle_min_deg
    if max(there.size_ratio, 1 / there.size_ratio) >= THRESHOLDS.size_ratio_large:
        assert there.verdict is Verdict.VERY_LARGE


@FEW
@given(st.lists(st.sampled_from([ANNE, BERT, CARL]), min_size=1, max_size=8))
def test_people_of_unlike_colours_get_a_letter_each(cast) -> None:
    shots = [a_shot(n, shown(who)) for n, who in enumerate(cast)]
    groups = [people.best[0] for people in group_people(shots)]
    order = list(dict.fromkeys(map(id, cast)))
    assert groups == [order.index(id(who)) for who in cast]


@FEW
@given(st.lists(st.tuples(st.sampled_from([ANNE, BERT, CARL]), YAWS), min_size=2, max_size=8))
def test_a_mirrored_sequence_has_the_same_people(cast) -> None:
    assume(all(abs(yaw) > 1 for _, yaw in cast))
    here = group_people([a_shot(n, shown(who, yaw=yaw)) for n, (who, yaw) in enumerate(cast)])
    there = group_people([a_shot(n, shown(who, yaw=-yaw)) for n, (who, yaw) in enumerate(cast)])
    assert here == there
