"""Who of one picture is who in another: everybody in both is asked, not two people alone.

Nobody is two people of one picture. So whoever looks like the back in the second picture is not
likely to be its main subject as well, however alike their clothes are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations, permutations

MOST_PEOPLE = 4
"""So many of a picture are asked, the most prominent ones; the ways to pair them up are 209."""


def odds_of_pair(odds: Sequence[Sequence[float]], pair: tuple[int, int]) -> float:
    """Log odds that two people are one, when everybody else in the two pictures is known.

    Each way to pair up some people of one picture with as many of the other weighs as the product
    of the odds of its pairs.

    Args:
        odds: log odds that each person of the first picture (rows) is each of the second.
        pair: row and column of the two who are asked for.
    """
    rows, columns = range(len(odds)), range(len(odds[0]))
    together = _log_sum(_ways(odds, set(rows) - {pair[0]}, set(columns) - {pair[1]}))
    apart = [
        weight for weight, pairs in _all_ways(odds, list(rows), list(columns)) if pair not in pairs
    ]
    return odds[pair[0]][pair[1]] + together - _log_sum(apart)


def _ways(odds: Sequence[Sequence[float]], rows: set[int], columns: set[int]) -> list[float]:
    return [weight for weight, _ in _all_ways(odds, sorted(rows), sorted(columns))]


def _all_ways(
    odds: Sequence[Sequence[float]], rows: list[int], columns: list[int]
) -> list[tuple[float, tuple[tuple[int, int], ...]]]:
    """Every way to pair up some of the rows with as many columns, with its log weight."""
    found = []
    for count in range(min(len(rows), len(columns)) + 1):
        for some in combinations(rows, count):
            for others in permutations(columns, count):
                pairs = tuple(zip(some, others, strict=True))
                found.append((math.fsum(odds[i][j] for i, j in pairs), pairs))
    return found


def _log_sum(logs: Sequence[float]) -> float:
    most = max(logs)
    return most + math.log(math.fsum(math.exp(value - most) for value in logs))
