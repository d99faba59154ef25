"""Figures of style: how long shots last, how often each size occurs."""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence

from framecheck.records.coverage import Lengths, SizeCount
from framecheck.records.sequence import SequenceShot
from framecheck.records.values import Measured, NotMeasured

PER = 500
"""Counts of sizes are stated for so many shots (Salt 1974)."""
NO_LENGTHS = NotMeasured(reason="the shots have no lengths")


def shot_lengths(lengths_s: Sequence[float]) -> Lengths:
    """Average, median and spread of shot lengths.

    The average shot length is the whole length over the number of shots (Salt); the log spread is
    that of the lognormal curve with this mean and median, sqrt(2 ln(mean / median)).
    """
    if not lengths_s:
        return Lengths(
            shots=0, total_s=0.0, mean_s=NO_LENGTHS, median_s=NO_LENGTHS, deviation_s=NO_LENGTHS,
            log_spread=NO_LENGTHS,
        )  # fmt: skip
    total, middle = math.fsum(lengths_s), statistics.median(lengths_s)
    mean = total / len(lengths_s)
    few = NotMeasured(reason="one shot only")
    spread: Measured = NotMeasured(reason="the median is not below the mean")
    if 0 < middle < mean:
        spread = math.sqrt(2 * math.log(mean / middle))
    return Lengths(
        shots=len(lengths_s),
        total_s=total,
        mean_s=mean,
        median_s=float(middle),
        deviation_s=statistics.stdev(lengths_s) if len(lengths_s) > 1 else few,
        log_spread=spread,
    )


def count_sizes(
    shots: Sequence[SequenceShot], head_fracs: Sequence[float]
) -> tuple[SizeCount, ...]:
    """How often each size occurs, from wide to tight.

    Args:
        shots: of the sequence.
        head_fracs: size of the main subject in each shot, 0 where unknown; gives the order.
    """
    groups: dict[str, list[int]] = {}
    for place, shot in enumerate(shots):
        if shot.size:
            groups.setdefault(shot.size, []).append(place)
    whole_s = math.fsum(shot.duration_s or 0.0 for shot in shots)
    order = sorted(groups, key=lambda size: statistics.median(head_fracs[i] for i in groups[size]))
    return tuple(
        SizeCount(
            size=size,
            size_abbr=shots[groups[size][0]].size_abbr,
            shots=len(groups[size]),
            per_500=PER * len(groups[size]) / len(shots),
            time_share=_time_share(shots, groups[size], whole_s),
        )
        for size in order
    )


def rank_correlation(one: Sequence[float], other: Sequence[float]) -> float | None:
    """Spearman's rank correlation, -1..1; None where one side does not change."""
    ranks = [_ranks(values) for values in (one, other)]
    means = [math.fsum(values) / len(values) for values in ranks]
    gaps = [[value - mean for value in values] for values, mean in zip(ranks, means, strict=True)]
    sizes = [math.sqrt(math.fsum(gap * gap for gap in side)) for side in gaps]
    if not sizes[0] or not sizes[1]:
        return None
    return math.fsum(a * b for a, b in zip(*gaps, strict=True)) / (sizes[0] * sizes[1])


def _time_share(shots: Sequence[SequenceShot], places: Sequence[int], whole_s: float) -> float:
    if whole_s <= 0:
        return len(places) / len(shots)
    return math.fsum(shots[place].duration_s or 0.0 for place in places) / whole_s


def _ranks(values: Sequence[float]) -> list[float]:
    """Ranks from 1, equal values sharing the mean of theirs."""
    order = sorted(values)
    first: dict[float, int] = {}
    count: dict[float, int] = {}
    for place, value in enumerate(order):
        first.setdefault(value, place)
        count[value] = count.get(value, 0) + 1
    return [first[value] + (count[value] + 1) / 2 for value in values]
