"""The text of a flags cell back to its parts."""

from __future__ import annotations

import re
from dataclasses import dataclass

_FLAG = re.compile(
    r"(?:p(?P<person>\d{1,3}):)?(?P<part>[a-z][a-z -]*)"
    r"(?:\((?P<edge>[a-z]+),(?P<distance>[+-]?[0-9.]+),(?P<severity>[a-z]+)\))?"
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FlagSaid:
    """One flag as its cell says it.

    Attributes:
        part: as ankle or headroom. person: whose.
        edge, severity: "" when the cell does not say, as for shots. distance_level: None likewise.
    """

    part: str
    person: int = 0
    edge: str = ""
    distance_level: float | None = None
    severity: str = ""


def parse_flags(text: str) -> tuple[FlagSaid, ...]:
    """The flags in a cell, in its order: "knee(bottom,-0.041,high); p1:chin(...)", or "knee".

    What is no flag is passed over: the cell may come from a later version.
    """
    found = (_FLAG.fullmatch(piece.strip()) for piece in text.split(";"))
    return tuple(_flag(match) for match in found if match)


def _flag(match: re.Match[str]) -> FlagSaid:
    return FlagSaid(
        part=match["part"].strip(),
        person=int(match["person"] or 0),
        edge=match["edge"] or "",
        distance_level=_number(match["distance"]),
        severity=match["severity"] or "",
    )


def _number(text: str | None) -> float | None:
    try:
        return float(text) if text else None
    except ValueError:
        return None
