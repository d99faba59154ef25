"""Reads stills that nobody vouches for into upright 8-bit RGB pictures."""

from __future__ import annotations

import logging
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from framecheck.errors import CannotDecode, CannotOpen, FramecheckError, OverLimit
from framecheck.media.arrays import (
    AnyArray,
    Pixels,
    eight_bits_of_16,
    eight_bits_of_numbers,
    to_rgb,
)
from framecheck.media.bars import find_active_picture
from framecheck.media.files import read_bytes
from framecheck.media.headers import READABLE, kind_of, open_header, tiff_size_wh, webp_size_wh
from framecheck.media.limits import DEFAULT_LIMITS, SMALLEST_SIDE_PX, Limits
from framecheck.media.names import shown_name
from framecheck.records.picture import Picture

if TYPE_CHECKING:
    from PIL import Image, ImageFile

LOG = logging.getLogger(__name__)
ORIENTATION = 0x0112  # EXIF tag
TIFF_BITS, TILE_WIDTH, TILE_LENGTH = 258, 322, 323  # TIFF tags
DARK = 16  # of 255: an 8-bit reading of 12 bits in a 16-bit file is never brighter


def read_still(path: Path, limits: Limits = DEFAULT_LIMITS) -> Picture:
    """The picture in the file, upright, with its black bars found.

    Args:
        path: JPEG, PNG, TIFF (also 16 bit and float), WebP or BMP, told by content, not suffix.
            Of several pages or frames the first is taken.
        limits: what is refused from the header, before anything is decoded.

    Raises:
        CannotOpen: not there, not readable, not a regular file, empty, or not a picture.
        OverLimit: larger than the limits, or than the memory.
        CannotDecode: broken, cut off, of an unsupported kind, or smaller than 16 pixels.
    """
    name = shown_name(path)
    data = read_bytes(path, limits.max_file_bytes)
    kind = kind_of(data)
    if not kind:
        raise CannotOpen(f"{name} is not a picture that can be read ({READABLE})", where=name)
    with _translated(name, "its header", len(data)):
        reader = _open_checked(data, kind, limits, name)
    with _translated(name, "its picture data", len(data)):
        pixels, notes = _decode(reader, data, kind) if reader else _decode_unusual(data)
        rgb, more = to_rgb(pixels)
    return Picture(rgb=rgb, active=find_active_picture(rgb), name=name, notes=(*notes, *more))


def _open_checked(data: bytes, kind: str, limits: Limits, name: str) -> ImageFile.ImageFile | None:
    """The reader, its size allowed; None for a TIFF of a kind that only OpenCV decodes."""
    if kind == "WEBP":
        check_size(webp_size_wh(data), limits, name)
    try:
        reader = open_header(data, kind)
    except SyntaxError:
        if kind != "TIFF":
            raise
        check_size(tiff_size_wh(data), limits, name)
        return None
    _check_header(reader, limits, name)
    return reader


def check_size(size_wh: tuple[int, int], limits: Limits, name: str) -> None:
    """Refuses what is too large or too small, by what the header says.

    Raises:
        OverLimit: too large.
        CannotDecode: smaller than 16 pixels.
    """
    width, height = size_wh
    if max(size_wh) > limits.max_side_px or width * height > limits.max_pixels:
        raise OverLimit(
            f"{name} says it has {width} x {height} pixels, more than the limit of "
            f"{limits.max_pixels / 1e6:g} megapixels and {limits.max_side_px} a side; "
            "save a smaller copy or raise max_pixels",
            where=name,
        )
    if min(size_wh) < SMALLEST_SIDE_PX:
        raise CannotDecode(
            f"{name} has {width} x {height} pixels; smaller than {SMALLEST_SIDE_PX} px "
            "nothing can be measured",
            where=name,
        )


def _check_header(reader: ImageFile.ImageFile, limits: Limits, name: str) -> None:
    check_size(reader.size, limits, name)
    tags = getattr(reader, "tag_v2", {})
    tile = int(tags.get(TILE_WIDTH, 0)) * int(tags.get(TILE_LENGTH, 0))
    if tile > limits.max_pixels:  # a small picture can ask for one huge tile
        raise OverLimit(f"{name} is built of tiles above the limit; save it again", where=name)


@contextmanager
def _translated(name: str, part: str, size_bytes: int) -> Iterator[None]:
    """Parsers fail on broken bytes in every way there is; here they all become one error."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # what they warn of either fails or does not matter
            yield
    except FramecheckError:
        raise
    except MemoryError as error:
        raise OverLimit(
            f"{name} needs more memory than there is; save a smaller copy", where=name
        ) from error
    except Exception as error:
        reason = " ".join(str(error).split()) or type(error).__name__
        if "truncated" in reason.lower():  # Pillow counts what its decoder has left, not the file
            reason = f"the file ends too early, after {size_bytes} bytes"
        raise CannotDecode(
            f"{name} is broken or cut off in {part} ({reason[:200]}); copy or export it again",
            where=name,
        ) from error


def _decode(reader: ImageFile.ImageFile, data: bytes, kind: str) -> tuple[Pixels, tuple[str, ...]]:
    """Pixels of one to four channels, upright, with notes."""
    deep = _is_deep(reader, data, kind)
    # both decoders turn a TIFF themselves and drop the mark, so it is looked at before and after
    before = _orientation(reader) if kind == "TIFF" else None
    reader.load()
    turn, notes = _orientation(reader)
    if (before or (turn,))[0] != 1:
        notes = (*notes, "turned upright by its orientation mark")
    pixels, more = _pixels_of(reader)
    if deep and pixels.max() <= DARK:
        # colours in 16 bit lose the lower half in Pillow, which is all there is in such a file
        pixels, more = _deep_pixels(data) or (pixels, more)
    elif deep and not more:
        more = ("16 bit reduced to 8",)
    return _upright(pixels, turn), (*notes, *more, *_pages(reader, kind))


def _orientation(reader: ImageFile.ImageFile) -> tuple[int, tuple[str, ...]]:
    try:
        turn = reader.getexif().get(ORIENTATION, 1)
    except Exception as error:
        LOG.debug("broken EXIF: %s", error)
        return 1, ("its EXIF block is broken, so it was not turned",)
    return (turn, ()) if turn in range(1, 9) else (1, ())


def _upright(pixels: Pixels, turn: int) -> Pixels:
    """Undoes the eight orientations of EXIF; 1 is upright."""
    if turn in {5, 6, 7, 8}:
        pixels = pixels.swapaxes(0, 1)
    if turn in {2, 3, 6, 7}:
        pixels = pixels[:, ::-1]
    if turn in {3, 4, 7, 8}:
        pixels = pixels[::-1]
    return np.ascontiguousarray(pixels)


def _is_deep(reader: ImageFile.ImageFile, data: bytes, kind: str) -> bool:
    """True for 16 bits a channel in colour, which Pillow reads as 8."""
    if reader.mode not in {"RGB", "RGBA", "LA"}:
        return False
    if kind == "TIFF":
        return bool(max(getattr(reader, "tag_v2", {}).get(TIFF_BITS, (8,))) > 8)
    return kind == "PNG" and data[24:25] == b"\x10"


def _pages(reader: ImageFile.ImageFile, kind: str) -> tuple[str, ...]:
    try:
        if kind in {"WEBP", "PNG"}:
            return ("first frame of an animation",) if getattr(reader, "n_frames", 1) > 1 else ()
        if kind == "TIFF":
            reader.seek(1)  # cheaper than counting: a hostile file can hold millions
            return ("first of several pages",)
    except Exception as error:  # the first page is fine, whatever the next one is
        LOG.debug("no further page: %s", error)
    return ()


def _pixels_of(image: Image.Image) -> tuple[Pixels, tuple[str, ...]]:
    """8-bit pixels of one to four channels out of any of Pillow's modes."""
    mode = image.mode
    if mode.startswith("I;16"):
        wide = np.asarray(image).astype(np.uint16, copy=False)
        pixels, note = eight_bits_of_16(wide)
        return pixels, (note,)
    if mode in {"I", "F"}:
        pixels, note = eight_bits_of_numbers(np.asarray(image))
        return pixels, (note,)
    target, note = _target_mode(image)
    converted = image if mode == target else image.convert(target)
    return np.asarray(converted), (note,) if note else ()


def _target_mode(image: Image.Image) -> tuple[str, str]:
    """The plain mode to convert to, and a note."""
    if image.mode == "CMYK":
        return "RGB", "CMYK converted without a colour profile"
    if image.has_transparency_data:
        return ("LA" if image.mode in {"L", "LA", "La", "1"} else "RGBA"), ""
    if image.mode in {"1", "L"}:
        return "L", ""
    if image.mode in {"RGB", "RGBA", "P", "YCbCr"}:
        return "RGB", ""
    raise ValueError(f"colours of the kind {image.mode} are not supported")


def _deep_pixels(data: bytes) -> tuple[Pixels, tuple[str, ...]] | None:
    """The same pixels through OpenCV, which keeps 16 bits and reads floats in colour."""
    decoded = _decode_with_opencv(data)
    if decoded is None:
        return None
    if decoded.dtype == np.uint16:
        pixels, note = eight_bits_of_16(decoded)
    elif decoded.dtype == np.uint8:
        pixels, note = decoded, ""
    else:
        pixels, note = eight_bits_of_numbers(decoded)
    if pixels.ndim == 3 and pixels.shape[2] in {3, 4}:
        pixels = pixels[..., [2, 1, 0, 3][: pixels.shape[2]]]  # OpenCV has blue first
    return pixels, (note,) if note else ()


def _decode_unusual(data: bytes) -> tuple[Pixels, tuple[str, ...]]:
    found = _deep_pixels(data)
    if found is None:
        raise ValueError("its kind of pixels is not supported")
    return found


def _decode_with_opencv(data: bytes) -> AnyArray | None:
    import cv2

    try:
        return cv2.imdecode(np.frombuffer(data, np.uint8), cv2.IMREAD_UNCHANGED)
    except cv2.error as error:
        LOG.debug("OpenCV cannot decode it either: %s", error)
        return None
