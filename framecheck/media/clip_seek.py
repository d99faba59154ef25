"""Single frames out of a video file, by jumping to them where that is safe.

A jump lands on a key frame before the place, and decoding goes on from there; the frame is taken
only when its own stamp says that it is the one. Where stamps are missing or jump, or a frame is not
met where it should be, the clip is decoded from its start instead.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import closing
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
import numpy.typing as npt

from framecheck.errors import FramecheckError
from framecheck.media.clip_container import find_video, open_container
from framecheck.media.clip_header import read_header, spacing_of, stamps_may_jump
from framecheck.media.clip_limits import DEFAULT_CLIP_LIMITS, ClipLimits
from framecheck.media.clip_pixels import PixelMaker
from framecheck.media.clips import open_clip

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.video.frame import VideoFrame
    from av.video.stream import VideoStream

Pixels: TypeAlias = npt.NDArray[np.uint8]

SPARSE_FRAMES = 250
"""Frames between two wanted ones from which on jumping is quicker: about a group of pictures or two
are decoded for each. On groups of 250 frames 25 jumps cost three times a whole pass."""
_FARTHEST_FRAMES = 600  # decoded after a jump before it is given up


def read_frames_at(
    path: Path, wanted: Mapping[int, float], limits: ClipLimits = DEFAULT_CLIP_LIMITS
) -> dict[int, Pixels]:
    """The frames of those numbers as (height, width, 3) pictures; those that fail are left out.

    Args:
        path: of the video.
        wanted: when each frame is shown, seconds from the first frame, by its number from 0.
        limits: what is refused.

    Raises:
        MediaError: the file cannot be opened as a video.
    """
    if not wanted:
        return {}
    last = max(wanted)
    if last / len(wanted) >= SPARSE_FRAMES:
        found = _jump(path, wanted, limits)
        if found is not None:
            return found
    return _decode(path, set(wanted), limits)


def _decode(path: Path, wanted: set[int], limits: ClipLimits) -> dict[int, Pixels]:
    found: dict[int, Pixels] = {}
    last = max(wanted)
    with open_clip(path, path.name, limits) as clip:
        try:
            for frame in clip.frames():
                if frame.index in wanted:
                    found[frame.index] = np.asarray(frame.picture().rgb, dtype=np.uint8)
                if frame.index >= last:
                    break
        except FramecheckError:  # broken behind what was measured
            return found
    return found


def _jump(path: Path, wanted: Mapping[int, float], limits: ClipLimits) -> dict[int, Pixels] | None:
    """The frames, None where jumping is not safe."""
    import av

    with closing(open_container(path, path.name, limits)) as container:
        stream = find_video(container, path.name, limits)
        if stamps_may_jump(container) or stream.time_base is None:
            return None
        try:
            return _jump_to_all(container, stream, (path.name, limits), wanted)
        except (av.FFmpegError, FramecheckError, ValueError, ArithmeticError):
            return None


def _jump_to_all(
    container: InputContainer,
    stream: VideoStream,
    known: tuple[str, ClipLimits],
    wanted: Mapping[int, float],
) -> dict[int, Pixels] | None:
    from framecheck.media.video_clip import VideoClipFrame

    name, limits = known
    first = next(container.decode(stream), None)
    if first is None or first.pts is None or first.is_corrupt:
        return None
    header, shape = read_header(name, container, stream, first, spacing_of(stream, ()))
    pixels = PixelMaker(shape, limits.analysis_px)
    found: dict[int, Pixels] = {}
    for index in sorted(wanted):
        frame = _frame_at(container, stream, first.pts, (wanted[index], header.rate))
        if frame is None:
            return None
        shown = VideoClipFrame(frame, index, Fraction(0), header, pixels)
        found[index] = np.asarray(shown.picture().rgb, dtype=np.uint8)
    return found


def _frame_at(
    container: InputContainer, stream: VideoStream, first: int, place: tuple[float, Fraction]
) -> VideoFrame | None:
    """The frame whose stamp is nearest to the time, to a quarter of a frame; None for none."""
    time_s, rate = place
    tick = stream.time_base or Fraction(1)
    stamp = first + round(Fraction(time_s).limit_denominator(1_000_000) / tick)
    slack = Fraction(1, 4) / rate / tick
    container.seek(max(0, stamp), stream=stream, backward=True)
    for frame in _some(container.decode(stream)):
        if frame.pts is None or frame.is_corrupt:
            return None
        if frame.pts >= stamp - slack:
            return frame if frame.pts <= stamp + slack else None
    return None


def _some(frames: Iterator[VideoFrame]) -> Iterator[VideoFrame]:
    for _, frame in zip(range(_FARTHEST_FRAMES), frames, strict=False):
        yield frame
