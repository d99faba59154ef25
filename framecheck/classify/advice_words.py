"""The sentences of advice: what to move, how far, what it clears, and where it can be done."""

from __future__ import annotations

from collections.abc import Sequence

from framecheck.records.framing import Edge
from framecheck.records.judged import Flag, Severity
from framecheck.records.values import Box

_DIRECTION = {
    (Edge.TOP, True): "up",
    (Edge.TOP, False): "down",
    (Edge.BOTTOM, True): "down",
    (Edge.BOTTOM, False): "up",
    (Edge.LEFT, True): "to the left",
    (Edge.LEFT, False): "to the right",
    (Edge.RIGHT, True): "to the right",
    (Edge.RIGHT, False): "to the left",
}
_ROOM_PARTS = ("headroom", "looking room")
_OPENING = {Severity.HIGH: "", Severity.MEDIUM: "Better ", Severity.LOW: "If it matters, "}


def word_advice(
    edge: Edge | None, mille: int, targets: Sequence[Flag], picture: Box, *, first: bool
) -> str:
    """One sentence for one change.

    Args:
        edge: the edge that moves, None for the whole field.
        mille: thousandths of the picture height or of the field, > 0 shows more.
        targets: the flags that it clears, worst first.
        picture: the active picture, for per cent of the width.
        first: False for a further choice, which is opened by "or".
    """
    opening = _OPENING[targets[0].severity] if first else "Or "
    done = "reframe on set" if mille > 0 else "crop in post"
    sentence = f"{opening}{_word_change(edge, mille, picture)} to {_word_aim(targets)}"
    return f"{sentence[0].upper()}{sentence[1:]} ({done})."


def word_failure(targets: Sequence[Flag], limit_frac: float) -> str:
    """One sentence for flags that no change up to the limit clears."""
    return (
        f"No reframe of up to {100 * limit_frac:.0f} % can {_word_aim(targets)} without "
        "another flag: change the distance, the height or the pose on set."
    )


def _word_change(edge: Edge | None, mille: int, picture: Box) -> str:
    if edge is None:
        direction = "wider" if mille > 0 else "tighter"
        return f"go {abs(mille) / 10:.1f} % {direction} with the eyes kept in place"
    sideways = edge in (Edge.LEFT, Edge.RIGHT)
    per_cent = abs(mille) / 10 * (picture.h_px / picture.w_px if sideways else 1.0)
    base = "width" if sideways else "height"
    direction = _DIRECTION[edge, mille > 0]
    return f"move the {edge.value} edge {per_cent:.1f} % of the frame {base} {direction}"


def _word_aim(targets: Sequence[Flag]) -> str:
    people: dict[str, set[int]] = {}
    for flag in targets:
        people.setdefault(flag.part, set()).add(flag.person)
    cuts = [_word_part(part, who) for part, who in people.items() if part not in _ROOM_PARTS]
    rooms = [_word_part(part, who) for part, who in people.items() if part in _ROOM_PARTS]
    aims = [f"clear {_join(cuts)}"] if cuts else []
    aims += [f"set {_join(rooms)} right"] if rooms else []
    return " and ".join(aims)


def _join(words: Sequence[str]) -> str:
    return " and ".join([*([", ".join(words[:-1])] if words[1:] else []), words[-1]])


def _word_part(part: str, people: set[int]) -> str:
    if len(people) > 1:
        return f"the {part} of {len(people)} people"
    return f"the {part}" if people == {0} else f"the {part} of person {min(people)}"
