"""Timecode against a slow counter, and rates against exact arithmetic."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import islice

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.units import (
    DROP_RATES,
    SNAP,
    STANDARD_RATES,
    can_drop,
    format_timecode,
    frame_at,
    frame_time_s,
    nominal_rate,
    parse_timecode,
    snap_rate,
    timecode_after,
)
from tests.steady import STEADY

RATES = st.sampled_from(STANDARD_RATES)
ODD_RATES = st.fractions(Fraction(1, 100), 500, max_denominator=1001)
FRAMES = st.integers(0, 3_000_000)


def count_labels(nominal, left_out):
    """Every label of a clock that counts so many frames, one after the other, from midnight."""
    digits = max(2, len(str(nominal - 1)))
    mark = ";" if left_out else ":"
    for minutes in range(24 * 60):
        hour, minute = divmod(minutes, 60)
        for second in range(60):
            for number in range(nominal):
                if second == 0 and minute % 10 and number < left_out:
                    continue
                yield f"{hour:02}:{minute:02}:{second:02}{mark}{number:0{digits}}"


@pytest.mark.parametrize(
    ("rate", "drop", "left_out"),
    [(24, False, 0), (30, False, 0), (30, True, 2), (60, True, 4), (120, True, 8)],
)
def test_timecode_agrees_with_counting(rate, drop, left_out) -> None:
    """The first twelve minutes, over two minutes' ends that leave out and one that does not."""
    exact = rate * Fraction(1000, 1001) if drop else Fraction(rate)
    for frame, text in enumerate(islice(count_labels(rate, left_out), 12 * 60 * rate)):
        if frame % 7 == 0 or text[6:8] in {"00", "59"}:
            assert format_timecode(frame, exact, drop=drop) == text
            assert parse_timecode(text, exact) == (frame, drop)


@STEADY
@given(RATES, FRAMES, st.booleans())
def test_later_frames_have_later_labels(rate, frame, drop) -> None:
    drop = drop and can_drop(rate)
    now, then = (format_timecode(frame + n, rate, drop=drop) for n in (0, 1))
    assert (now < then) != (then.strip("0:;") == "")
    assert parse_timecode(now, rate)[1] is drop


@STEADY
@given(RATES, FRAMES, FRAMES, st.booleans())
def test_timecode_goes_on_from_any_start(rate, first, more, drop) -> None:
    drop = drop and can_drop(rate)
    start = format_timecode(first, rate, drop=drop)
    assert timecode_after(start, more, rate) == format_timecode(first + more, rate, drop=drop)
    assert timecode_after("", more, rate, drop=drop) == format_timecode(more, rate, drop=drop)


@STEADY
@given(ODD_RATES, FRAMES)
def test_a_time_is_that_of_its_own_frame(rate, frame) -> None:
    time_s = frame_time_s(frame, rate)
    assert time_s * rate == frame
    assert frame_at(time_s, rate) == frame
    assert frame_at(time_s + Fraction(1, 3) / rate, rate) == frame
    assert frame_at(time_s - Fraction(1, 2) / rate, rate) == frame
    assert frame_at(time_s + Fraction(1, 2) / rate, rate) == frame + 1


@STEADY
@given(ODD_RATES)
def test_timecode_counts_the_nearest_whole_number(rate) -> None:
    counts = range(1, 502)
    least = min(abs(count - rate) for count in counts)
    assert nominal_rate(rate) == max(count for count in counts if abs(count - rate) == least)


@STEADY
@given(st.floats(0.01, 1000))
def test_a_rate_that_is_meant_stays_what_it_is(rate) -> None:
    snapped = snap_rate(rate)
    assert snap_rate(snapped) == snapped
    near = [s for s in STANDARD_RATES if abs(s - Fraction(rate)) <= SNAP * s]
    if near:
        assert snapped in near
    else:
        assert abs(snapped - Fraction(rate)) <= Fraction(1, 100_000)
        assert snapped.denominator <= 100_000


@pytest.mark.parametrize("standard", STANDARD_RATES)
def test_snapping_reaches_exactly_as_far_as_it_says(standard) -> None:
    for sign in (-1, 1):
        rim = standard * (1 + sign * SNAP)
        assert snap_rate(rim) == standard
        beyond = rim + sign * Fraction(1, 10**6)
        assert snap_rate(beyond) != standard


def test_slow_rates_are_rates() -> None:
    assert snap_rate(Fraction(1, 2)) == Fraction(1, 2)
    assert snap_rate(1e-9) == Fraction(1e-9)  # too small for a short fraction, but not nothing
    assert nominal_rate(Fraction(1, 3)) == 1
    assert frame_time_s(5, Fraction(1, 2)) == 10
    assert frame_at(Fraction(10), Fraction(1, 2)) == 5


def test_drop_frame_is_for_the_slowed_rates_of_whole_half_minutes() -> None:
    assert {rate for rate in STANDARD_RATES if can_drop(rate)} == DROP_RATES
    assert sorted(map(float, DROP_RATES)) == pytest.approx([29.97, 59.94, 119.88], abs=1e-3)


@STEADY
@given(RATES)
def test_slowed_rates_have_the_timecode_of_their_names(rate) -> None:
    assert nominal_rate(rate) == math.ceil(rate)


@pytest.mark.parametrize("rate", [Fraction(0), Fraction(-25)])
@pytest.mark.parametrize(
    "call",
    [
        nominal_rate,
        lambda rate: frame_time_s(0, rate),
        lambda rate: frame_at(Fraction(0), rate),
        lambda rate: parse_timecode("00:00:00:00", rate),
    ],
)
def test_no_rate_is_refused_everywhere(call, rate) -> None:
    with pytest.raises(ValueError, match=rf"a frame rate must be above 0, got {rate}$"):
        call(rate)


# The rates of film, television and high-speed cameras, whole and slowed by 1000 / 1001.
WHOLE = (12, 15, 20, 24, 25, 30, 48, 50, 60, 72, 90, 96, 100, 120, 144, 150, 180, 200, 240)
SLOWED = (12, 15, 24, 30, 48, 60, 120, 240)
MEANT = [Fraction(rate) for rate in WHOLE] + [Fraction(1000 * rate, 1001) for rate in SLOWED]


@pytest.mark.parametrize("rate", [*MEANT, Fraction(25, 2)])
@pytest.mark.parametrize("off", [Fraction(-3, 10_000), Fraction(3, 10_000)])
def test_what_is_nearly_a_rate_is_that_rate(rate, off) -> None:
    assert snap_rate(rate * (1 + off)) == rate
    assert rate in STANDARD_RATES


def test_there_are_no_other_standard_rates() -> None:
    assert set(STANDARD_RATES) == {*MEANT, Fraction(25, 2)}
    assert list(STANDARD_RATES) == sorted(STANDARD_RATES)


def test_odd_rates_are_kept_short() -> None:
    odd = snap_rate(17 + Fraction(1, 100_001))
    assert odd.denominator <= 100_000
    assert snap_rate(17 + Fraction(1, 100_000)) == 17 + Fraction(1, 100_000)
