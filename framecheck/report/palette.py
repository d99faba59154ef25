"""Colours and sizes of the drawings. Every colour has a second carrier: shape, dash or word."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

from PIL import ImageFont

Colour: TypeAlias = tuple[int, int, int, int]

# Chosen to differ in lightness as well as in hue, so that they stay apart in any colour vision
# and in a grey print: staff lightest, air middle, warning darkest.
STAFF: Colour = (255, 222, 89, 255)
AIR: Colour = (124, 205, 255, 255)
WARNING: Colour = (255, 122, 77, 255)
PAPER: Colour = (246, 246, 240, 255)
FAINT: Colour = (246, 246, 240, 150)
QUIET: Colour = (176, 180, 186, 255)
INK: Colour = (17, 19, 24, 255)
HALO: Colour = (10, 11, 14, 170)
PLATE: Colour = (17, 19, 24, 205)

_SMALLEST_TEXT_PX = 12
_TEXT_SHARE = 0.0225  # of the height, or of the width of a tall picture: 20 px at 720 lines


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """All sizes of one drawing, in pixels, grown from its short side."""

    text_px: int
    title_px: int
    line_px: float
    gap_px: float

    @classmethod
    def for_picture(cls, width_px: int, height_px: int) -> Sizes:
        """Sizes that read alike at any resolution."""
        text_px = max(_SMALLEST_TEXT_PX, round(_TEXT_SHARE * min(width_px, height_px * 1.25)))
        return cls(
            text_px=text_px,
            title_px=round(text_px * 1.55),
            line_px=max(1.0, text_px / 8),
            gap_px=text_px * 0.5,
        )


@lru_cache(maxsize=32)
def load_font(size_px: int) -> ImageFont.FreeTypeFont | ImageFont.ImageFont:
    """The outline font that travels inside Pillow, so that drawings look alike on all machines."""
    return ImageFont.load_default(size_px)


_REPLACEMENTS = str.maketrans(
    {"–": "-", "—": "-", "−": "-", "→": ">", "←": "<", "×": "x", "≥": ">=", "≤": "<=", "±": "+-"}
)


def drawable_text(text: str) -> str:
    """The text with the characters that the font lacks replaced, so that no empty boxes show."""
    swapped = text if all(map(_has_glyph, text)) else text.translate(_REPLACEMENTS)
    return "".join(char if _has_glyph(char) else "?" for char in swapped)


@lru_cache(maxsize=4096)
def _has_glyph(char: str) -> bool:
    if char == " ":
        return True
    font = load_font(24)
    missing = bytes(font.getmask("\uffff"))
    return char.isprintable() and bytes(font.getmask(char)) != missing
