"""Opens a video file that nobody vouches for, and nothing but that file.

FFmpeg gets an open descriptor and no name, and of all its ways to reach data only the one that
reads descriptors. So a playlist inside the file can open neither an address nor another file, and
a file name that looks like an address is never read as one. Playlists are refused besides, as are
all containers that no camera or editor writes.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from framecheck.errors import CannotDecode, CannotOpen, FramecheckError, OverLimit
from framecheck.media.address import RemotePath
from framecheck.media.clip_limits import ClipLimits
from framecheck.media.files import open_regular
from framecheck.media.limits import SMALLEST_SIDE_PX

if TYPE_CHECKING:
    from av.container import InputContainer
    from av.video.stream import VideoStream

CONTAINERS = (
    "mov", "matroska", "avi", "mxf", "mpegts", "mpeg", "mpegvideo", "asf", "flv", "ogg", "dv",
    "gxf", "nut", "ivf", "yuv4mpegpipe", "h264", "hevc", "m4v", "obu", "mjpeg", "dnxhd", "vc1",
)  # fmt: skip
"""Names of FFmpeg's readers that may look at the file; none of them opens a second one."""
KNOWN_KINDS = "MP4, MOV, MXF, MKV, WebM, AVI, TS, MPEG and the like"
_REMOTE_BUFFER_BYTES = 256 * 1024  # asked for at once; it is there mostly, read ahead
GEN_PTS = 0x1  # FFmpeg's flag, which PyAV sets; invents stamps, wrongly where frames are reordered


def open_container(path: Path, name: str, limits: ClipLimits) -> InputContainer:
    """The container, its header read; the caller closes it.

    Raises:
        CannotOpen: not there, not readable, not a regular file, empty, or not a video.
        OverLimit: reading the header took too long.
    """
    import av

    if isinstance(path, RemotePath):
        return _open_remote(path, name, limits)
    descriptor = open_regular(path, name, "a clip")
    try:
        if os.fstat(descriptor).st_size == 0:
            raise CannotOpen(f"{name} is empty (0 bytes); copy it again", where=name)
        with _translated(name, limits):
            container = av.open(
                "fd:",
                options=_options(descriptor, limits),
                metadata_errors="replace",
                timeout=limits.max_silence_s,
            )
    finally:
        os.close(descriptor)  # FFmpeg has its own copy by now
    container.flags &= ~GEN_PTS
    return container


def _open_remote(path: RemotePath, name: str, limits: ClipLimits) -> InputContainer:
    """FFmpeg asks us for bytes, and has no way of its own to any others."""
    import av

    from framecheck.media.remote import open_remote

    try:
        reader = open_remote(path)
    except OSError as error:
        raise CannotOpen(f"{name} cannot be read: {error}", where=name) from error
    if reader.size_bytes == 0:
        reader.close()
        raise CannotOpen(f"{name} is empty (0 bytes); copy it again", where=name)
    try:
        with _translated(name, limits):
            container = av.open(
                reader,
                "r",
                options=_options(None, limits),
                metadata_errors="replace",
                timeout=limits.max_silence_s,
                buffer_size=_REMOTE_BUFFER_BYTES,
            )
    except BaseException:
        reader.close()
        raise
    container.flags &= ~GEN_PTS
    return container


def _options(descriptor: int | None, limits: ClipLimits) -> dict[str, str]:
    ways = {"protocol_whitelist": "none"} if descriptor is None else {
        "fd": str(descriptor), "protocol_whitelist": "fd",
    }  # fmt: skip
    return {
        **ways,
        "format_whitelist": ",".join(CONTAINERS),
        "max_pixels": str(limits.max_pixels),  # for the decoder that looks at the first frames
        "threads": "1",
    }


@contextmanager
def _translated(name: str, limits: ClipLimits) -> Iterator[None]:
    import av

    try:
        yield
    except FramecheckError:
        raise
    except av.error.ExitError as error:
        raise too_slow(name, limits, "its header") from error
    except MemoryError as error:
        raise OverLimit(
            f"{name} needs more memory than there is; copy or export it again", where=name
        ) from error
    except Exception as error:
        raise CannotOpen(
            f"{name} is not a clip that can be read ({KNOWN_KINDS}), or it is cut off before its "
            f"index ({reason_of(error)}); copy or export it again",
            where=name,
        ) from error


def find_video(container: InputContainer, name: str, limits: ClipLimits) -> VideoStream:
    """The stream to decode: the default one, of several the largest; never cover art.

    Raises:
        CannotOpen: there is none.
        CannotDecode: there is no decoder for it, or it is smaller than 16 pixels.
        OverLimit: its frames have too many pixels.
    """
    from av.stream import Disposition

    not_moving = Disposition.attached_pic | Disposition.timed_thumbnails | Disposition.still_image
    streams = [each for each in container.streams.video if not each.disposition & not_moving]
    if not streams:
        raise CannotOpen(f"{name} holds no moving pictures; name a clip", where=name)
    known = [each for each in streams if each.codec_context is not None]
    if not known:
        raise CannotDecode(
            f"{name} is coded in a way that FFmpeg cannot decode; export it in another coding",
            where=name,
        )
    best = max(
        known,
        key=lambda each: (bool(each.disposition & Disposition.default), each.width * each.height),
    )
    check_frame_size((best.width, best.height), limits, name)
    return best


def check_frame_size(size_wh: tuple[int, int], limits: ClipLimits, name: str) -> None:
    """Refuses frames that are too large or too small.

    Raises:
        OverLimit: too large.
        CannotDecode: smaller than 16 pixels.
    """
    width, height = size_wh
    if max(size_wh) > limits.max_side_px or width * height > limits.max_pixels:
        raise OverLimit(
            f"{name} has frames of {width} x {height} pixels, more than the limit of "
            f"{limits.max_pixels / 1e6:g} megapixels and {limits.max_side_px} a side; "
            "export it smaller or raise max_pixels",
            where=name,
        )
    if min(size_wh) < SMALLEST_SIDE_PX:
        raise CannotDecode(
            f"{name} has frames of {width} x {height} pixels; smaller than {SMALLEST_SIDE_PX} px "
            "nothing can be measured",
            where=name,
        )


def check_duration(duration_s: Fraction | None, limits: ClipLimits, name: str) -> None:
    """Refuses clips that say they are too long.

    Raises:
        OverLimit: longer than the limit.
    """
    if duration_s is not None and duration_s > limits.max_duration_s:
        raise OverLimit(
            f"{name} says it lasts {float(duration_s):.0f} s, more than the limit of "
            f"{limits.max_duration_s} s; cut it or raise max_duration_s",
            where=name,
        )


def too_slow(name: str, limits: ClipLimits, part: str) -> OverLimit:
    """The error for a decoder that gives nothing."""
    return OverLimit(
        f"{name} gave nothing for {limits.max_silence_s:g} s in {part}; "
        "copy or export it again, or raise max_silence_s",
        where=name,
    )


def reason_of(error: Exception) -> str:
    """What FFmpeg said, short."""
    words = getattr(error, "strerror", None) or str(error) or type(error).__name__
    return " ".join(str(words).split())[:200].rstrip(".")
