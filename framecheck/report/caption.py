"""The strip under the picture: the size in words, the measures, the flags and the advice."""

from __future__ import annotations

from dataclasses import dataclass

from PIL import Image

from framecheck.records.judged import Flag, FrameJudgement, FrameResult, Severity
from framecheck.report.canvas import Canvas, text_size_px
from framecheck.report.overlay_flags import draw_sign
from framecheck.report.palette import AIR, INK, PAPER, QUIET, STAFF, WARNING, Colour, Sizes
from framecheck.report.words import flag_words, measure_words

_BETWEEN = "  ·  "
_LINE_SHARE = 1.42  # of the text's size, from one line to the next


@dataclass(frozen=True, slots=True, kw_only=True)
class CaptionLine:
    """One line of the strip; `sign` stands before it."""

    words: str
    colour: Colour
    size_px: int
    sign: Severity | None = None
    indent_px: float = 0.0


def draw_caption(result: FrameResult, width_px: int, sizes: Sizes) -> Image.Image:
    """The strip, as wide as the picture and as high as its words need."""
    margin_px = sizes.gap_px * 1.6
    lines = [
        piece
        for line in _lines(result, sizes)
        for piece in _wrapped(line, width_px - 2 * margin_px)
    ]
    height_px = 2 * margin_px + sum(line.size_px * _LINE_SHARE for line in lines)
    base = Image.new("RGB", (width_px, max(1, round(height_px))), INK[:3])
    canvas = Canvas(base, sizes.line_px)
    y = margin_px
    for line in lines:
        _draw_line(canvas, line, (margin_px, y))
        y += line.size_px * _LINE_SHARE
    return canvas.finish()


def _lines(result: FrameResult, sizes: Sizes) -> list[CaptionLine]:
    judgement = result.judgement
    lines = [
        CaptionLine(words=_title(judgement), colour=STAFF, size_px=sizes.title_px),
        CaptionLine(
            words=_BETWEEN.join(measure_words(result.measurement)),
            colour=PAPER,
            size_px=sizes.text_px,
        ),
        *(_flag_line(flag, sizes) for flag in judgement.flags),
        *(
            CaptionLine(words=advice.text, colour=AIR, size_px=sizes.text_px)
            for advice in judgement.advice
        ),
        CaptionLine(words=_footing(result), colour=QUIET, size_px=round(sizes.text_px * 0.85)),
    ]
    return [line for line in lines if line.words]


def _title(judgement: FrameJudgement) -> str:
    if not judgement.sizes:
        return judgement.shot_type.value
    size = judgement.sizes[0]
    second = f", or {size.second}" if size.second else ""
    return (
        f"{size.name} ({size.abbr}){_BETWEEN}{size.confidence * 100:.0f} % sure{second}"
        f"{_BETWEEN}{judgement.shot_type.value}"
    )


def _flag_line(flag: Flag, sizes: Sizes) -> CaptionLine:
    whose = f" (person {flag.person})" if flag.person else ""
    return CaptionLine(
        words=f"{flag_words(flag)}{whose}, {flag.severity.value}",
        colour=WARNING,
        size_px=sizes.text_px,
        sign=flag.severity,
        indent_px=sizes.text_px * 1.6,
    )


def _footing(result: FrameResult) -> str:
    names = [size.vocabulary for size in result.judgement.sizes[:1]]
    words = [f"words: {name}" for name in names]
    if result.measurement.people and result.measurement.people[0].ruler is not None:
        words.append("ruler solid where seen, dashed where inferred")
    return _BETWEEN.join(words)


def _wrapped(line: CaptionLine, width_px: float) -> list[CaptionLine]:
    """The line broken so that each piece fits: between phrases, and inside one only if it must."""
    room_px = width_px - line.indent_px
    pieces: list[str] = []
    for phrase in line.words.split(_BETWEEN):
        longer = f"{pieces[-1]}{_BETWEEN}{phrase}" if pieces else phrase
        if pieces and text_size_px(longer, line.size_px)[0] <= room_px:
            pieces[-1] = longer
        else:
            pieces += _wrapped_words(phrase, line.size_px, room_px)
    return [
        CaptionLine(
            words=piece,
            colour=line.colour,
            size_px=line.size_px,
            sign=line.sign if number == 0 else None,
            indent_px=line.indent_px,
        )
        for number, piece in enumerate(pieces)
    ]


def _wrapped_words(phrase: str, size_px: int, room_px: float) -> list[str]:
    pieces: list[str] = []
    for word in phrase.split(" "):
        longer = f"{pieces[-1]} {word}" if pieces else word
        if pieces and text_size_px(longer, size_px)[0] <= room_px:
            pieces[-1] = longer
        else:
            pieces.append(word)
    return pieces


def _draw_line(canvas: Canvas, line: CaptionLine, left_top: tuple[float, float]) -> None:
    x, y = left_top
    if line.sign is not None:
        radius_px = line.size_px * 0.55
        draw_sign(canvas, (x + radius_px, y + line.size_px * 0.62), radius_px, line.sign)
    canvas.text((x + line.indent_px, y), line.words, line.size_px, line.colour)
