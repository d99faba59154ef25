"""Clips: video files and numbered frames, decoded once from start to end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import Protocol, TypeAlias

import numpy as np
import numpy.typing as npt

from framecheck.media.clip_limits import DEFAULT_CLIP_LIMITS, ClipLimits
from framecheck.records.clips import ClipHeader
from framecheck.records.picture import Picture

__all__ = [
    "CLIP_SUFFIXES",
    "DEFAULT_CLIP_LIMITS",
    "Clip",
    "ClipFrame",
    "ClipLimits",
    "KeptFrame",
    "KeptPicture",
    "Small",
    "is_clip",
    "open_clip",
    "open_frames",
]

CLIP_SUFFIXES = frozenset(
    {
        ".mp4", ".m4v", ".mov", ".qt", ".3gp", ".3g2", ".f4v", ".mxf", ".mkv", ".webm", ".avi",
        ".divx", ".ts", ".mts", ".m2ts", ".m2t", ".mpg", ".mpeg", ".mpe", ".vob", ".m2v", ".mpv",
        ".wmv", ".asf", ".flv", ".ogv", ".dv", ".gxf", ".nut", ".ivf", ".y4m", ".h264", ".264",
        ".h265", ".265", ".hevc", ".mjpg", ".mjpeg",
    }
)  # fmt: skip

Small: TypeAlias = npt.NDArray[np.uint8]
"""(72, 128, 3) Y, U, V of a whole frame, upright; in Y black is 0 and white 255."""


class ClipFrame(Protocol):
    """One frame, until the next one is asked for.

    Attributes:
        index: number in the clip, from 0, in the order of presentation.
        time_s: when it is shown, from the first frame of the clip, exact.
        small: cheap, for comparing frames; made at the first look.
    """

    @property
    def index(self) -> int: ...  # noqa: D102
    @property
    def time_s(self) -> Fraction: ...  # noqa: D102
    @property
    def small(self) -> Small: ...  # noqa: D102

    def picture(self) -> Picture:
        """The frame upright, with square pixels, the long side at most the analysis size.

        It costs as much as decoding; `active` is the whole frame.

        Raises:
            CannotDecode: the frame is broken or of a kind that cannot be converted.
        """
        ...

    def keep(self) -> KeptFrame:
        """The frame for later, in at most 5 MB of memory.

        Raises:
            CannotDecode: as for `picture`.
        """
        ...


class KeptFrame(Protocol):
    """One frame that stays valid; see `ClipFrame` for what it has."""

    @property
    def index(self) -> int: ...  # noqa: D102
    @property
    def time_s(self) -> Fraction: ...  # noqa: D102

    def picture(self) -> Picture:
        """As that of `ClipFrame`; to be asked for once."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KeptPicture:
    """A frame kept as the picture that it gives."""

    index: int
    time_s: Fraction
    kept: Picture

    def picture(self) -> Picture:
        """The picture that was made when it was kept."""
        return self.kept


class Clip(Protocol):
    """An open clip, to be closed after use."""

    @property
    def header(self) -> ClipHeader:
        """What the clip says of itself."""
        ...

    @property
    def late_notes(self) -> tuple[str, ...]:
        """What came out while decoding; whole after the last frame."""
        ...

    def frames(self) -> Iterator[ClipFrame]:
        """All frames, once.

        Raises:
            CannotDecode: after the good frames, where decoding stops; `where` says which frame.
            OverLimit: larger, longer or slower than the limits.
        """
        ...

    def close(self) -> None:
        """Frees the decoder and the file."""
        ...

    def __enter__(self) -> Clip: ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None: ...


def is_clip(path: Path) -> bool:
    """True when the file has the suffix of a video."""
    return path.suffix.lower() in CLIP_SUFFIXES


def open_clip(path: Path, name: str, limits: ClipLimits = DEFAULT_CLIP_LIMITS) -> Clip:
    """The video file, its header read and its first frame decoded.

    Args:
        path: where it is. The kind is told by its content.
        name: for tables and messages.
        limits: what is refused.

    Raises:
        CannotOpen: not there, not readable, not a regular file, empty, or not a video.
        CannotDecode: not one frame can be decoded.
        OverLimit: larger, longer or slower than the limits.
    """
    from framecheck.media.video_clip import VideoClip

    return VideoClip(path, name, limits)


def open_frames(
    pattern: Path, name: str, rate: Fraction, limits: ClipLimits = DEFAULT_CLIP_LIMITS
) -> Clip:
    """Numbered pictures as one clip, the first one read.

    Args:
        pattern: a name with number signs where the number stands (`take-####.png`), or a folder
            whose pictures have one such name.
        name: for tables and messages.
        rate: frames a second.
        limits: what is refused.

    Raises:
        CannotOpen: there are no such pictures, or the first one is not a picture.
        CannotDecode: the first one is broken.
        OverLimit: larger or longer than the limits.
    """
    from framecheck.media.frames_clip import FramesClip

    return FramesClip(pattern, name, rate, limits)
