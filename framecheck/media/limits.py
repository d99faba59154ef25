"""How large an input may be."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """What is refused before anything is decoded.

    Attributes:
        max_file_bytes: size of the file.
        max_pixels: width times height.
        max_side_px: either side.
    """

    max_file_bytes: int = 500_000_000
    max_pixels: int = 300_000_000
    max_side_px: int = 65_500

    def __post_init__(self) -> None:
        for name in ("max_file_bytes", "max_pixels", "max_side_px"):
            if getattr(self, name) < 1:
                raise ValueError(f"{name} must be at least 1, got {getattr(self, name)}")


SMALLEST_SIDE_PX = 16
"""Nobody can be measured in less."""
DEFAULT_LIMITS = Limits()
