"""What is said of a still or a clip in its XMP metadata."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class XmpMarker:
    """One marked stretch of a clip, in frames from its first."""

    start_frame: int
    frames: int
    name: str
    comment: str


@dataclass(frozen=True, slots=True, kw_only=True)
class XmpFacts:
    """Metadata of one file; what is empty is not said.

    Attributes:
        shot_size: of the closed list of xmpDM:shotSize.
        camera_angle: of the closed list of xmpDM:cameraAngle.
        keywords: for dc:subject. description: for dc:description.
        scenes: IPTC Scene codes, six digits.
        numbers: name and value of each measurement, names as in XMP, cropLevel.
        markers: of a clip, with its rate.
    """

    shot_size: str = ""
    camera_angle: str = ""
    keywords: tuple[str, ...] = ()
    description: str = ""
    scenes: tuple[str, ...] = ()
    numbers: Mapping[str, str] = field(default_factory=dict)
    markers: tuple[XmpMarker, ...] = ()
    rate: Fraction = Fraction(24)
