"""Advice as frames to draw: the sentences of the advice cell back to where the edges would be.

The sentences are framecheck's own (`classify.advice_words`); the tables keep them and not the
numbers, so that results of any age can be drawn.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from framecheck.classify.reread import move_edge, scale_field
from framecheck.records.framing import Edge
from framecheck.records.values import Box, PointPx

_NUMBER = r"(?P<per_cent>\d{1,3}(?:\.\d+)?) %"
_EDGE = re.compile(
    rf"move the (?P<edge>top|bottom|left|right) edge {_NUMBER} of the frame "
    r"(?P<base>height|width) (?P<way>up|down|to the left|to the right)\b"
)
_FIELD = re.compile(rf"go {_NUMBER} (?P<way>wider|tighter) with the eyes kept in place")
_OUTWARD = {
    Edge.TOP: "up", Edge.BOTTOM: "down", Edge.LEFT: "to the left", Edge.RIGHT: "to the right",
}  # fmt: skip
_MOST_SENTENCES = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class ReframeSaid:
    """One change that the advice proposes.

    Attributes:
        text: the sentence.
        picture: the active picture after it, pixels of the whole file; None for a sentence that
            proposes no frame.
    """

    text: str
    picture: Box | None


def read_reframes(
    advice: str, picture: Box, eyes_px: Callable[[], PointPx | None]
) -> tuple[ReframeSaid, ...]:
    """The sentences of an advice cell, each with the frame that it proposes.

    Args:
        advice: the cell, "" for none.
        picture: the active picture.
        eyes_px: tells where the main subject's eyes are in it, None when there is nobody; asked
            only for a sentence that keeps them in place.
    """
    sentences = [piece.strip() for piece in re.split(r"(?<=\.)\s+(?=[A-Z])", advice)]
    return tuple(
        ReframeSaid(text=sentence, picture=_picture(sentence, picture, eyes_px))
        for sentence in sentences[:_MOST_SENTENCES]
        if sentence
    )


def _picture(sentence: str, picture: Box, eyes_px: Callable[[], PointPx | None]) -> Box | None:
    lowered = sentence.lower()
    try:
        if moved := _EDGE.search(lowered):
            return _moved(moved, picture)
        if (scaled := _FIELD.search(lowered)) and (eyes := eyes_px()):
            share = float(scaled["per_cent"]) / 100
            factor = 1 + share if scaled["way"] == "wider" else 1 - share
            return scale_field(picture, factor, eyes)
    except ValueError:  # a frame of no size
        return None
    return None


def _moved(match: re.Match[str], picture: Box) -> Box:
    edge = Edge(match["edge"])
    side_px = picture.h_px if match["base"] == "height" else picture.w_px
    move_px = float(match["per_cent"]) / 100 * side_px
    return move_edge(picture, edge, move_px if match["way"] == _OUTWARD[edge] else -move_px)
