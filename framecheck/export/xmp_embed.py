"""XMP inside of stills (ISO 16684-3): JPEG, PNG, TIFF and WebP, as bytes in and bytes out.

Only the packet changes. The coded picture is carried over byte by byte; nothing is decoded here.
"""

from __future__ import annotations

import struct
import zlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass

from framecheck.errors import ExportError

_JPEG_MARK = b"http://ns.adobe.com/xap/1.0/\0"
_JPEG_MORE = b"http://ns.adobe.com/xmp/extension/\0"
_EXIF_MARK = b"Exif\0\0"
_SEGMENT_MOST = 65_533
_PNG_START = b"\x89PNG\r\n\x1a\n"
_PNG_KEY = b"XML:com.adobe.xmp"
_MOST_PACKET = 10_000_000
_TIFF_XMP, _TIFF_BYTE = 700, 1
_TYPE_BYTES = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 6: 1, 7: 1, 8: 2, 9: 4, 10: 8, 11: 4, 12: 8, 13: 4}
_WEBP_XMP, _WEBP_ALPHA = 0x04, 0x10


@dataclass(frozen=True, slots=True, kw_only=True)
class Container:
    """One kind of file.

    Attributes:
        read: the packet inside, None when there is none.
        write: the file with another packet.
    """

    read: Callable[[bytes], bytes | None]
    write: Callable[[bytes, bytes], bytes]


def read_embedded(data: bytes, kind: str, where: str) -> bytes | None:
    """The packet inside a still, None when there is none.

    Raises:
        ExportError: this kind of file can hold none, or it is broken.
    """
    with _translated(kind, where) as container:
        return container.read(data)


def embed(data: bytes, kind: str, packet: bytes, where: str) -> bytes:
    """The still with that packet in place of the one that it may have.

    Raises:
        ExportError: this kind of file can hold none, it is broken, or the packet is too large.
    """
    with _translated(kind, where) as container:
        return container.write(data, packet)


class _translated:  # noqa: N801  # reads as a function
    """The container of a kind; whatever broken bytes do becomes one error."""

    def __init__(self, kind: str, where: str) -> None:
        self._kind, self._where = kind, where

    def __enter__(self) -> Container:
        if self._kind not in CONTAINERS:
            raise ExportError(
                f"{self._where} is of a kind that holds no XMP ({self._kind or 'unknown'}); leave "
                "--embed away, and it gets a sidecar",
                where=self._where,
            )
        return CONTAINERS[self._kind]

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        if isinstance(error, (ValueError, struct.error, IndexError, zlib.error)):
            raise ExportError(
                f"no XMP can be put into {self._where}: {error}; it was left as it is; leave "
                "--embed away, and it gets a sidecar",
                where=self._where,
            ) from error


def _segments(data: bytes) -> Iterator[tuple[int, int, int]]:
    """Marker, start and end of each segment before the coded picture."""
    if data[:2] != b"\xff\xd8":
        raise ValueError("it does not begin as a JPEG does")
    at = 2
    while True:
        while data[at : at + 2] == b"\xff\xff":  # fill bytes
            at += 1
        if data[at] != 0xFF:
            raise ValueError("a segment is missing")
        marker = data[at + 1]
        if marker in {0xDA, 0xD9}:
            return
        if marker == 0x01 or 0xD0 <= marker <= 0xD7:
            end = at + 2
        else:
            (length,) = struct.unpack(">H", data[at + 2 : at + 4])
            end = at + 2 + length
        if end > len(data) or end <= at:
            raise ValueError("a segment is cut off")
        yield marker, at, end
        at = end


def _is_jpeg_xmp(data: bytes, marker: int, start: int) -> bool:
    return marker == 0xE1 and data[start + 4 : start + 4 + len(_JPEG_MARK)] == _JPEG_MARK


def _read_jpeg(data: bytes) -> bytes | None:
    for marker, start, end in _segments(data):
        if _is_jpeg_xmp(data, marker, start):
            return data[start + 4 + len(_JPEG_MARK) : end]
    return None


def _write_jpeg(data: bytes, packet: bytes) -> bytes:
    payload = _JPEG_MARK + packet
    if len(payload) > _SEGMENT_MOST:
        raise ValueError(
            f"a JPEG holds {_SEGMENT_MOST} bytes of XMP, and this needs {len(payload)}"
        )
    made = b"\xff\xe1" + struct.pack(">H", len(payload) + 2) + payload
    parts, place, copied = [], 2, 0
    for marker, start, end in _segments(data):
        if marker == 0xE1 and data[start + 4 :].startswith(_JPEG_MORE):
            raise ValueError("its XMP goes on in further segments")
        if _is_jpeg_xmp(data, marker, start):
            parts.append(data[copied:start])
            copied = end
        elif marker == 0xE0 or (marker == 0xE1 and data[start + 4 :].startswith(_EXIF_MARK)):
            place = max(place, end)
    rest = b"".join([*parts, data[copied:]])
    removed = len(data) - len(rest)
    if removed and copied <= place:
        place -= removed
    return rest[:place] + made + rest[place:]


def _chunks(data: bytes) -> Iterator[tuple[bytes, int, int]]:
    if data[:8] != _PNG_START:
        raise ValueError("it does not begin as a PNG does")
    at = 8
    while at < len(data):
        length, kind = struct.unpack(">I4s", data[at : at + 8])
        end = at + 12 + length
        if end > len(data):
            raise ValueError("a chunk is cut off")
        yield kind, at, end
        at = end
        if kind == b"IEND":
            return


def _is_png_xmp(data: bytes, kind: bytes, start: int) -> bool:
    return kind == b"iTXt" and data[start + 8 :].startswith(_PNG_KEY + b"\0")


def _read_png(data: bytes) -> bytes | None:
    for kind, start, end in _chunks(data):
        if _is_png_xmp(data, kind, start):
            rest = data[start + 8 + len(_PNG_KEY) + 1 : end - 4]
            compressed, text = rest[0], rest[2:].split(b"\0", 2)[2]
            if not compressed:
                return text
            unpacked = zlib.decompressobj().decompress(text, _MOST_PACKET)
            if len(unpacked) >= _MOST_PACKET:
                raise ValueError("its XMP is larger than 10 MB")
            return unpacked
    return None


def _write_png(data: bytes, packet: bytes) -> bytes:
    body = b"iTXt" + _PNG_KEY + b"\0\0\0\0\0" + packet
    made = struct.pack(">I", len(body) - 4) + body + struct.pack(">I", zlib.crc32(body))
    parts, copied, last = [], 0, len(data)
    for kind, start, end in _chunks(data):
        if kind == b"IHDR":
            parts.append(data[:end] + made)
            copied = end
        elif _is_png_xmp(data, kind, start):
            parts.append(data[copied:start])
            copied = end
        last = end
    if not copied or last < copied:
        raise ValueError("it has no header")
    return b"".join(parts) + data[copied:]


def _riff(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    if data[:4] != b"RIFF" or data[8:12] != b"WEBP":
        raise ValueError("it does not begin as a WebP does")
    at, stop = 12, min(len(data), 8 + struct.unpack("<I", data[4:8])[0])
    while at + 8 <= stop:
        kind, length = struct.unpack("<4sI", data[at : at + 8])
        if at + 8 + length > len(data):
            raise ValueError("a chunk is cut off")
        yield kind, data[at + 8 : at + 8 + length]
        at += 8 + length + length % 2


def _read_webp(data: bytes) -> bytes | None:
    return next((body for kind, body in _riff(data) if kind == b"XMP "), None)


def _write_webp(data: bytes, packet: bytes) -> bytes:
    chunks = [(kind, body) for kind, body in _riff(data) if kind != b"XMP "]
    if not chunks:
        raise ValueError("it holds no picture")
    if chunks[0][0] != b"VP8X":
        chunks.insert(0, (b"VP8X", _extended_header(*chunks[0])))
    flags = chunks[0][1][0] | _WEBP_XMP
    chunks[0] = (b"VP8X", bytes([flags]) + chunks[0][1][1:])
    chunks.append((b"XMP ", packet))
    body = b"WEBP" + b"".join(
        kind + struct.pack("<I", len(content)) + content + b"\0" * (len(content) % 2)
        for kind, content in chunks
    )
    return b"RIFF" + struct.pack("<I", len(body)) + body


def _extended_header(kind: bytes, body: bytes) -> bytes:
    """The header that a plain WebP lacks: its size, and whether it has alpha."""
    alpha = 0
    if kind == b"VP8L":
        bits = int.from_bytes(body[1:5], "little")
        width, height = (bits & 0x3FFF) + 1, (bits >> 14 & 0x3FFF) + 1
        alpha = _WEBP_ALPHA if bits >> 28 & 1 else 0
    elif kind == b"VP8 ":
        width, height = (side & 0x3FFF for side in struct.unpack("<HH", body[6:10]))
    else:
        raise ValueError("its picture is of an unknown kind")
    sides = (width - 1).to_bytes(3, "little") + (height - 1).to_bytes(3, "little")
    return bytes([alpha, 0, 0, 0]) + sides


@dataclass(frozen=True, slots=True, kw_only=True)
class _Directory:
    """The first directory of a TIFF: byte order, its entries, and where the next one lies."""

    order: str
    entries: tuple[bytes, ...]
    next_at: int


def _directory(data: bytes) -> _Directory:
    order = {b"II*\0": "<", b"MM\0*": ">"}.get(data[:4])
    if order is None:
        raise ValueError("it is a TIFF of more than 4 GB, or none")
    (at,) = struct.unpack(f"{order}I", data[4:8])
    (count,) = struct.unpack(f"{order}H", data[at : at + 2])
    end = at + 2 + 12 * count
    entries = tuple(data[at + 2 + 12 * n : at + 14 + 12 * n] for n in range(count))
    (next_at,) = struct.unpack(f"{order}I", data[end : end + 4])
    return _Directory(order=order, entries=entries, next_at=next_at)


def _read_tiff(data: bytes) -> bytes | None:
    directory = _directory(data)
    for entry in directory.entries:
        tag, kind, count, at = struct.unpack(f"{directory.order}HHII", entry)
        if tag == _TIFF_XMP:
            length = count * _TYPE_BYTES.get(kind, 1)
            if at + length > len(data) or length <= 4:
                raise ValueError("its XMP is cut off")
            return data[at : at + length]
    return None


def _write_tiff(data: bytes, packet: bytes) -> bytes:
    """A new first directory at the end of the file; nothing before it moves."""
    directory = _directory(data)
    order = directory.order
    kept = [e for e in directory.entries if struct.unpack(f"{order}H", e[:2])[0] != _TIFF_XMP]
    start = len(data) + len(data) % 2
    made = struct.pack(f"{order}HHII", _TIFF_XMP, _TIFF_BYTE, len(packet), start)
    entries = sorted([*kept, made], key=lambda entry: struct.unpack(f"{order}H", entry[:2]))
    at = start + len(packet) + len(packet) % 2
    if at + 12 * len(entries) > 0xFFFFFFFF:
        raise ValueError("it would grow beyond 4 GB")
    table = struct.pack(f"{order}H", len(entries)) + b"".join(entries)
    table += struct.pack(f"{order}I", directory.next_at)
    head = data[:4] + struct.pack(f"{order}I", at)
    pad = b"\0" * (len(data) % 2)
    return head + data[8:] + pad + packet + b"\0" * (len(packet) % 2) + table


CONTAINERS: Mapping[str, Container] = {
    "JPEG": Container(read=_read_jpeg, write=_write_jpeg),
    "PNG": Container(read=_read_png, write=_write_png),
    "TIFF": Container(read=_read_tiff, write=_write_tiff),
    "WEBP": Container(read=_read_webp, write=_write_webp),
}
"""By the names that `media.headers.kind_of` gives."""
