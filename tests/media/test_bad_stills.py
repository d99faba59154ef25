from __future__ import annotations

import io
import os
import stat
import struct
import threading
import time
import zlib
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from framecheck.errors import CannotDecode, CannotOpen, MediaError, OverLimit
from framecheck.media import files
from framecheck.media.limits import Limits
from framecheck.media.stills import read_still
from tests.media.builders import NOISE, a_cv2_file, a_file, a_scene, wide

# --- limits, from the header


def a_png_header(width: int, height: int) -> bytes:
    def chunk(kind: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + kind + body + struct.pack(
            ">I", zlib.crc32(kind + body)
        )  # fmt: skip

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    data = zlib.compress(bytes(1000))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", data) + chunk(b"IEND", b"")


def a_tiff_header(width: int, height: int, bits: int = 8, tile: int = 0) -> bytes:
    tags = [(256, width), (257, height), (258, bits), (259, 1), (262, 1), (273, 8), (277, 1),
            (278, height), (279, 100)]  # fmt: skip
    if tile:
        tags = [row for row in tags if row[0] not in {273, 278, 279}]
        tags += [(322, tile), (323, tile), (324, 8), (325, 100)]
    body = b"".join(struct.pack("<HHII", tag, 4, 1, value) for tag, value in sorted(tags))
    return b"II*\0" + struct.pack("<IH", 8, len(tags)) + body + bytes(4)


def a_jpeg_header(width: int, height: int) -> bytes:
    target = io.BytesIO()
    Image.new("RGB", (16, 16)).save(target, "JPEG")
    data = bytearray(target.getvalue())
    place = data.index(b"\xff\xc0")
    data[place + 5 : place + 9] = struct.pack(">HH", height, width)
    return bytes(data)


BOMBS = {
    "png": a_png_header(2_000_000_000, 2_000_000_000),
    "png area": a_png_header(60_000, 60_000),
    "png side": a_png_header(100_000, 20),
    "tiff": a_tiff_header(60_000, 60_000),
    "tiff of an odd kind": a_tiff_header(60_000, 60_000, bits=7),
    "tiff tile": a_tiff_header(100, 100, tile=60_000),
    "jpeg": a_jpeg_header(65_000, 65_000),
    "webp": b"RIFF" + struct.pack("<I", 100) + b"WEBPVP8X" + struct.pack("<I", 10) + bytes(4)
    + b"\xff\xff\x7f" * 2 + bytes(80),
    "webp lossless": b"RIFF" + struct.pack("<I", 100) + b"WEBPVP8L" + struct.pack("<I", 10)
    + b"\x2f" + struct.pack("<I", 0xFFFFFFF) + bytes(80),
    "bmp": b"BM" + struct.pack("<IHHIIiiHHIIiiII", 54, 0, 0, 54, 40, 60_000, 60_000, 1, 24, 0, 0,
                               0, 0, 0, 0),
}  # fmt: skip


@pytest.mark.parametrize("kind", BOMBS)
def test_bombs_are_refused_from_the_header(tmp_path, kind):
    path = tmp_path / "bomb"
    path.write_bytes(BOMBS[kind])
    limits = Limits(max_pixels=250_000_000)
    began = time.monotonic()
    with pytest.raises(OverLimit, match="save"):
        read_still(path, limits)
    assert time.monotonic() - began < 1


def test_pillow_limit_is_left_as_it_was():
    assert Image.MAX_IMAGE_PIXELS == 1024 * 1024 * 1024 // 4 // 3


def test_file_size_limit(tmp_path):
    path = a_file(tmp_path, "a.png", Image.fromarray(a_scene()))
    size = path.stat().st_size
    assert read_still(path, Limits(max_file_bytes=size))
    with pytest.raises(OverLimit, match="max_file_bytes"):
        read_still(path, Limits(max_file_bytes=size - 1))


def test_limits_are_checked():
    with pytest.raises(ValueError, match="max_pixels"):
        Limits(max_pixels=0)


@pytest.mark.parametrize(("mode", "suffix"), [("1", "png"), ("L", "tif")])
def test_100_megapixels_work(tmp_path, mode, suffix):
    image = Image.new(mode, (10_000, 10_000), 1 if mode == "1" else 90)
    options = {"compression": "tiff_adobe_deflate"} if suffix == "tif" else {}
    picture = read_still(a_file(tmp_path, f"a.{suffix}", image, **options))
    assert picture.rgb.shape == (10_000, 10_000, 3)


# --- bad input


@pytest.mark.parametrize("size", [(1, 1), (15, 400), (400, 15)])
def test_too_small(tmp_path, size):
    with pytest.raises(CannotDecode, match="smaller than 16 px"):
        read_still(a_file(tmp_path, "a.png", Image.new("RGB", size)))


def test_16_pixels_are_enough(tmp_path):
    assert read_still(a_file(tmp_path, "a.png", Image.new("RGB", (16, 16)))).rgb.shape[0] == 16


@pytest.mark.parametrize(
    "data",
    [b"hello", b"GIF89a" + bytes(50), bytes(1000), b"\0\0\0\x18ftypmp42", b"%PDF-1.4", b"\x89PN"],
    ids=["text", "gif", "zeros", "video", "pdf", "short"],
)
def test_what_is_no_picture(tmp_path, data):
    path = tmp_path / "a.jpg"
    path.write_bytes(data)
    with pytest.raises(CannotOpen, match="not a picture that can be read"):
        read_still(path)


def test_an_empty_file(tmp_path):
    (tmp_path / "a.jpg").touch()
    with pytest.raises(CannotOpen, match="0 bytes"):
        read_still(tmp_path / "a.jpg")


@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("a.jpg", {}), ("a.jpg", {"progressive": True}), ("a.png", {}), ("a.tif", {}),
        ("a.tif", {"compression": "tiff_lzw"}), ("a.webp", {}), ("a.bmp", {}),
    ],
)  # fmt: skip
@pytest.mark.parametrize("keep", [0.02, 0.3, 0.7, 0.95])
def test_cut_off(tmp_path, name, options, keep):
    path = a_file(tmp_path, name, Image.fromarray(NOISE), **options)
    data = path.read_bytes()
    path.write_bytes(data[: max(4, int(len(data) * keep))])
    with pytest.raises(MediaError) as caught:
        read_still(path)
    assert isinstance(caught.value, (CannotDecode, CannotOpen))
    assert caught.value.where == str(path)


def test_a_cut_off_file_says_where_it_ends(tmp_path):
    path = a_file(tmp_path, "a.jpg", Image.fromarray(NOISE))
    path.write_bytes(path.read_bytes()[:5000])
    with pytest.raises(CannotDecode, match=r"picture data .*ends too early, after 5000 bytes"):
        read_still(path)


@pytest.mark.parametrize("keep", [0.1, 0.5, 0.9])
@pytest.mark.parametrize("name", ["a.png", "a.tif"])
@pytest.mark.parametrize("bits", [12, 16])
def test_cut_off_16_bit(tmp_path, name, keep, bits):
    path = a_cv2_file(tmp_path, name, wide(NOISE, bits))
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * keep)])
    with pytest.raises(CannotDecode):
        read_still(path)


@pytest.mark.parametrize("keep", [0.1, 0.5, 0.9])
def test_cut_off_float_tiff(tmp_path, keep):
    path = a_cv2_file(tmp_path, "a.tif", NOISE.astype(np.float32) / 255)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * keep)])
    with pytest.raises(CannotDecode):
        read_still(path)


@pytest.mark.parametrize("name", ["a.jpg", "a.png", "a.tif", "a.webp", "a.bmp"])
def test_scrambled_bytes_never_raise_anything_else(tmp_path, name):
    good = a_file(tmp_path, name, Image.fromarray(NOISE[:40, :40])).read_bytes()
    rng = np.random.default_rng(3)
    path = tmp_path / f"bad-{name}"
    for _ in range(60):
        data = bytearray(good)
        for place in rng.integers(0, min(len(data), 400), 8):
            data[place] = rng.integers(0, 256)
        path.write_bytes(data)
        try:
            read_still(path, Limits(max_pixels=1_000_000))
        except MediaError as error:
            assert "\n" not in str(error)  # noqa: PT017  # either way out is right


def test_not_there(tmp_path):
    with pytest.raises(CannotOpen, match="is not there"):
        read_still(tmp_path / "a.jpg")
    (tmp_path / "link.jpg").symlink_to(tmp_path / "gone.jpg")
    with pytest.raises(CannotOpen, match="points to nothing"):
        read_still(tmp_path / "link.jpg")
    (tmp_path / "loop.jpg").symlink_to(tmp_path / "loop.jpg")
    with pytest.raises(CannotOpen, match="cannot be opened"):
        read_still(tmp_path / "loop.jpg")


def test_impossible_names(tmp_path):
    with pytest.raises(CannotOpen):
        read_still(Path("a\0b.jpg"))
    with pytest.raises(CannotOpen):
        read_still(tmp_path / ("x" * 5000))


def test_a_folder(tmp_path):
    with pytest.raises(CannotOpen, match="is a folder"):
        read_still(tmp_path)


def test_permission(tmp_path, monkeypatch):
    path = a_file(tmp_path, "a.png", Image.fromarray(a_scene()))

    def refuse(*_args, **_options):
        raise PermissionError(13, "Permission denied")  # as root really may read everything

    monkeypatch.setattr(files.os, "open", refuse)
    with pytest.raises(CannotOpen, match="may not be read"):
        read_still(path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_a_pipe_does_not_block(tmp_path):
    os.mkfifo(tmp_path / "pipe.jpg")
    caught: list[Exception] = []

    def read():
        try:
            read_still(tmp_path / "pipe.jpg")
        except CannotOpen as error:
            caught.append(error)

    reader = threading.Thread(target=read, daemon=True)
    reader.start()
    reader.join(5)
    assert caught
    assert "pipe" in str(caught[0])


@pytest.mark.skipif(not Path("/dev/zero").exists(), reason="no devices here")
def test_a_device():
    with pytest.raises(CannotOpen, match="device"):
        read_still(Path("/dev/zero"))


def test_a_name_with_a_newline_stays_on_one_line(tmp_path):
    path = tmp_path / "a\nb.jpg"
    path.write_bytes(b"x")
    with pytest.raises(CannotOpen) as caught:
        read_still(path)
    assert "\n" not in str(caught.value)
    assert r"a\nb.jpg" in str(caught.value)


def test_names_of_every_kind_are_read(tmp_path):
    source = a_file(tmp_path, "a.png", Image.fromarray(a_scene())).read_bytes()
    for name in ("ein bild.png", "写真.png", "é\u0301.png", os.fsdecode(b"\xff\xfe.png"), "-x.png"):
        path = tmp_path / name
        try:
            path.write_bytes(source)
        except OSError:
            continue  # some file systems refuse undecodable names
        assert read_still(path).name.encode("utf-8")


def test_the_original_is_not_touched(tmp_path):
    path = a_file(tmp_path, "a.jpg", Image.fromarray(a_scene()))
    path.chmod(stat.S_IRUSR)
    before = (path.read_bytes(), path.stat().st_mtime_ns)
    read_still(path)
    assert (path.read_bytes(), path.stat().st_mtime_ns) == before
    assert list(tmp_path.iterdir()) == [path]


def test_bars_are_found(tmp_path):
    framed = np.zeros((104, 96, 3), np.uint8)
    framed[20:84] = a_scene()
    picture = read_still(a_file(tmp_path, "a.png", Image.fromarray(framed)))
    assert (picture.active.y_px, picture.active.h_px) == (20, 64)
