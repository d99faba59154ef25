"""Tells the kind of a picture and its size from its first bytes, before anything is decoded."""

from __future__ import annotations

import io
import struct
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL import ImageFile

READABLE = "JPEG, PNG, TIFF, WebP or BMP"
_TIFF_MARKS = (b"II*\0", b"MM\0*", b"II+\0", b"MM\0+")  # the last two are the 64-bit kind


def kind_of(data: bytes) -> str:
    """JPEG, PNG, TIFF, WEBP or BMP; empty when it is none of them."""
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "WEBP"
    marks = {b"\xff\xd8\xff": "JPEG", b"\x89PNG\r\n\x1a\n": "PNG", b"BM": "BMP"}
    marks |= dict.fromkeys(_TIFF_MARKS, "TIFF")
    return next((kind for mark, kind in marks.items() if data.startswith(mark)), "")


def webp_size_wh(data: bytes) -> tuple[int, int]:
    """Width and height of a WebP; its decoder takes memory for them as soon as it is made.

    Raises:
        ValueError: the header is cut off or of no known kind.
    """
    try:
        if data[12:16] == b"VP8X":
            low_w, high_w, low_h, high_h = struct.unpack_from("<HBHB", data, 24)
            return (low_w | high_w << 16) + 1, (low_h | high_h << 16) + 1
        if data[12:16] == b"VP8L":
            (bits,) = struct.unpack_from("<I", data, 21)
            return (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
        if data[12:16] == b"VP8 ":
            width, height = struct.unpack_from("<HH", data, 26)
            return width & 0x3FFF, height & 0x3FFF
    except struct.error as error:
        raise ValueError("the header is cut off") from error
    raise ValueError("no known kind of WebP")


def tiff_size_wh(data: bytes) -> tuple[int, int]:
    """Width and height of the first page of a TIFF, also of a kind that Pillow does not decode.

    Raises:
        Exception: of any kind, as parsers do on broken bytes.
    """
    from PIL import TiffImagePlugin

    large = data[2:3] == b"+" or data[3:4] == b"+"
    page = TiffImagePlugin.ImageFileDirectory_v2(data[: 16 if large else 8])
    source = io.BytesIO(data)
    source.seek(page.next)
    page.load(source)
    return int(page[256]), int(page[257])


def open_header(data: bytes, kind: str) -> ImageFile.ImageFile:
    """Pillow's reader for the kind, the header parsed and nothing decoded.

    The reader is made directly and not through `Image.open`, whose own limit on pixels is a
    global of Pillow, lower than ours, and not ours to change.

    Raises:
        Exception: of any kind, as parsers do on broken bytes.
    """
    from PIL import (
        BmpImagePlugin,
        JpegImagePlugin,
        PngImagePlugin,
        TiffImagePlugin,
        WebPImagePlugin,
    )

    readers: dict[str, type[ImageFile.ImageFile]] = {
        "JPEG": JpegImagePlugin.JpegImageFile,
        "PNG": PngImagePlugin.PngImageFile,
        "TIFF": TiffImagePlugin.TiffImageFile,
        "WEBP": WebPImagePlugin.WebPImageFile,
        "BMP": BmpImagePlugin.BmpImageFile,
    }
    return readers[kind](io.BytesIO(data))
