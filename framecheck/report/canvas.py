"""A drawing surface with smooth lines: strokes go to an enlarged layer, shrunk at the end."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

from PIL import Image, ImageDraw

from framecheck.records.values import Box, PointPx
from framecheck.report.palette import HALO, PLATE, Colour, drawable_text, load_font

_SMOOTHING = 2  # strokes are drawn this much larger
_HALO_LINES = 1.6


class Canvas:
    """A picture to draw on, in its own pixels; strokes lie under texts."""

    def __init__(self, base: Image.Image, line_px: float) -> None:
        self.size = base.size
        self.line_px = line_px
        self._base = base
        self._layer = Image.new(
            "RGBA", (base.width * _SMOOTHING, base.height * _SMOOTHING), (0, 0, 0, 0)
        )
        self._strokes = ImageDraw.Draw(self._layer)
        self._texts: list[tuple[PointPx, str, int, Colour]] = []

    def line(
        self,
        points: Sequence[PointPx],
        colour: Colour,
        *,
        lines: float = 1.0,
        dash_lines: float = 0.0,
        halo: bool = True,
    ) -> None:
        """A line through the points, `lines` pens wide, dashed when `dash_lines` is given."""
        width_px = lines * self.line_px
        pieces = (
            list(pairwise(points))
            if dash_lines <= 0
            else _dashes(points, dash_lines * self.line_px)
        )
        if halo and colour[3] == 255:
            for start, end in pieces:
                self._stroke(start, end, HALO, width_px + _HALO_LINES * self.line_px, rounded=False)
        rounded = dash_lines <= 0 and len(points) > 2
        for start, end in pieces:
            self._stroke(start, end, colour, width_px, rounded=rounded)

    def polygon(
        self, points: Sequence[PointPx], fill: Colour | None, outline: Colour | None = None
    ) -> None:
        """A closed shape, filled, outlined or both."""
        scaled = [(x * _SMOOTHING, y * _SMOOTHING) for x, y in points]
        if fill is not None:
            self._strokes.polygon(scaled, fill=fill)
        if outline is not None:
            self.line([*points, points[0]], outline, lines=0.8, halo=False)

    def disc(self, centre: PointPx, radius_px: float, fill: Colour, outline: Colour | None) -> None:
        """A filled circle, with a rim or without."""
        ring = [
            (
                centre[0] + radius_px * math.cos(turn * math.tau / 40),
                centre[1] + radius_px * math.sin(turn * math.tau / 40),
            )
            for turn in range(40)
        ]
        self.polygon(ring, fill, outline)

    def plate(self, left_top: PointPx, size: PointPx, colour: Colour = PLATE) -> None:
        """A rounded ground for a text."""
        (x, y), (w, h) = left_top, size
        self._strokes.rounded_rectangle(
            [x * _SMOOTHING, y * _SMOOTHING, (x + w) * _SMOOTHING, (y + h) * _SMOOTHING],
            radius=h * 0.22 * _SMOOTHING,
            fill=colour,
        )

    def clear_outside(self, box: Box) -> None:
        """Take away the strokes outside a box."""
        kept = [round(edge * _SMOOTHING) for edge in (box.x_px, box.y_px)]
        kept += [round(edge * _SMOOTHING) for edge in (box.right_px, box.bottom_px)]
        inside = self._layer.crop((kept[0], kept[1], kept[2], kept[3]))
        self._layer.paste((0, 0, 0, 0), (0, 0, *self._layer.size))
        self._layer.paste(inside, (kept[0], kept[1]))

    def text(self, left_top: PointPx, words: str, size_px: int, colour: Colour) -> None:
        """Text with its line box's left top corner at a point."""
        self._texts.append((left_top, drawable_text(words), size_px, colour))

    def finish(self) -> Image.Image:
        """The picture with everything drawn."""
        layer = self._layer.resize(self._base.size, Image.Resampling.BOX)
        picture = Image.alpha_composite(self._base.convert("RGBA"), layer)
        pen = ImageDraw.Draw(picture)
        for (x, y), words, size_px, colour in self._texts:
            pen.text(
                (round(x), round(y)),
                words,
                font=load_font(size_px),
                fill=colour,
            )
        return picture.convert("RGB")

    def _stroke(
        self, start: PointPx, end: PointPx, colour: Colour, width_px: float, *, rounded: bool
    ) -> None:
        scaled = [(x * _SMOOTHING, y * _SMOOTHING) for x, y in (start, end)]
        width = max(1, round(width_px * _SMOOTHING))
        self._strokes.line(scaled, fill=colour, width=width)
        if rounded and width > 3:
            for x, y in scaled:  # round ends, so that joints of a bent line close
                self._strokes.ellipse(
                    [x - width / 2, y - width / 2, x + width / 2, y + width / 2], fill=colour
                )


def text_size_px(words: str, size_px: int) -> PointPx:
    """Width of the text, and the height of its line box, in pixels."""
    font = load_font(size_px)
    return (font.getlength(drawable_text(words)), size_px * 1.22)


def _dashes(points: Sequence[PointPx], dash_px: float) -> list[tuple[PointPx, PointPx]]:
    """Cut the line through the points into dashes with gaps of the same length."""
    pieces: list[tuple[PointPx, PointPx]] = []
    for start, end in pairwise(points):
        length_px = math.dist(start, end)
        if length_px == 0:
            continue
        count = min(2000, max(1, round(length_px / (2 * dash_px))))
        step = 1.0 / count
        pieces += [
            (
                _between(start, end, (number + 0.25) * step),
                _between(start, end, (number + 0.75) * step),
            )
            for number in range(count)
        ]
    return pieces


def _between(start: PointPx, end: PointPx, share: float) -> PointPx:
    return (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))
