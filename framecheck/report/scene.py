"""What the layers of a drawing share: the scaled measurement, the canvas and the waiting labels."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

from framecheck.geometry.ruler import point_at_level
from framecheck.records.framing import PersonFraming, RulerMark
from framecheck.records.judged import FrameResult
from framecheck.records.values import Box, NotMeasured, PointPx
from framecheck.report.canvas import Canvas, text_size_px
from framecheck.report.palette import PAPER, Colour, Sizes
from framecheck.report.placement import Avoid, LabelWish, overlap_px2, place_labels

_HEAD_WIDTH_SHARE = 0.8  # of the head's height; a label beside it is beside the hair as well


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A text that waits for a place beside its anchor.

    Attributes:
        rank: labels of a low rank choose their place first.
        leader: draw a thin line to the anchor when the label ends up away from it.
        clear_px: how far from the anchor that line ends, where something stands at the anchor.
    """

    words: str
    anchor: PointPx
    towards: PointPx
    colour: Colour = PAPER
    rank: int = 5
    needed: bool = False
    leader: bool = True
    clear_px: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedText:
    """A text that has its place."""

    box: Box
    words: str
    colour: Colour


@dataclass(slots=True, kw_only=True)
class Scene:
    """One drawing in the making; all its coordinates are the drawing's own pixels.

    Attributes:
        labels: texts that still wait for a place.
        taken: areas that no label may cover.
        leaders, texts: what is drawn last, lines under plates, so that no line crosses a word.
    """

    result: FrameResult
    scale: float
    canvas: Canvas
    sizes: Sizes
    labels: list[Label] = field(default_factory=list)
    taken: list[Box] = field(default_factory=list)
    leaders: list[tuple[PointPx, PointPx, Colour]] = field(default_factory=list)
    texts: list[PlacedText] = field(default_factory=list)

    @property
    def people(self) -> tuple[PersonFraming, ...]:
        """The main subject first."""
        return self.result.measurement.people

    @property
    def picture(self) -> Box:
        """The active picture."""
        return self.box(self.result.measurement.picture)

    @property
    def label_room(self) -> Box:
        """The active picture less a rim."""
        picture, rim = self.picture, self.sizes.gap_px
        return Box(
            x_px=picture.x_px + rim,
            y_px=picture.y_px + rim,
            w_px=max(0.0, picture.w_px - 2 * rim),
            h_px=max(0.0, picture.h_px - 2 * rim),
        )

    @property
    def pad_px(self) -> float:
        """Ground on either side of a text."""
        return self.sizes.gap_px * 0.55

    def point(self, point_px: PointPx) -> PointPx:
        """A point of the file in the drawing."""
        return (point_px[0] * self.scale, point_px[1] * self.scale)

    def box(self, box: Box) -> Box:
        """A box of the file in the drawing."""
        return Box(
            x_px=box.x_px * self.scale,
            y_px=box.y_px * self.scale,
            w_px=box.w_px * self.scale,
            h_px=box.h_px * self.scale,
        )

    def mark(self, mark: RulerMark) -> PointPx:
        """A mark of a ruler in the drawing."""
        return self.point((mark.x_px, mark.y_px))

    def level(self, person: PersonFraming, level: float) -> PointPx:
        """The point of a person's ruler at a level; the nose when there is no ruler."""
        if person.ruler is None:
            return self.point(person.nose_px)
        return self.point(point_at_level(person.ruler, level))

    def head(self, person: PersonFraming) -> Box:
        """The area of a head, to keep free of text."""
        height_px = person.head_height_px
        if isinstance(height_px, NotMeasured):
            height_px = 0.15 * person.box.h_px
        x, y = person.nose_px
        top = y - 0.68 * height_px
        if not isinstance(person.crown_y_px, NotMeasured):
            top = person.crown_y_px
        width_px = height_px * _HEAD_WIDTH_SHARE
        return self.box(Box(x_px=x - width_px / 2, y_px=top, w_px=width_px, h_px=height_px))

    def shows(self, point: PointPx) -> bool:
        """True when a point of the drawing lies inside the active picture."""
        picture = self.picture
        across = picture.x_px <= point[0] <= picture.right_px
        return across and picture.y_px <= point[1] <= picture.bottom_px

    def is_free(self, box: Box) -> bool:
        """True when nothing has that place yet."""
        return all(overlap_px2(box, other) == 0 for other in self.taken)

    def put_text(self, box: Box, words: str, colour: Colour) -> None:
        """Give a text its place."""
        self.taken.append(box)
        self.texts.append(PlacedText(box=box, words=words, colour=colour))

    def place_waiting(self, up_to_rank: int) -> None:
        """Find places for the waiting labels up to a rank; the others go on waiting."""
        waiting = sorted(
            (label for label in self.labels if label.rank <= up_to_rank),
            key=lambda label: label.rank,
        )
        self.labels = [label for label in self.labels if label.rank > up_to_rank]
        wishes = [self._wish(label) for label in waiting]
        places = place_labels(wishes, self.label_room, self._avoided(), self.taken)
        for label, box in zip(waiting, places, strict=True):
            if box is not None:
                self._put_label(label, box)

    def draw_texts(self) -> None:
        """Draw the leaders, then the plates with their words."""
        for start, end, colour in self.leaders:
            self.canvas.line([start, end], colour, lines=0.5)
        for text in self.texts:
            box = text.box
            self.canvas.plate((box.x_px, box.y_px), (box.w_px, box.h_px))
            left_top = (box.x_px + self.pad_px, box.y_px + self.pad_px / 2)
            self.canvas.text(left_top, text.words, self.sizes.text_px, text.colour)

    def _put_label(self, label: Label, box: Box) -> None:
        foot = (
            min(max(label.anchor[0], box.x_px), box.right_px),
            min(max(label.anchor[1], box.y_px), box.bottom_px),
        )
        length_px = math.dist(foot, label.anchor)
        if label.leader and length_px - label.clear_px > 1.3 * self.sizes.gap_px:
            share = label.clear_px / length_px
            start = (
                label.anchor[0] + share * (foot[0] - label.anchor[0]),
                label.anchor[1] + share * (foot[1] - label.anchor[1]),
            )
            self.leaders.append((start, foot, label.colour))
        self.put_text(box, label.words, label.colour)

    def _wish(self, label: Label) -> LabelWish:
        width, height = text_size_px(label.words, self.sizes.text_px)
        return LabelWish(
            anchor=label.anchor,
            size=(width + 2 * self.pad_px, height + self.pad_px),
            towards=label.towards,
            needed=label.needed,
            gap_px=self.sizes.gap_px,
        )

    def _avoided(self) -> list[Avoid]:
        heads = [Avoid(box=self.head(person), cost=14.0) for person in self.people]
        bodies = [Avoid(box=self.box(person.box), cost=2.5) for person in self.people]
        return heads + bodies
