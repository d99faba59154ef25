"""The ruler and the joints of a person as text in a table, and back.

With them a result can be read again in another frame, and drawn, without measuring anew.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from framecheck.records.framing import BodyRuler, Edge, JointSeen, RulerMark

_SEEN, _GUESSED = "seen", "guessed"
_LONGEST = 4000


def ruler_text(ruler: BodyRuler | None) -> str:
    """Marks from the crown down: `crown 1 528.1 78.0 seen; ...`; name, level, x, y, seen or not."""
    if ruler is None:
        return ""
    return "; ".join(
        f"{m.name} {m.level:g} {m.x_px:.1f} {m.y_px:.1f} {_SEEN if m.seen else _GUESSED}"
        for m in ruler.marks
    )


def parse_ruler(text: str, figure_px: float, error_level: float) -> BodyRuler | None:
    """The ruler that a text describes, None for an empty one.

    Raises:
        ValueError: it describes none.
    """
    marks = tuple(
        RulerMark(
            name=name, level=_number(level), x_px=_number(x), y_px=_number(y), seen=_is_seen(seen)
        )
        for name, level, x, y, seen in _pieces(text, 5)
    )
    if not marks:
        return None
    return BodyRuler(marks=marks, figure_px=figure_px, error_level=error_level)


def joints_text(joints: tuple[JointSeen, ...], cut_edges: tuple[Edge, ...]) -> str:
    """Joints and the edges that cut the body: `knee left 512.0 700.3 seen; ...; edge bottom`."""
    pieces = [
        f"{j.part} {j.side or 'middle'} {j.x_px:.1f} {j.y_px:.1f} {_SEEN if j.seen else _GUESSED}"
        for j in joints
    ]
    return "; ".join([*pieces, *(f"edge {edge.value}" for edge in cut_edges)])


def parse_joints(text: str) -> tuple[tuple[tuple[str, str, float, float, bool], ...], list[Edge]]:
    """Part, side, x, y and seen of each joint, and the edges that cut the body.

    Raises:
        ValueError: it describes none.
    """
    found: list[tuple[str, str, float, float, bool]] = []
    edges: list[Edge] = []
    for piece in text[:_LONGEST].split(";"):
        words = piece.split()
        if words[:1] == ["edge"]:
            edges += [Edge(words[1])] if len(words) == 2 else []
        elif words:
            part, side, x, y, seen = _checked(words, 5)
            aside = "" if side == "middle" else side
            found.append((part, aside, _number(x), _number(y), _is_seen(seen)))
    return tuple(found), edges


def _pieces(text: str, length: int) -> Iterator[list[str]]:
    for piece in text[:_LONGEST].split(";"):
        if words := piece.split():
            yield _checked(words, length)


def _checked(words: list[str], length: int) -> list[str]:
    if len(words) != length:
        raise ValueError(f"expected {length} words in {' '.join(words)!r}")
    return words


def _number(word: str) -> float:
    number = float(word)
    if not math.isfinite(number):
        raise ValueError(f"expected a finite number, got {word!r}")
    return number


def _is_seen(word: str) -> bool:
    if word not in {_SEEN, _GUESSED}:
        raise ValueError(f"expected {_SEEN} or {_GUESSED}, got {word!r}")
    return word == _SEEN
