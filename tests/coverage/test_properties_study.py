"""What holds for the study of every sequence: in the mirror, and cut in two."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.coverage.study import study_sequence
from framecheck.records.coverage import CutThresholds, Direction
from framecheck.records.framing import Role
from framecheck.records.judged import ShotType
from framecheck.records.values import NotMeasured
from tests.coverage.builders import ANNE, BERT, CARL, a_moment, a_shot, shown
from tests.steady import FEW

THRESHOLDS = CutThresholds()
OTHER = {Direction.LEFT: Direction.RIGHT, Direction.RIGHT: Direction.LEFT}


@st.composite
def people(draw, person=0):
    """Somebody turned to a side, so that a mirror turns the look about."""
    yaw = draw(st.integers(10, 80)) * draw(st.sampled_from([-1.0, 1.0]))
    return shown(
        draw(st.sampled_from([ANNE, BERT, CARL])),
        head=draw(st.sampled_from([0.1, 0.2, 0.23, 0.5])), yaw=yaw,
        x=draw(st.integers(20, 80)) / 100, eyes=draw(st.integers(25, 45)) / 100,
        pitch=float(draw(st.integers(-20, 20))), person=person,
        role=Role.SUBJECT if person == 0 else draw(st.sampled_from(Role)),
    )  # fmt: skip


@st.composite
def sequences(draw):
    shots = []
    for number in range(draw(st.integers(1, 7))):
        count = draw(st.sampled_from([0, 1, 1, 1, 2]))
        found = [draw(people(person)) for person in range(count)]
        seconds = draw(st.none() | st.integers(1, 9).map(float))
        kind = draw(st.sampled_from([ShotType.SINGLE, ShotType.OVER_THE_SHOULDER]))
        shots.append(a_shot(number, *found, seconds=seconds, kind=kind, size=f"size {count}"))
    return shots


def mirrored(shot):
    def turn(person):
        yaws = {n: -getattr(person, n) for n in ("head_yaw_deg", "body_yaw_deg")}
        return replace(person, x_wfrac=1 - person.x_wfrac, **yaws)

    moment = a_moment(*map(turn, shot.best.people))
    return replace(shot, first=moment, best=moment, last=moment)


@FEW
@given(sequences())
def test_a_mirrored_sequence_is_judged_the_same(shots) -> None:
    one = study_sequence(shots, THRESHOLDS)
    other = study_sequence([mirrored(shot) for shot in shots], THRESHOLDS)
    assert other.scene == one.scene
    for mine, yours in zip(one.cuts, other.cuts, strict=True):
        for name in (
            "verdict",
            "likeness",
            "why",
            "advice",
            "line_crossed",
            "person_from",
            "person_to",
        ):
            assert getattr(yours, name) == getattr(mine, name), name
        assert yours.line_confidence == pytest.approx(mine.line_confidence)
        assert yours.looks_from is OTHER.get(mine.looks_from, mine.looks_from)
        if not isinstance(mine.place_change_wfrac, NotMeasured):
            assert yours.place_change_wfrac == pytest.approx(-mine.place_change_wfrac)
    for mine, yours in zip(one.pairs, other.pairs, strict=True):
        assert (yours.shots_one, yours.shots_other, yours.kind) == (
            mine.shots_one, mine.shots_other, mine.kind,
        )  # fmt: skip
        assert [m.matches for m in yours.measures] == [m.matches for m in mine.measures]


@FEW
@given(sequences(), st.integers(1, 6))
def test_a_cut_is_about_its_two_shots(shots, at) -> None:
    """Whatever the rest tells of who is who, the change itself is that of the two pictures."""
    if at >= len(shots):
        return
    alone = study_sequence(
        [replace(s, number=n) for n, s in enumerate(shots[at - 1 : at + 1])], THRESHOLDS
    )
    whole = study_sequence(shots, THRESHOLDS).cuts[at - 1]
    if len(shots[at - 1].best.people) == 1 == len(shots[at].best.people):
        assert whole.size_ratio == alone.cuts[0].size_ratio
        assert whole.place_change_wfrac == alone.cuts[0].place_change_wfrac
        assert whole.height_change_frac == alone.cuts[0].height_change_frac
    assert whole.looks_from is alone.cuts[0].looks_from


@FEW
@given(sequences())
def test_a_scene_counts_all_of_its_shots(shots) -> None:
    scene = study_sequence(shots, THRESHOLDS).scene
    assert (scene.shots, scene.cuts) == (len(shots), len(shots) - 1)
    assert sum(scene.verdicts.values()) == scene.cuts
    assert sum(scene.shot_types.values()) == len(shots)
    shown_somebody = sum(bool(shot.best.people) for shot in shots)
    assert sum(scene.people.values()) == shown_somebody
    assert sum(count.shots for count in scene.sizes) == shown_somebody
    assert sum(count.per_500 for count in scene.sizes) == pytest.approx(
        500 * shown_somebody / len(shots)
    )
    assert scene.lengths.shots == sum(shot.duration_s is not None for shot in shots)


@FEW
@given(sequences())
def test_shots_start_where_the_ones_before_end(shots) -> None:
    readings = study_sequence(shots, THRESHOLDS).readings
    for number, (shot, reading) in enumerate(zip(shots, readings, strict=True)):
        before = [other.duration_s for other in shots[:number]]
        if shot.duration_s is None or None in before:
            assert reading.start_s is None
        else:
            assert reading.start_s == pytest.approx(sum(before))
