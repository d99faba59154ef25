"""How large, how long and how slow a clip may be."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class ClipLimits:
    """What is refused of a clip, and how its frames are handed out.

    Attributes:
        max_pixels: width times height of a coded frame.
        max_side_px: either side of it.
        max_duration_s: longest clip.
        max_frames: most frames in a clip.
        max_silence_s: longest time in which the decoder may work without giving a frame. It is
            looked at between packets; a decoder that never comes back is for the caller to kill.
        analysis_px: long side of the pictures at most; 0 leaves them as large as they are.
        threads: of the decoder. Sound clips come out the same whatever the number.
    """

    max_pixels: int = 134_217_728  # 16,384 x 8,192
    max_side_px: int = 32_768
    max_duration_s: int = 24 * 3600
    max_frames: int = 10_400_000  # 24 hours at 120 a second
    max_silence_s: float = 60.0
    analysis_px: int = 1280
    threads: int = 1

    def __post_init__(self) -> None:
        for name in self.__dataclass_fields__:
            least = 0 if name == "analysis_px" else 1
            if not getattr(self, name) >= least:
                raise ValueError(f"{name} must be at least {least}, got {getattr(self, name)}")


DEFAULT_CLIP_LIMITS = ClipLimits()
