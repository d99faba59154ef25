"""Timecode against published figures, and properties that hold at every rate."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.units import (
    can_drop,
    format_timecode,
    frame_at,
    frame_time_s,
    nominal_rate,
    parse_timecode,
    snap_rate,
    timecode_after,
)

R23976, R24, R25 = Fraction(24000, 1001), Fraction(24), Fraction(25)
R2997, R30, R50 = Fraction(30000, 1001), Fraction(30), Fraction(50)
R5994, R60, R11988 = Fraction(60000, 1001), Fraction(60), Fraction(120000, 1001)
RATES = [
    R23976, R24, R25, R2997, R30, Fraction(48000, 1001), Fraction(48), R50, R5994, R60,
    Fraction(100), R11988, Fraction(120),
]  # fmt: skip
COUNTS = [(rate, drop) for rate in RATES for drop in (False, True) if can_drop(rate) or not drop]

# Published in the tests of OpenTimelineIO (Academy Software Foundation), tests/test_opentime.py
PUBLISHED = [
    (R2997, 0, "00:00:00;00"),
    (R2997, 1799, "00:00:59;29"),
    (R2997, 1800, "00:01:00;02"),
    (R2997, 8991, "00:04:59;29"),
    (R2997, 8992, "00:05:00;02"),
    (R2997, 10789, "00:05:59;29"),
    (R2997, 10790, "00:06:00;02"),
    (R2997, 17981, "00:09:59;29"),
    (R2997, 17982, "00:10:00;00"),
    (R2997, 17984, "00:10:00;02"),
    (R2997, 215784, "02:00:00;00"),
    (R2997, 1084319, "10:03:00;05"),
    (R5994, 1084319, "05:01:30;03"),
    (R2997, 0, "00:00:00:00"),
    (R2997, 1800, "00:01:00:00"),
    (R2997, 10789, "00:05:59:19"),
    (R2997, 17981, "00:09:59:11"),
    (R2997, 17982, "00:09:59:12"),
    (R2997, 1084319, "10:02:23:29"),
]
# From the rule of SMPTE ST 12-1: two numbers (four at 59.94) left out each minute but each tenth
BY_THE_RULE = [
    (R2997, 107892, "01:00:00;00"),
    (R5994, 3599, "00:00:59;59"),
    (R5994, 3600, "00:01:00;04"),
    (R5994, 35963, "00:09:59;59"),
    (R5994, 35964, "00:10:00;00"),
    (R5994, 215784, "01:00:00;00"),
    (R11988, 7200, "00:01:00;008"),
    (R23976, 86400, "01:00:00:00"),
    (R24, 86399, "00:59:59:23"),
    (R25, 90000, "01:00:00:00"),
    (R50, 180049, "01:00:00:49"),
    (R60, 216000, "01:00:00:00"),
]


@pytest.mark.parametrize(("rate", "frame", "text"), PUBLISHED + BY_THE_RULE)
def test_known_timecodes_both_ways(rate, frame, text):
    drop = ";" in text
    assert format_timecode(frame, rate, drop=drop) == text
    assert parse_timecode(text, rate) == (frame, drop)


def test_one_frame_has_two_names():
    """Published beside the figures above: 01:00:02;05 and 00:59:58:17 are one frame."""
    assert parse_timecode("01:00:02;05", R2997)[0] == parse_timecode("00:59:58:17", R2997)[0]


@pytest.mark.parametrize(
    ("rate", "frames"), [(R2997, 2589408), (R5994, 5178816)], ids=["29.97", "59.94"]
)
def test_a_day_ends_at_midnight(rate, frames):
    assert format_timecode(frames - 1, rate, drop=True)[:8] == "23:59:59"
    assert format_timecode(frames, rate, drop=True) == "00:00:00;00"
    assert format_timecode(frames + 1, rate, drop=True) == "00:00:00;01"


@given(count=st.sampled_from(COUNTS), data=st.data())
def test_writing_and_reading_gives_the_frame_back(count, data):
    rate, drop = count
    minutes = 24 * 60
    day = minutes * 60 * nominal_rate(rate)
    if drop:
        day -= (minutes - minutes // 10) * (nominal_rate(rate) // 15)
    frame = data.draw(st.integers(0, day - 1))
    assert parse_timecode(format_timecode(frame, rate, drop=drop), rate) == (frame, drop)
    assert format_timecode(frame + day, rate, drop=drop) == format_timecode(frame, rate, drop=drop)


@given(rate=st.sampled_from([R2997, R5994, R11988]), minute=st.integers(0, 24 * 60 - 1))
def test_drop_frame_timecode_keeps_to_the_clock(rate, minute):
    """It is never off by more than the numbers left out at once and its drift of 86 ms a day."""
    left_out = nominal_rate(rate) // 15
    hour, rest = divmod(minute, 60)
    number = left_out if rest % 10 else 0
    frame, _ = parse_timecode(f"{hour:02}:{rest:02}:00;{number:02}", rate)
    off_s = abs(frame_time_s(frame, rate) - 60 * minute)
    assert off_s <= Fraction(left_out, nominal_rate(rate)) + Fraction(87, 1000)


@pytest.mark.parametrize(
    ("text", "rate", "why"),
    [
        ("01:00:13:24", R24, "past frame 23"),
        ("00:00:00:30", R2997, "past frame 29"),
        ("24:00:00:00", R25, "past 23:59:59"),
        ("00:60:00:00", R25, "past 23:59:59"),
        ("00:00:60:00", R25, "past 23:59:59"),
        ("00:01:00;00", R2997, "leaves out"),
        ("00:11:00;01", R2997, "leaves out"),
        ("00:01:00;03", R5994, "leaves out"),
        ("00:00:01;00", R24, "defined at 29.97"),
        ("00:00:01;00", R30, "defined at 29.97"),
        ("00:00:01;00", R23976, "defined at 29.97"),
        ("-01:00:00:00", R25, "looks like"),
        ("1:00:00:00", R25, "looks like"),
        ("01:00:00", R25, "looks like"),
        ("", R25, "looks like"),
        ("٠١:00:00:00", R25, "looks like"),
    ],
)
def test_what_is_no_timecode_is_refused_with_a_reason(text, rate, why):
    with pytest.raises(ValueError, match=why):
        parse_timecode(text, rate)


def test_numbers_kept_in_each_tenth_minute():
    assert parse_timecode("00:10:00;00", R2997)[0] == 17982
    assert parse_timecode("00:00:00;01", R2997)[0] == 1


@pytest.mark.parametrize(
    ("frame", "rate", "drop"), [(-1, R25, False), (0, R25, True), (0, Fraction(0), False)]
)
def test_what_cannot_be_written_is_refused(frame, rate, drop):
    with pytest.raises(ValueError, match=r"negative|drop-frame|above 0"):
        format_timecode(frame, rate, drop=drop)


def test_timecode_goes_on_from_a_start():
    assert timecode_after("00:00:59;29", 1, R2997) == "00:01:00;02"
    assert timecode_after("23:59:59:24", 1, R25) == "00:00:00:00"
    assert timecode_after("", 1800, R2997) == "00:01:00:00"
    assert timecode_after("", 1800, R2997, drop=True) == "00:01:00;02"


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        (29.97, R2997), (23.976, R23976), (23.98, R23976), (59.94, R5994), (119.88, R11988),
        (47.952, Fraction(48000, 1001)), (25, R25), (24.0, R24), (30, R30), (12.5, Fraction(25, 2)),
        (Fraction(2997, 100), R2997), (Fraction(10_000_000, 417_083), R23976),
        (Fraction(19001, 634), R2997), (Fraction(17), Fraction(17)), (33.3, Fraction(333, 10)),
    ],
)  # fmt: skip
def test_rates_are_taken_for_what_they_mean(said, meant):
    assert snap_rate(said) == meant


@pytest.mark.parametrize("rate", RATES)
def test_standard_rates_stay_themselves(rate):
    assert snap_rate(rate) == rate
    assert snap_rate(float(rate)) == rate
    assert nominal_rate(rate) - 1 < rate <= nominal_rate(rate)


@pytest.mark.parametrize("rate", [0, -25, float("nan"), float("inf")])
def test_no_rate(rate):
    with pytest.raises(ValueError, match="frame rate"):
        snap_rate(rate)


@given(rate=st.sampled_from(RATES), frame=st.integers(0, 10_000_000))
def test_times_are_exact(rate, frame):
    time_s = frame_time_s(frame, rate)
    assert time_s * rate == frame
    assert frame_at(time_s, rate) == frame
    assert frame_at(time_s + Fraction(49, 100) / rate, rate) == frame
    assert frame_at(time_s + Fraction(1, 2) / rate, rate) == frame + 1
