"""Steady, tightening or widening; a subject that stays, crosses or turns."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from framecheck.classify.shot_change import (
    name_change,
    samples_in_motion,
    tell_movement,
    turned_deg,
)
from framecheck.classify.shot_subject import SubjectAt
from framecheck.records.clips import SizeChange


def subject(*, scales=(1.0, 1.0, 1.0), crops=None, xs=None, yaws=None, error=0.02):
    """A subject once a second; scales are figure heights over the picture's."""
    count = len(scales)
    return [
        SubjectAt(
            sample=n,
            time_s=float(n),
            x_wfrac=(xs or [0.5] * count)[n],
            y_frac=0.3,
            log_scale=None if scales[n] is None else math.log(scales[n]),
            crop_level=(crops or [0.5] * count)[n],
            error_level=error,
            yaw_deg=(yaws or [0.0] * count)[n],
        )
        for n in range(count)
    ]


@pytest.mark.parametrize(
    ("what", "change"),
    [
        pytest.param({}, SizeChange.STEADY, id="nothing"),
        pytest.param({"scales": (1.0, 1.1, 1.2)}, SizeChange.TIGHTENING, id="push in by a fifth"),
        pytest.param({"scales": (1.2, 1.1, 1.0)}, SizeChange.WIDENING, id="pull out"),
        pytest.param({"scales": (1.0, 1.05, 1.1)}, SizeChange.STEADY, id="a tenth is in doubt"),
        pytest.param({"scales": (1.0, 1.5, 1.0)}, SizeChange.STEADY, id="in and out again"),
        pytest.param(
            {"scales": (1.0, 1.0, 1.0, 1.0, 1.4)}, SizeChange.STEADY, id="one bad reading"
        ),
        pytest.param(
            {"scales": (1.0, 1.0, 1.0, 1.2, 1.4)}, SizeChange.TIGHTENING, id="held, then in"
        ),
        pytest.param({"crops": (0.3, 0.4, 0.5)}, SizeChange.TIGHTENING, id="tilt up"),
        pytest.param({"crops": (0.5, 0.4, 0.3)}, SizeChange.WIDENING, id="tilt down"),
        pytest.param({"crops": (0.5, 0.53, 0.56)}, SizeChange.STEADY, id="small tilt"),
        pytest.param(
            {"crops": (0.3, 0.36, 0.42), "error": 0.06}, SizeChange.STEADY, id="rough readings"
        ),
        pytest.param(
            {"scales": (1.0, 1.5, 2.0), "crops": (0.5, 0.45, 0.4)},
            SizeChange.TIGHTENING,
            id="zoom in with a slight tilt down",
        ),
        pytest.param({"scales": (None, None, 1.4)}, SizeChange.STEADY, id="one reading"),
        pytest.param({"scales": ()}, SizeChange.STEADY, id="no subject"),
    ],
)
def test_what_becomes_of_the_size(what, change) -> None:
    assert name_change(subject(**what)) is change


@pytest.mark.parametrize(
    ("what", "moves"),
    [
        pytest.param({}, False, id="stays"),
        pytest.param({"xs": (0.3, 0.4, 0.49)}, False, id="shifts"),
        pytest.param({"xs": (0.3, 0.4, 0.51)}, True, id="crosses"),
        pytest.param({"xs": (0.3, 0.6, 0.3)}, True, id="there and back"),
        pytest.param({"yaws": (0.0, 30.0, 39.0)}, False, id="looks about"),
        pytest.param({"yaws": (-20.0, 10.0, 25.0)}, True, id="turns"),
        pytest.param({"yaws": (175.0, 180.0, -170.0)}, False, id="away, past the half turn"),
        pytest.param({"yaws": (None, None, 90.0)}, False, id="one turn read"),
        pytest.param({"scales": (1.0,)}, None, id="seen once"),
        pytest.param({"scales": ()}, None, id="never seen"),
    ],
)
def test_whether_the_subject_moves(what, moves) -> None:
    assert tell_movement(subject(**what)) is moves


def test_a_subject_that_stands_up_moves() -> None:
    sitting = subject()
    standing = [replace(at, y_frac=0.05) for at in sitting[2:]]
    assert tell_movement([*sitting[:2], *standing]) is True


@pytest.mark.parametrize(
    ("one", "other", "turn"), [(10, -10, 20), (170, -170, 20), (0, 180, 180), (-90, 90, 180)]
)
def test_the_smaller_angle_counts(one, other, turn) -> None:
    assert turned_deg(one, other) == turn


def test_frames_beside_a_fast_move() -> None:
    assert samples_in_motion(subject(xs=(0.1, 0.2, 0.6))) == {1, 2}
    assert samples_in_motion(subject()) == frozenset()


def at_times(times, **options):
    return [replace(at, time_s=t) for at, t in zip(subject(**options), times, strict=True)]


def test_a_slope_counts_by_the_time_that_it_takes() -> None:
    """The figure grows by 4 % a second: from 10 s to 15 s, looked at unevenly, by 20 %."""
    times = (10.0, 10.5, 14.5, 15.0)
    grown = at_times(times, scales=[math.exp(0.04 * (t - 10)) for t in times])
    assert name_change(grown) is SizeChange.TIGHTENING
    slow = at_times(times, scales=[math.exp(0.025 * (t - 10)) for t in times])
    assert name_change(slow) is SizeChange.STEADY  # by 13 % only
    # one bad reading in a short step does not tell a change
    bad = at_times((0.0, 0.1, 5.0, 10.0), scales=(1.0, 1.2, 1.0, 1.0))
    assert name_change(bad) is SizeChange.STEADY


def test_two_looks_are_enough_to_see_somebody_move() -> None:
    assert tell_movement(subject(scales=(1, 1), xs=[0.2, 0.8])) is True
    assert tell_movement(subject(scales=(1, 1))) is False
    assert tell_movement(subject(scales=(1,))) is None


def test_as_fast_as_the_limit_is_no_motion_yet() -> None:
    assert samples_in_motion(subject(scales=(1, 1), xs=[0.5, 0.75])) == frozenset()
    assert samples_in_motion(subject(scales=(1, 1), xs=[0.5, 0.76])) == {0, 1}
    assert samples_in_motion(at_times((3.0, 3.0), scales=(1, 1), xs=[0.1, 0.9])) == frozenset()


@pytest.mark.parametrize(("moved", "moves"), [(0.25, True), (0.19, False)])
def test_the_rim_of_a_movement(moved, moves) -> None:
    assert tell_movement(subject(scales=(1, 1), xs=[0.5, 0.5 + moved])) is moves


@pytest.mark.parametrize(("turn", "moves"), [(40.0, True), (39.0, False)])
def test_the_rim_of_a_turn(turn, moves) -> None:
    assert tell_movement(subject(scales=(1, 1), yaws=[-turn / 2, turn / 2])) is moves


def test_two_readings_at_one_time_are_no_slope() -> None:
    twice = at_times((0.0, 0.0, 5.0), scales=(1.0, 1.01, 1.3))
    assert name_change(twice) is SizeChange.TIGHTENING
