"""Figures of style, checked against published arithmetic."""

import math

import pytest

from framecheck.coverage.statistics import count_sizes, rank_correlation, shot_lengths
from framecheck.records.values import NotMeasured
from tests.coverage.builders import a_shot, shown


@pytest.mark.parametrize(
    ("whole_s", "shots", "published"), [(7515.3, 3017, 2.491), (94.5 * 60, 1683, 3.369)]
)
def test_average_shot_length_of_published_counts(whole_s, shots, published) -> None:
    """Whole length over number of shots, as published (figures of two feature films)."""
    lengths = shot_lengths([whole_s / shots] * shots)
    assert lengths.mean_s == pytest.approx(published, abs=0.0006)
    assert lengths.total_s == pytest.approx(whole_s)
    assert lengths.shots == shots


@pytest.mark.parametrize(("mean", "middle", "spread"), [(10, 5, 1.1774), (6, 4, 0.9005)])
def test_log_spread_from_mean_and_median(mean, middle, spread) -> None:
    """s = sqrt(2 ln(mean / median)) of a lognormal curve."""
    lengths = shot_lengths([middle - 1, middle, 3 * mean - 2 * middle + 1])
    assert lengths.mean_s == pytest.approx(mean)
    assert lengths.median_s == pytest.approx(middle)
    assert lengths.log_spread == pytest.approx(spread, abs=5e-5)


def test_spread_of_lengths() -> None:
    """2, 4, 4, 4, 5, 5, 7, 9: sample deviation sqrt(32 / 7)."""
    lengths = shot_lengths([2, 4, 4, 4, 5, 5, 7, 9])
    assert lengths.deviation_s == pytest.approx(math.sqrt(32 / 7))
    assert lengths.median_s == 4.5


def test_lengths_that_are_not_there() -> None:
    assert isinstance(shot_lengths([]).mean_s, NotMeasured)
    one = shot_lengths([3.0])
    assert (one.mean_s, one.median_s) == (3.0, 3.0)
    assert isinstance(one.deviation_s, NotMeasured)
    assert isinstance(one.log_spread, NotMeasured)


def test_sizes_are_counted_for_500_shots_and_by_time() -> None:
    """A close-up of 6 s and three mediums of 2 s: 125 and 375 for 500, half the time each."""
    shots = [a_shot(n, shown(), seconds=2.0) for n in range(3)]
    shots.append(a_shot(3, shown(head=0.5), seconds=6.0, size="close-up", abbr="CU"))
    sizes = count_sizes(shots, [0.25, 0.25, 0.25, 0.5])
    assert [(s.size_abbr, s.shots, s.per_500, s.time_share) for s in sizes] == [
        ("MS", 3, 375.0, 0.5), ("CU", 1, 125.0, 0.5),
    ]  # fmt: skip


def test_rank_correlation_by_hand() -> None:
    """Spearman: 1 - 6 sum(d^2) / (n (n^2 - 1)) without ties; d = 1, -1, 1, -1, 0 gives 0.8."""
    assert rank_correlation([1, 2, 3, 4, 5], [2, 1, 4, 3, 5]) == pytest.approx(0.8)
    assert rank_correlation([1, 2, 3], [9, 4, 1]) == pytest.approx(-1.0)
    assert rank_correlation([1, 1, 1], [1, 2, 3]) is None
    assert rank_correlation([1, 2, 2, 3], [1, 2, 2, 3]) == pytest.approx(1.0)


def test_figures_that_cannot_be_say_why() -> None:
    none = shot_lengths([])
    assert (none.shots, none.total_s) == (0, 0.0)
    missing = NotMeasured(reason="the shots have no lengths")
    assert {none.mean_s, none.median_s, none.deviation_s, none.log_spread} == {missing}
    one = shot_lengths([3.0])
    assert (one.shots, one.total_s, one.mean_s, one.median_s) == (1, 3.0, 3.0, 3.0)
    assert one.deviation_s == NotMeasured(reason="one shot only")
    assert one.log_spread == NotMeasured(reason="the median is not below the mean")


def test_shares_of_time_and_of_shots() -> None:
    shots = [a_shot(0, shown(), seconds=6.0, size="wide", abbr="W"),
             a_shot(1, shown(), seconds=2.0, size="near", abbr="N"),
             a_shot(2, shown(), size="near", abbr="N"),
             a_shot(3, seconds=2.0)]  # fmt: skip
    wide, near = count_sizes(shots, [0.1, 0.5, 0.6, 0.0])
    assert (wide.size, wide.size_abbr, wide.shots, wide.per_500) == ("wide", "W", 1, 125.0)
    assert (wide.time_share, near.time_share) == pytest.approx((0.6, 0.2))
    assert (near.shots, near.per_500) == (2, 250.0)
    unknown = [
        a_shot(n, shown(), size=size, abbr="x") for n, size in enumerate(("a", "b", "a", "a"))
    ]
    assert [size.time_share for size in count_sizes(unknown, [0.5, 0.1, 0.5, 0.5])] == [0.25, 0.75]


def test_shares_of_a_scene_of_less_than_a_second() -> None:
    shots = [a_shot(n, shown(), seconds=s, size=str(n)) for n, s in enumerate((0.2, 0.6))]
    assert [size.time_share for size in count_sizes(shots, [0.1, 0.2])] == pytest.approx(
        [0.25, 0.75]
    )
