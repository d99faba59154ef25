"""What a person looks like: complexion, hair style and outfit, as plain records."""

from __future__ import annotations

from dataclasses import dataclass, field

from sample_frames.stage.bodies import Shape
from sample_frames.stage.skin_paint import Colour, Complexion


@dataclass(frozen=True)
class HairStyle:
    """Shape of the hair over the skull.

    Attributes:
        thickness_m: Height of the hair over the scalp; 0 leaves the scalp as painted.
        length_m: How far a curtain of hair hangs below the eyes at the sides and back; 0 for none.
        lump_m: Height of random curls.
        bun: A knot of hair at the back of the head.
        hat: Colour of a knitted cap worn over the hair.
        brim: Colour of a hat with a brim all round.
        peak: Colour of a cap with a peak at the front.
    """

    thickness_m: float = 0.012
    length_m: float = 0.0
    lump_m: float = 0.002
    bun: bool = False
    hat: Colour | None = None
    brim: Colour | None = None
    peak: Colour | None = None


@dataclass(frozen=True)
class Cloth:
    """Colour and pattern of one garment."""

    colour: Colour = (90, 100, 120)
    pattern: str = "plain"
    second: Colour = (220, 220, 210)


@dataclass(frozen=True)
class Outfit:
    """Garments of a person; lengths are limb positions (1 elbow or knee, 2 wrist or ankle)."""

    top: Cloth = field(default_factory=Cloth)
    sleeve: float = 1.85
    hem_m: float = 0.20
    neck_drop_m: float = 0.0
    v_neck: bool = False
    jacket: Cloth | None = None
    bottom: Cloth = field(default_factory=lambda: Cloth((60, 62, 70)))
    bottom_kind: str = "trousers"
    bottom_length: float = 1.93
    bib: bool = False
    shoes: Colour = (45, 38, 34)
    boot: bool = False


@dataclass(frozen=True)
class Look:
    """Everything that makes one person recognisable across shots."""

    shape: Shape = field(default_factory=Shape)
    complexion: Complexion = field(default_factory=Complexion)
    hair: HairStyle = field(default_factory=HairStyle)
    outfit: Outfit = field(default_factory=Outfit)
    seed: int = 0


SKINS: tuple[Colour, ...] = (
    (238, 200, 178),
    (226, 184, 156),
    (210, 164, 132),
    (188, 140, 108),
    (160, 112, 82),
    (128, 86, 62),
    (98, 66, 50),
    (78, 52, 42),
)
HAIRS: tuple[Colour, ...] = (
    (28, 22, 20),
    (48, 34, 26),
    (82, 56, 36),
    (124, 86, 50),
    (186, 148, 92),
    (142, 70, 38),
    (150, 146, 142),
    (205, 202, 198),
)
EYES: tuple[Colour, ...] = (
    (70, 46, 30),
    (92, 66, 40),
    (84, 104, 70),
    (84, 116, 142),
    (60, 80, 110),
)
CLOTHS: tuple[Colour, ...] = (
    (232, 230, 222),
    (176, 42, 46),
    (38, 62, 112),
    (52, 96, 72),
    (212, 168, 60),
    (96, 60, 110),
    (120, 126, 132),
    (44, 46, 52),
    (200, 120, 80),
    (120, 164, 190),
    (150, 98, 70),
    (230, 178, 186),
)
