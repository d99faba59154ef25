"""The colours of a person's hair, face and clothes.

They serve to tell, within one sequence, whether two shots show the same person; they identify
nobody.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

LOOK_PARTS = ("hair", "face", "chest", "waist", "legs")
"""The parts of a person whose colours are kept, from the top down."""


class ColourShare(NamedTuple):
    """One colour and how much of a part has it; a tuple, as a long sequence has a million of them.

    Attributes:
        light: CIE 1976 lightness, 0 black, 100 white.
        green_red, blue_yellow: the a* and b* of CIE 1976.
        share: 0..1 of the part.
    """

    light: float
    green_red: float
    blue_yellow: float
    share: float


class PartLook(NamedTuple):
    """The two colours that tell one part best; the larger share first.

    Attributes:
        part: one of `LOOK_PARTS`.
        colours: two; alike where the part has one colour.
    """

    part: str
    colours: tuple[ColourShare, ColourShare]


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonLook:
    """The parts of a person that can be seen, in the order of `LOOK_PARTS`, at least one."""

    parts: tuple[PartLook, ...]

    def __post_init__(self) -> None:
        unknown = [part.part for part in self.parts if part.part not in LOOK_PARTS]
        if unknown or not self.parts:
            raise ValueError(f"a look needs parts of {LOOK_PARTS}, got {unknown or 'none'}")
