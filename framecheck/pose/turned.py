"""A picture on its side or head, for those who lie: the scout knows heads that are up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from framecheck.pose.scout import HeadHint
from framecheck.pose.views import View
from framecheck.records.seen import MaskSeen
from framecheck.records.values import Box


def turn_view(view: View, quarters: int) -> View:
    """The view turned by quarters, + counter-clockwise; its box starts at 0, 0."""
    return View(
        rgb=np.ascontiguousarray(np.rot90(view.rgb, quarters)), box=_turned(view.box, quarters)
    )


def turn_mask(mask: MaskSeen, quarters: int) -> MaskSeen:
    """The same of a mask."""
    return MaskSeen(inside=np.rot90(mask.inside, quarters), box=_turned(mask.box, quarters))


def turned_back(head: HeadHint, quarters: int, box: Box) -> HeadHint:
    """A head seen in a turned view, as it lies in the picture.

    Args:
        head: in the turned view.
        quarters: 1, -1 or 2, how the view was turned.
        box: of the view before.
    """
    (x, y), (dx, dy) = head.centre_px, head.down
    place, down = {
        1: ((box.w_px - y, x), (-dy, dx)),
        -1: ((y, box.h_px - x), (dy, -dx)),
        2: ((box.w_px - x, box.h_px - y), (-dx, -dy)),
    }[quarters]
    return replace(head, centre_px=(box.x_px + place[0], box.y_px + place[1]), down=down)


def _turned(box: Box, quarters: int) -> Box:
    wide_px, high_px = (box.h_px, box.w_px) if quarters % 2 else (box.w_px, box.h_px)
    return Box(x_px=0.0, y_px=0.0, w_px=wide_px, h_px=high_px)
