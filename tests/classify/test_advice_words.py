from __future__ import annotations

import pytest

from framecheck.classify.advice_words import word_advice, word_failure
from framecheck.records.framing import Edge
from framecheck.records.judged import Flag, Severity
from framecheck.records.values import Box

PICTURE = Box(x_px=0, y_px=0, w_px=1600, h_px=800)


def a_flag(part: str, *, person: int = 0, severity: Severity = Severity.HIGH) -> Flag:
    return Flag(
        part=part, person=person, edge=Edge.BOTTOM, distance_level=0.0, severity=severity,
        certainty=1.0,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("edge", "mille", "change"),
    [
        (Edge.TOP, 10, "Move the top edge 1.0 % of the frame height up"),
        (Edge.TOP, -10, "Move the top edge 1.0 % of the frame height down"),
        (Edge.BOTTOM, 31, "Move the bottom edge 3.1 % of the frame height down"),
        (Edge.BOTTOM, -31, "Move the bottom edge 3.1 % of the frame height up"),
        (Edge.LEFT, 20, "Move the left edge 1.0 % of the frame width to the left"),
        (Edge.LEFT, -20, "Move the left edge 1.0 % of the frame width to the right"),
        (Edge.RIGHT, 20, "Move the right edge 1.0 % of the frame width to the right"),
        (Edge.RIGHT, -20, "Move the right edge 1.0 % of the frame width to the left"),
        (None, 40, "Go 4.0 % wider with the eyes kept in place"),
        (None, -40, "Go 4.0 % tighter with the eyes kept in place"),
    ],
)
def test_direction_amount_and_where_it_can_be_done(
    edge: Edge | None, mille: int, change: str
) -> None:
    done = "reframe on set" if mille > 0 else "crop in post"
    text = word_advice(edge, mille, [a_flag("knee")], PICTURE, first=True)
    assert text == f"{change} to clear the knee ({done})."


@pytest.mark.parametrize(
    ("severity", "first", "opening"),
    [
        (Severity.HIGH, True, "Go 4.0"),
        (Severity.MEDIUM, True, "Better go 4.0"),
        (Severity.LOW, True, "If it matters, go 4.0"),
        (Severity.LOW, False, "Or go 4.0"),
    ],
)
def test_the_opening_follows_the_severity(severity: Severity, first: bool, opening: str) -> None:
    text = word_advice(None, 40, [a_flag("knee", severity=severity)], PICTURE, first=first)
    assert text.startswith(opening)


@pytest.mark.parametrize(
    ("targets", "aim"),
    [
        ([a_flag("knee"), a_flag("wrist")], "clear the knee and the wrist"),
        (
            [a_flag("knee"), a_flag("wrist"), a_flag("knee", person=2), a_flag("elbow", person=2)],
            "clear the knee of 2 people, the wrist and the elbow of person 2",
        ),
        ([a_flag("wrist"), a_flag("wrist")], "clear the wrist"),
        ([a_flag("headroom")], "set the headroom right"),
        (
            [a_flag("knee"), a_flag("headroom"), a_flag("looking room")],
            "clear the knee and set the headroom and the looking room right",
        ),
    ],
)
def test_what_it_clears(targets: list[Flag], aim: str) -> None:
    assert f" to {aim} (" in word_advice(None, 40, targets, PICTURE, first=True)
    assert f"No reframe of up to 25 % can {aim} without another flag" in word_failure(targets, 0.25)


@pytest.mark.parametrize("mille", [1, -1])
def test_the_smallest_step_has_its_direction(mille: int) -> None:
    done = "reframe on set" if mille > 0 else "crop in post"
    way = "down" if mille > 0 else "up"
    text = word_advice(Edge.BOTTOM, mille, [a_flag("knee")], PICTURE, first=True)
    assert (
        text == f"Move the bottom edge 0.1 % of the frame height {way} to clear the knee ({done})."
    )
    size = "wider" if mille > 0 else "tighter"
    text = word_advice(None, mille, [a_flag("knee")], PICTURE, first=True)
    assert text == f"Go 0.1 % {size} with the eyes kept in place to clear the knee ({done})."
