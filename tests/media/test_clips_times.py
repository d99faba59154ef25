"""Times out of stamps, by hand-made stamps."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.media.clip_times import ClipClock, Spacing, find_spacing
from framecheck.units import STANDARD_RATES

MS, R25, R2997 = Fraction(1, 1000), Fraction(25), Fraction(30000, 1001)
USUAL = [rate for rate in STANDARD_RATES if 10 <= rate <= 120]


def a_clock(rate=R25, tick_s=Fraction(1, 25), **more) -> ClipClock:
    variable = more.pop("variable", False)
    options = {"by_packet": False, "may_jump": False} | more
    return ClipClock(Spacing(rate=rate, variable=variable), tick_s, **options)


@given(
    rate=st.sampled_from(USUAL), start=st.integers(-500, 100_000), count=st.integers(3, 48),
    down=st.booleans(),
)  # fmt: skip
def test_rounding_to_milliseconds_hides_no_rate_that_is_named(rate, start, count, down):
    place = [(start + n / (rate * MS)) for n in range(count)]
    stamps = [int(each // 1) if down else round(each) for each in place]
    spacing = find_spacing(stamps, MS, [rate])
    assert spacing == Spacing(rate=rate, variable=False)
    clock = a_clock(rate, MS)
    assert [clock.time_s(stamp) for stamp in stamps] == [n / rate for n in range(count)]
    assert not clock.uneven


@given(rate=st.sampled_from(USUAL), count=st.integers(8, 60))
def test_a_rate_that_nobody_names_is_found_in_fine_stamps(rate, count):
    stamps = [round(n / rate * 90_000) for n in range(count)]
    for said in ([], [None, Fraction(0)], [Fraction(90_000)], [rate * Fraction(1001, 1000) * 2]):
        assert find_spacing(stamps, Fraction(1, 90_000), said).rate == rate


@pytest.mark.parametrize("said", [[], [None], [Fraction(0), None]])
def test_without_stamps_or_rates_there_is_a_fallback(said):
    assert find_spacing([], MS, said) == Spacing(rate=R25, variable=False)
    assert find_spacing([5, 5, 5], MS, said) == Spacing(rate=R25, variable=False)
    assert find_spacing([], MS, [*said, Fraction(2997, 100)]).rate == R2997


def test_a_clock_that_jitters_is_still_even():
    """Cameras round to their own clock: 600 units a second, frames of 20 and 21 at 29.97."""
    stamps = [round(n * 600 / R2997) + (n % 3 - 1) for n in range(40)]
    spacing = find_spacing(stamps, Fraction(1, 600), [R2997])
    assert spacing == Spacing(rate=R2997, variable=False)
    clock = a_clock(R2997, Fraction(1, 600))
    assert [clock.time_s(stamp) for stamp in stamps] == [n / R2997 for n in range(40)]


@pytest.mark.parametrize(
    "steps", [[1, 1, 2, 1, 1, 1], [1, 1, 1, 1, 1, 5], [3, 1, 1, 1, 1, 1], [1, 2] * 8]
)
def test_held_frames_make_it_variable(steps):
    stamps = [sum(steps[:n]) * 40 for n in range(len(steps) + 1)]
    assert find_spacing(stamps, MS, [R25]).variable
    clock = a_clock(variable=True, tick_s=MS)
    assert [clock.time_s(stamp) for stamp in stamps] == [stamp * MS for stamp in stamps]


def test_a_rate_of_ticks_is_not_believed():
    stamps = [0, 40, 120, 160, 170, 240]
    spacing = find_spacing(stamps, MS, [Fraction(1000)])
    assert spacing.variable
    assert 15 < spacing.rate < 30


def test_frames_without_stamps_follow_each_other():
    clock = a_clock()
    assert [clock.time_s(stamp) for stamp in (7, None, 9, None, None)] == [
        Fraction(n, 25) for n in range(5)
    ]


def test_a_missing_frame_leaves_a_gap():
    clock = a_clock()
    assert [clock.time_s(stamp) for stamp in (3, 4, 7)] == [0, Fraction(1, 25), Fraction(4, 25)]
    assert clock.uneven


@pytest.mark.parametrize("stamps", [(5, 6, 0, 1, 2), (5, 6, 6, 7, 8), (5, 6, -900, -899, -898)])
def test_stamps_that_go_back_start_a_new_count(stamps):
    clock = a_clock()
    assert [clock.time_s(stamp) for stamp in stamps] == [Fraction(n, 25) for n in range(5)]


def test_a_leap_is_a_splice_in_streams_and_a_pause_elsewhere():
    stamps = (0, 1, 100_000, 100_001)
    spliced, paused = a_clock(may_jump=True), a_clock()
    assert [spliced.time_s(stamp) for stamp in stamps] == [Fraction(n, 25) for n in range(4)]
    assert [paused.time_s(stamp) for stamp in stamps] == [Fraction(stamp, 25) for stamp in stamps]


@given(st.lists(st.one_of(st.none(), st.integers(-(2**62), 2**62)), min_size=1, max_size=40))
def test_times_rise_whatever_the_stamps(stamps):
    for clock in (a_clock(may_jump=True), a_clock(tick_s=MS), a_clock(variable=True)):
        times = [clock.time_s(stamp) for stamp in stamps]
        assert times[0] == 0
        assert all(later > earlier for earlier, later in pairwise(times))


def test_stamps_of_packets_in_decoding_order():
    """AVI stamps packets as they lie in the file; the frames come out in another order."""
    clock = a_clock(by_packet=True)
    for stamp in (0, 1, 2, 4, 5):  # 3 was left out by the recorder
        clock.see_packet(stamp)
    times = [clock.time_s(stamp) for stamp in (99, 3, None, 1, 2)]
    assert times == [Fraction(n, 25) for n in (0, 1, 2, 4, 5)]
    assert clock.time_s(None) == Fraction(6, 25)


def test_packets_that_do_not_pair_with_frames_are_not_hoarded():
    """Two packets a frame, as where each field has its own: the rate has to do."""
    clock = a_clock(by_packet=True)
    times = []
    for frame in range(500):
        clock.see_packet(2 * frame)
        clock.see_packet(2 * frame + 1)
        times.append(clock.time_s(None))
    assert times[0] == 0
    assert times[-1] - times[-2] == Fraction(1, 25)
    assert len(clock._waiting) == 0
