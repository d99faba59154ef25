"""A person's colours as the text of one cell, and back.

`1: hair 24/6/9/80 31/7/12/20; chest ...`: the version of this writing, then each part with its two
colours as lightness/green-red/blue-yellow (CIE 1976 L*a*b*) and the per cent of the part.
"""

from __future__ import annotations

from framecheck.records.looks import ColourShare, PartLook, PersonLook

VERSION = "1"


def look_text(look: PersonLook | None) -> str:
    """The text of a look; "" for none."""
    if look is None:
        return ""
    parts = (
        f"{part.part} {_colour_text(part.colours[0])} {_colour_text(part.colours[1])}"
        for part in look.parts
    )
    return f"{VERSION}: {'; '.join(parts)}"


def parse_look(text: str) -> PersonLook | None:
    """The look that a text tells; None for an empty one, another version, or anything else."""
    version, _, rest = text.partition(": ")
    if version != VERSION or not rest:
        return None
    try:
        return PersonLook(parts=tuple(map(_parse_part, rest.split("; "))))
    except ValueError:
        return None


def _colour_text(colour: ColourShare) -> str:
    values = (colour.light, colour.green_red, colour.blue_yellow, 100 * colour.share)
    return "/".join(f"{round(value) + 0:d}" for value in values)


def _parse_part(text: str) -> PartLook:
    part, first, second = text.split(" ")
    return PartLook(part, (_parse_colour(first), _parse_colour(second)))


def _parse_colour(text: str) -> ColourShare:
    light, green_red, blue_yellow, per_cent = map(int, text.split("/"))
    return ColourShare(float(light), float(green_red), float(blue_yellow), per_cent / 100)
