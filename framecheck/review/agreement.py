"""How far measured and confirmed names agree: confusion, agreement, Cohen's kappa. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """Measured against confirmed, of one field.

    Attributes:
        names: all that occur, in the order they were given.
        table: (names, names) counts, rows measured, columns confirmed.
        count: pairs. share: those that agree, 0..1; None without pairs.
        kappa: Cohen's; None when it is not defined (one name alone, or no pairs).
    """

    names: tuple[str, ...]
    table: npt.NDArray[np.int64]
    count: int
    share: float | None
    kappa: float | None


def compare_names(pairs: Sequence[tuple[str, str]], order: Sequence[str] = ()) -> Agreement:
    """The agreement of pairs (measured, confirmed).

    Args:
        pairs: two names each; "" for nothing.
        order: how names are to stand in the table; others follow as they come.

    Note:
        kappa = (p_o - p_e) / (1 - p_e), with the share p_o that agrees and the share p_e that would
        agree by chance, from the two sets of totals. Cohen, Educational and Psychological
        Measurement 20 (1960), 37-46.
    """
    there = Counter(name for pair in pairs for name in pair)
    names = tuple(dict.fromkeys([*(name for name in order if name in there), *there]))
    place = {name: number for number, name in enumerate(names)}
    table = np.zeros((len(names), len(names)), dtype=np.int64)
    for measured, confirmed in pairs:
        table[place[measured], place[confirmed]] += 1
    count = len(pairs)
    share = float(np.trace(table) / count) if count else None
    return Agreement(names=names, table=table, count=count, share=share, kappa=cohens_kappa(table))


def cohens_kappa(table: npt.NDArray[np.int64]) -> float | None:
    """Cohen's kappa of a square table of counts; None when it is empty, or chance agrees wholly.

    Example:
        >>> round(cohens_kappa(np.array([[20, 5], [10, 15]])), 2)
        0.4
    """
    count = int(table.sum())
    if not count:
        return None
    observed = float(np.trace(table)) / count
    expected = float((table.sum(axis=0) * table.sum(axis=1)).sum()) / count**2
    return None if expected >= 1 else (observed - expected) / (1 - expected)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlagAgreement:
    """One flagged part: how often measured and confirmed, alone and together."""

    part: str
    both: int
    measured_only: int
    confirmed_only: int


def compare_flags(
    pairs: Sequence[tuple[Sequence[str], Sequence[str]]],
) -> tuple[FlagAgreement, ...]:
    """For each part how many frames have it measured, confirmed, or both, the most frequent first.

    Args:
        pairs: parts measured and parts confirmed, of each frame.
    """
    parts = sorted({part for pair in pairs for side in pair for part in side})
    found = [
        FlagAgreement(
            part=part,
            both=sum(part in one and part in other for one, other in pairs),
            measured_only=sum(part in one and part not in other for one, other in pairs),
            confirmed_only=sum(part not in one and part in other for one, other in pairs),
        )
        for part in parts
    ]
    return tuple(
        sorted(found, key=lambda one: -(one.both + one.measured_only + one.confirmed_only))
    )
