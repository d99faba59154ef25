"""The black bars of a clip, found once over several of its frames.

A dark shot hides where its bars end, or seems to have bars; a whole clip does not. Shots are held
back until enough frames were seen to tell; then all frames of the clip get the same picture.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from framecheck.records.clips import SampledFrame, ShotTake
from framecheck.records.values import Box

FRAMES, SHOTS = 6, 2
"""Bars are told when so many frames that are not dark, of so many shots, were seen."""
MOST_HELD = 3
"""Shots held back at most; then what was seen must do. Each may hold 25 MB of pictures."""
LIT = 40
"""A frame is dark when hardly any sample reaches this, of 255."""
LIT_SHARE = 0.3
"""A bar with so much of it lit is none. Burnt-in text covers less."""
SAME_PX = 2.0
"""Bars that differ by no more are the same."""
OTHER_NOTE = "the picture reaches into the black bars of the clip"

Pixels: TypeAlias = npt.NDArray[np.uint8]
FindActive: TypeAlias = Callable[[Pixels], Box]


class ClipBars:
    """Gives the shots of one clip their active picture."""

    def __init__(self, find_active: FindActive) -> None:
        self._find_active = find_active
        self._held: list[ShotTake] = []
        self._seen: list[Box] = []
        self._box: Box | None = None

    def push(self, take: ShotTake) -> list[ShotTake]:
        """Take a shot in, and give out those that are ready, in order."""
        if self._box is not None:
            return [self._apply(take)]
        self._held.append(take)
        self._seen += self._look(take.samples)
        enough = len(self._seen) >= FRAMES and len(self._held) >= SHOTS
        return self.finish() if enough or len(self._held) >= MOST_HELD else []

    def finish(self) -> list[ShotTake]:
        """The shots that are still held back, when no more will come."""
        if not self._held:
            return []
        whole = self._held[0].samples[0].picture.active
        self._box = vote(self._seen) or whole
        held, self._held = self._held, []
        return [self._apply(take) for take in held]

    def _look(self, samples: Sequence[SampledFrame]) -> list[Box]:
        lit = [sample.picture.rgb for sample in samples if is_lit(sample.picture.rgb)]
        return [self._find_active(rgb) for rgb in lit]

    def _apply(self, take: ShotTake) -> ShotTake:
        box = self._box
        if box is None or box == take.samples[0].picture.active:
            return take
        notes: tuple[str, ...] = ()
        outside = [sample for sample in take.samples if shows_outside(sample.picture.rgb, box)]
        if 2 * len(outside) > len(take.samples):
            box, notes = vote(self._look(outside)) or box, (OTHER_NOTE,)
        return replace(take, samples=tuple(_cut(sample, box, notes) for sample in take.samples))


def is_lit(rgb: Pixels) -> bool:
    """True when the frame shows enough light to tell picture from bar."""
    return bool(np.percentile(rgb[::8, ::8].max(axis=2), 98) >= LIT)


def shows_outside(rgb: Pixels, box: Box) -> bool:
    """True when there is picture in one of the bars around the box, and not a line of text."""
    height, width = rgb.shape[:2]
    left, top = int(box.x_px - SAME_PX), int(box.y_px - SAME_PX)
    right, bottom = int(box.right_px + SAME_PX), int(box.bottom_px + SAME_PX)
    bars = (
        rgb[: max(0, top)],
        rgb[min(height, bottom) :],
        rgb[:, : max(0, left)],
        rgb[:, min(width, right) :],
    )
    return any(bar.size and (bar.max(axis=2) >= LIT).mean() >= LIT_SHARE for bar in bars)


def vote(boxes: Sequence[Box]) -> Box | None:
    """The box that most frames agree on, of equals the larger; None when there is no frame."""
    groups: list[list[Box]] = []
    for box in boxes:
        group = next((group for group in groups if _same(group[0], box)), None)
        if group is None:
            groups.append([box])
        else:
            group.append(box)
    most = max(groups, key=lambda group: (len(group), group[0].area_px2), default=None)
    return max(most, key=lambda box: box.area_px2) if most else None


def _same(one: Box, other: Box) -> bool:
    return all(abs(a - b) <= SAME_PX for a, b in zip(_edges(one), _edges(other), strict=True))


def _edges(box: Box) -> tuple[float, float, float, float]:
    return box.x_px, box.y_px, box.right_px, box.bottom_px


def _cut(sample: SampledFrame, box: Box, notes: tuple[str, ...]) -> SampledFrame:
    picture = sample.picture
    return replace(sample, picture=replace(picture, active=box, notes=(*picture.notes, *notes)))
