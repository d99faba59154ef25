"""Numbered pictures as a clip."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from types import TracebackType

import numpy as np

from framecheck.errors import CannotDecode, CannotOpen, MediaError, OverLimit
from framecheck.media.clip_limits import ClipLimits
from framecheck.media.clip_pixels import SMALL_HEIGHT_PX, SMALL_WIDTH_PX
from framecheck.media.clip_shape import Shape
from framecheck.media.clips import KeptPicture, Small
from framecheck.media.limits import Limits
from framecheck.media.names import shown_name
from framecheck.media.numbering import is_pattern, pattern_files, split_numbered
from framecheck.media.stills import read_still
from framecheck.records.clips import ClipHeader
from framecheck.records.picture import Picture
from framecheck.records.values import Box
from framecheck.units import format_timecode

_BITS = re.compile(r"([0-9]+) bit")  # what the reader of stills notes of deep pictures


class FramesClip:
    """A folder of numbered pictures. See `framecheck.media.clips.Clip`.

    The times follow the numbers, so that a missing picture leaves a gap.

    Attributes:
        header: what the first picture says, and the rate that was given.
    """

    def __init__(self, pattern: Path, name: str, rate: Fraction, limits: ClipLimits) -> None:
        self._name, self._rate, self._limits = name, rate, limits
        self._files = _files_of(pattern, name)
        self._still_limits = Limits(max_pixels=limits.max_pixels, max_side_px=limits.max_side_px)
        self._asked = False
        self._check_length()
        self._first = read_still(self._files[0][1], self._still_limits)
        self.header = self._header()

    @property
    def late_notes(self) -> tuple[str, ...]:
        """Nothing comes out late: the header has it all."""
        return ()

    def frames(self) -> Iterator[PictureFrame]:
        """All frames, once, in the order of their numbers."""
        if self._asked:
            raise ValueError("a clip is decoded once; open it again for another pass")
        self._asked = True
        first_number = self._files[0][0]
        for index, (number, path) in enumerate(self._files):
            time_s = (number - first_number) / self._rate
            picture = self._first if index == 0 else self._read(path, index, number)
            yield PictureFrame(picture, index, time_s, self._name, self._limits.analysis_px)

    def close(self) -> None:
        """Nothing is held open."""

    def __enter__(self) -> FramesClip:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def _check_length(self) -> None:
        limits, count = self._limits, len(self._files)
        span = self._files[-1][0] - self._files[0][0] + 1
        if count > limits.max_frames or span / self._rate > limits.max_duration_s:
            raise OverLimit(
                f"{self._name} has {count} frames over {float(span / self._rate):.0f} s, more than "
                f"the limit of {limits.max_frames} frames or {limits.max_duration_s} s; split it, "
                "or raise max_frames or max_duration_s",
                where=self._name,
            )

    def _header(self) -> ClipHeader:
        height, width = self._first.rgb.shape[:2]
        numbers = [number for number, _path in self._files]
        missing = numbers[-1] - numbers[0] + 1 - len(numbers)
        bits = [int(match[1]) for note in self._first.notes if (match := _BITS.match(note))]
        suffix = self._files[0][1].suffix.lower().removeprefix(".")
        return ClipHeader(
            file=self._name,
            width_px=width,
            height_px=height,
            coded_width_px=width,
            coded_height_px=height,
            pixel_aspect=Fraction(1),
            rotation_deg=0,
            rate=self._rate,
            variable_rate=False,
            start_timecode="",
            drop_frame=False,
            duration_s=(numbers[-1] - numbers[0] + 1) / self._rate,
            codec=suffix,
            bits=max(bits, default=8),
            interlaced=False,
            notes=(*self._first.notes, *((f"{missing} numbers are missing",) if missing else ())),
        )

    def _read(self, path: Path, index: int, number: int) -> Picture:
        where = self._where(index, number)
        try:
            picture = read_still(path, self._still_limits)
        except OverLimit as error:
            raise OverLimit(f"{self._name} stops at {where}: {error}", where=where) from error
        except MediaError as error:
            raise CannotDecode(f"{self._name} stops at {where}: {error}", where=where) from error
        if picture.rgb.shape != self._first.rgb.shape:
            height, width = picture.rgb.shape[:2]
            raise CannotDecode(
                f"{self._name} stops at {where}: {shown_name(path.name)} has {width} x {height} "
                "pixels, the first one has another size; measure them as stills",
                where=where,
            )
        return picture

    def _where(self, index: int, number: int) -> str:
        timecode = format_timecode(number - self._files[0][0], self._rate, drop=False)
        return f"frame {index} ({timecode})"


class PictureFrame:
    """One picture of many. See `framecheck.media.clips.ClipFrame`."""

    __slots__ = ("_analysis_px", "_name", "_picture", "_small", "index", "time_s")

    def __init__(
        self, picture: Picture, index: int, time_s: Fraction, name: str, analysis_px: int
    ) -> None:
        self.index, self.time_s = index, time_s
        self._picture, self._name, self._analysis_px = picture, name, analysis_px
        self._small: Small | None = None

    @property
    def small(self) -> Small:
        """(72, 128, 3) Y, U, V, made at the first look."""
        import cv2

        if self._small is None:
            reduced = cv2.resize(
                self._picture.rgb,
                (SMALL_WIDTH_PX, SMALL_HEIGHT_PX),
                interpolation=cv2.INTER_AREA,
            )
            y_cr_cb = cv2.cvtColor(reduced, cv2.COLOR_RGB2YCrCb)
            self._small = np.ascontiguousarray(y_cr_cb[:, :, [0, 2, 1]])
        return self._small

    def picture(self) -> Picture:
        """The frame as it is measured."""
        import cv2

        rgb = self._picture.rgb
        height, width = rgb.shape[:2]
        wanted_wh = Shape().square_wh((width, height), self._analysis_px)
        if wanted_wh == (width, height):
            rgb = rgb.copy()
        else:
            rgb = cv2.resize(rgb, wanted_wh, interpolation=cv2.INTER_AREA)
        return Picture(
            rgb=rgb,
            active=Box(x_px=0, y_px=0, w_px=wanted_wh[0], h_px=wanted_wh[1]),
            name=self._name,
            notes=self._picture.notes,
        )

    def keep(self) -> KeptPicture:
        """The frame for later, scaled down at once."""
        return KeptPicture(index=self.index, time_s=self.time_s, kept=self.picture())


def _files_of(pattern: Path, name: str) -> tuple[tuple[int, Path], ...]:
    try:
        if is_pattern(pattern) and not pattern.is_dir():
            files = pattern_files(pattern)
        else:
            files = _only_pattern(pattern, name)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise CannotOpen(
            f"{name} cannot be looked at: {reason}; check the path", where=name
        ) from error
    if not files:
        raise CannotOpen(f"{name} names no numbered pictures; check the path", where=name)
    return files


def _only_pattern(folder: Path, name: str) -> tuple[tuple[int, Path], ...]:
    visible = sorted(path for path in folder.iterdir() if not path.name.startswith("."))
    patterns, _rest = split_numbered(visible)
    if len(patterns) > 1:
        first, second = list(patterns)[:2]
        raise CannotOpen(
            f"{name} has several rows of numbered pictures ({shown_name(first.name)}, "
            f"{shown_name(second.name)}); name one of them",
            where=name,
        )
    return pattern_files(next(iter(patterns))) if patterns else ()
