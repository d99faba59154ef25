"""A video file as a clip."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from fractions import Fraction
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING

from framecheck.errors import CannotDecode, OverLimit
from framecheck.media.clip_container import (
    check_duration,
    check_frame_size,
    find_video,
    open_container,
    reason_of,
)
from framecheck.media.clip_decoder import Decoder
from framecheck.media.clip_fields import shows_two_moments
from framecheck.media.clip_header import (
    duration_of,
    missing_s,
    read_header,
    spacing_of,
    stamps_in_decoding_order,
    stamps_may_jump,
    tick_of,
)
from framecheck.media.clip_limits import ClipLimits
from framecheck.media.clip_pixels import PixelMaker
from framecheck.media.clip_times import ClipClock
from framecheck.media.clips import KeptFrame, KeptPicture, Small
from framecheck.records.clips import ClipHeader
from framecheck.records.picture import Picture
from framecheck.records.values import Box
from framecheck.units import frame_at, timecode_after

if TYPE_CHECKING:
    from av.video.frame import VideoFrame

MOST_KEPT_BYTES = 5_000_000
"""Frames that take less are kept as they were decoded: 1920 x 1080 of 8 bit take 3.1 MB."""


class VideoClip:
    """An open video file. See `framecheck.media.clips.Clip`.

    Attributes:
        header: what the clip says of itself.
    """

    def __init__(self, path: Path, name: str, limits: ClipLimits) -> None:
        self._name, self._limits = name, limits
        self._asked = self._closed = False
        with ExitStack() as closing:
            self._container = closing.enter_context(open_container(path, name, limits))
            self._stream = find_video(self._container, name, limits)
            check_duration(duration_of(self._container, self._stream), limits, name)
            self._decoder = Decoder(self._container, self._stream, name, limits)
            closing.callback(self._decoder.close)
            packets = self._decoder.peek()
            spacing = spacing_of(self._stream, packets)
            self._clock = ClipClock(
                spacing,
                tick_of(self._stream),
                by_packet=stamps_in_decoding_order(self._stream, packets),
                may_jump=stamps_may_jump(self._container),
            )
            self._decoded = self._decoder.frames(self._clock)
            self._first = self._first_frame()
            self.header, shape = read_header(
                name, self._container, self._stream, self._first, spacing
            )
            self._pixels = PixelMaker(shape, limits.analysis_px)
            self._closing = closing.pop_all()
        self._size_wh = (self._first.width, self._first.height)
        self._count = 0
        self._time_s = Fraction(0)
        self._broken = 0
        self._late_notes: tuple[str, ...] = ()

    @property
    def late_notes(self) -> tuple[str, ...]:
        """What came out while decoding."""
        return self._late_notes

    def frames(self) -> Iterator[VideoClipFrame]:
        """All frames, once, in the order of presentation."""
        if self._asked:
            raise ValueError("a clip is decoded once; open it again for another pass")
        self._asked = True
        held: VideoFrame | None = None  # a broken frame counts only when others follow it
        for frame in self._all():
            if held is not None:
                yield self._next(held)
                held = None
            if frame.is_corrupt:
                self._broken += 1
                held = frame
            else:
                yield self._next(frame)
        if self._closed:
            raise ValueError("the clip was closed before its last frame")
        self._end(cut=held is not None)

    def close(self) -> None:
        """Frees the decoder and the file."""
        self._closed = True
        self._closing.close()

    def __enter__(self) -> VideoClip:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _first_frame(self) -> VideoFrame:
        frame = next(self._decoded, None)
        if frame is None:
            reason = self._decoder.trouble or "there is none in it"
            raise CannotDecode(
                f"{self._name}: not one frame can be decoded ({reason}); copy or export it again",
                where=self._name,
            )
        check_frame_size((frame.width, frame.height), self._limits, self._name)
        return frame

    def _all(self) -> Iterator[VideoFrame]:
        yield self._first
        del self._first
        yield from self._decoded

    def _next(self, frame: VideoFrame) -> VideoClipFrame:
        self._check_size(frame)
        time_s = self._clock.time_s(frame.pts)
        self._check_length(time_s)
        made = VideoClipFrame(frame, self._count, time_s, self.header, self._pixels)
        self._count, self._time_s = self._count + 1, time_s
        return made

    def _check_size(self, frame: VideoFrame) -> None:
        size_wh = (frame.width, frame.height)
        if size_wh != self._size_wh:
            check_frame_size(size_wh, self._limits, self._name)
            self._size_wh = size_wh

    def _check_length(self, time_s: Fraction) -> None:
        limits = self._limits
        if time_s > limits.max_duration_s or self._count >= limits.max_frames:
            raise OverLimit(
                f"{self._name} goes on after {self._count} frames and {float(time_s):.0f} s, past "
                f"the limit of {limits.max_frames} frames or {limits.max_duration_s} s; cut it, or "
                "raise max_frames or max_duration_s",
                where=self._where(self._count, time_s),
            )

    def _end(self, *, cut: bool) -> None:
        """Notes what was met on the way.

        Raises:
            CannotDecode: the clip should go on, but does not.
        """
        self._note(cut=cut)
        rate = self.header.rate
        shown_s = self._clock.origin_s + self._time_s + 1 / rate
        end_s = max(self._decoder.end_s, shown_s)
        missing = missing_s(self._container, self._stream, end_s, rate)
        reason = self._decoder.trouble
        if not reason and missing:
            reason = f"the file ends {float(missing):.2f} s before the end that its header names"
        if reason or not self._count:
            where = self._where(self._count, self._time_s + (1 / rate if self._count else 0))
            raise CannotDecode(
                f"{self._name} stops at {where} ({reason or 'its only frame is broken'}); "
                "copy or export it again",
                where=where,
            )

    def _note(self, *, cut: bool) -> None:
        broken = self._broken - cut
        damaged = self._decoder.damaged - bool(self._decoder.trouble)
        notes = {
            "the last frame is cut off and left out": cut,
            f"{broken} frames are damaged": broken,
            f"{damaged} damaged places were passed over": damaged > 0,
            "some frames are missing or held longer than others": (
                self._clock.uneven and not self.header.variable_rate
            ),
        }
        self._late_notes = tuple(note for note, is_so in notes.items() if is_so)

    def _where(self, frame: int, time_s: Fraction) -> str:
        header = self.header
        number = frame_at(time_s, header.rate)
        timecode = timecode_after(
            header.start_timecode, number, header.rate, drop=header.drop_frame
        )
        return f"frame {frame} ({timecode})"


class VideoClipFrame:
    """One decoded frame. See `framecheck.media.clips.ClipFrame`."""

    __slots__ = ("_frame", "_header", "_pixels", "_small", "index", "time_s")

    def __init__(
        self,
        frame: VideoFrame,
        index: int,
        time_s: Fraction,
        header: ClipHeader,
        pixels: PixelMaker,
    ) -> None:
        self.index, self.time_s = index, time_s
        self._frame, self._header, self._pixels = frame, header, pixels
        self._small: Small | None = None

    @property
    def small(self) -> Small:
        """(72, 128, 3) Y, U, V, made at the first look."""
        if self._small is None:
            with _converting(self._header.file, self.index):
                self._small = self._pixels.small(self._frame)
        return self._small

    def picture(self) -> Picture:
        """The frame as it is measured."""
        with _converting(self._header.file, self.index):
            one_field = bool(self._frame.interlaced_frame) and shows_two_moments(self._frame)
            rgb = self._pixels.rgb(self._frame, one_field=one_field)
        height, width = rgb.shape[:2]
        notes = self._header.notes
        if one_field:
            notes = (*notes, "one of its two fields")
        return Picture(
            rgb=rgb,
            active=Box(x_px=0, y_px=0, w_px=width, h_px=height),
            name=self._header.file,
            notes=notes,
        )

    def keep(self) -> KeptFrame:
        """The frame for later: as decoded, which costs nothing, or scaled when it is large."""
        if sum(plane.buffer_size for plane in self._frame.planes) <= MOST_KEPT_BYTES:
            return self
        return KeptPicture(index=self.index, time_s=self.time_s, kept=self.picture())


@contextmanager
def _converting(name: str, index: int) -> Iterator[None]:
    try:
        yield
    except MemoryError as error:
        raise OverLimit(
            f"{name} needs more memory than there is; export it smaller", where=f"frame {index}"
        ) from error
    except Exception as error:  # FFmpeg's converters refuse some kinds, and broken frames
        raise CannotDecode(
            f"{name}: frame {index} cannot be converted ({reason_of(error)}); "
            "export it in another coding",
            where=f"frame {index}",
        ) from error
