"""Which frames of a Framing Decision List are meant for a picture, and where they lie in it."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import TypeAlias

from framecheck.records.delivery import Delivery
from framecheck.records.values import Box

Shares: TypeAlias = tuple[float, float, float, float]

FITS = 0.02
"""A list applies to pictures whose shape is that of its canvas within this share."""
_LABEL = re.compile(r"(?P<file>.+?)(?: shot (?P<shot>[0-9]{1,9}))?", re.DOTALL | re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class FdlFrames:
    """The frames of one canvas.

    Attributes:
        label: of the context, a shot or a clip.
        file: that it belongs to; "" for any.
        shot: of that clip, where a list of our own says so; None for all.
        aspect: of the canvas as it is shown, width over height.
        effective: the part of the canvas that holds a picture, as fractions of it.
        deliveries: frames, as fractions of the canvas.
    """

    label: str
    file: str
    shot: int | None
    aspect: Fraction
    effective: Shares
    deliveries: tuple[Delivery, ...]


def context_label(file: str, shot: int | None) -> str:
    """What a context of our own is called; `file_and_shot` reads it back."""
    name = Path(file).name
    return name if shot is None else f"{name} shot {shot}"


def file_and_shot(label: str) -> tuple[str, int | None]:
    """File and shot that a label of our own names."""
    match = _LABEL.fullmatch(label)
    if match is None:
        return label, None
    return match["file"], None if match["shot"] is None else int(match["shot"])


def is_meant_for(frames: FdlFrames, file: str, shot: int | None) -> bool:
    """Whether a list's frames belong to that shot of that file."""
    if frames.file and Path(frames.file).name != Path(file).name:
        return False
    return frames.shot is None or frames.shot == shot


def frames_in(frames: FdlFrames, size_wh_px: tuple[int, int], picture: Box) -> tuple[Delivery, ...]:
    """A list's frames as fractions of a picture; none when it is of another shape.

    Args:
        frames: of one canvas.
        size_wh_px: of the whole file, which is what a canvas describes.
        picture: its active part. A canvas or an effective area of that shape is taken for it.
    """
    whole = Box(x_px=0.0, y_px=0.0, w_px=float(size_wh_px[0]), h_px=float(size_wh_px[1]))
    _, _, width, height = frames.effective
    if _has_shape(whole, float(frames.aspect)):
        canvas = whole
    elif _has_shape(picture, float(frames.aspect)):
        canvas = picture
    elif _has_shape(picture, float(frames.aspect) * width / height):
        canvas = _around(picture, frames.effective)
    else:
        return ()
    return tuple(
        replace(
            delivery,
            fixed_frac=_moved(delivery.fixed_frac, canvas, picture),
            protected_frac=_moved(delivery.protected_frac, canvas, picture),
        )
        for delivery in frames.deliveries
    )


def _has_shape(box: Box, aspect: float) -> bool:
    return abs(box.w_px / box.h_px / aspect - 1) <= FITS


def _around(picture: Box, shares: Shares) -> Box:
    """The box of which the picture is that part."""
    x, y, width, height = shares
    w_px, h_px = picture.w_px / width, picture.h_px / height
    return Box(x_px=picture.x_px - x * w_px, y_px=picture.y_px - y * h_px, w_px=w_px, h_px=h_px)


def _moved(shares: Shares | None, canvas: Box, picture: Box) -> Shares | None:
    """Fractions of a canvas as fractions of a picture."""
    if shares is None or canvas == picture:
        return shares
    x, y, width, height = shares
    return (
        (canvas.x_px + x * canvas.w_px - picture.x_px) / picture.w_px,
        (canvas.y_px + y * canvas.h_px - picture.y_px) / picture.h_px,
        width * canvas.w_px / picture.w_px,
        height * canvas.h_px / picture.h_px,
    )
