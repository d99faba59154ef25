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
from PIL import Image, ImageCms

from framecheck.errors import CannotDecode, CannotOpen, MediaError, OverLimit
from framecheck.media import files
from framecheck.media.arrays import picture_from_array
from framecheck.media.limits import Limits
from framecheck.media.stills import read_still

cv2 = pytest.importorskip("cv2")

# four patches: every turn and mirroring puts them in another order
PATCHES = {"nw": (220, 40, 40), "ne": (40, 200, 40), "sw": (40, 40, 220), "se": (230, 230, 60)}


def a_scene(width: int = 96, height: int = 64) -> np.ndarray:
    pixels = np.zeros((height, width, 3), np.uint8)
    top, left = slice(0, height // 2), slice(0, width // 2)
    low, right = slice(height // 2, None), slice(width // 2, None)
    pixels[top, left], pixels[top, right] = PATCHES["nw"], PATCHES["ne"]
    pixels[low, left], pixels[low, right] = PATCHES["sw"], PATCHES["se"]
    return pixels


def a_file(folder: Path, name: str, image: Image.Image, **options: object) -> Path:
    path = folder / name
    image.save(path, **options)
    return path


def a_cv2_file(folder: Path, name: str, pixels: np.ndarray, *options: int) -> Path:
    path = folder / name
    order = pixels if pixels.ndim == 2 else pixels[..., [2, 1, 0, 3][: pixels.shape[2]]]
    path.write_bytes(cv2.imencode(path.suffix, order, options)[1].tobytes())
    return path


def assert_like(picture, expected, within: int) -> None:
    assert picture.rgb.shape == expected.shape
    assert picture.rgb.dtype == np.uint8
    assert np.abs(picture.rgb.astype(int) - expected).max() <= within


# --- formats


@pytest.mark.parametrize(
    ("name", "options", "within"),
    [
        ("a.jpg", {"quality": 95, "subsampling": 0}, 12),
        ("a.jpeg", {"quality": 90, "progressive": True, "subsampling": 0}, 16),
        ("a.png", {}, 0),
        ("a.tif", {}, 0),
        ("a.tif", {"compression": "tiff_lzw"}, 0),
        ("a.tif", {"compression": "tiff_adobe_deflate"}, 0),
        ("a.tif", {"compression": "packbits"}, 0),
        ("a.webp", {"lossless": True}, 0),
        ("a.bmp", {}, 0),
    ],
)
def test_formats(tmp_path, name, options, within):
    scene = a_scene()
    picture = read_still(a_file(tmp_path, name, Image.fromarray(scene), **options))
    assert_like(picture, scene, within)
    assert picture.notes == ()
    assert picture.name.endswith(name)
    assert (picture.active.w_px, picture.active.h_px) == (96, 64)


def test_lossy_webp(tmp_path):
    """Its chroma is halved, so that only the inside of the patches can be compared."""
    picture = read_still(a_file(tmp_path, "a.webp", Image.fromarray(a_scene()), quality=90))
    for place, (y_px, x_px) in {"nw": (10, 10), "ne": (10, 80), "sw": (50, 10)}.items():
        assert np.abs(picture.rgb[y_px, x_px].astype(int) - PATCHES[place]).max() <= 6


def test_the_content_and_not_the_suffix_tells_the_format(tmp_path):
    path = a_file(tmp_path, "a.png", Image.fromarray(a_scene()))
    assert_like(read_still(path.rename(tmp_path / "a.jpg")), a_scene(), 0)


@pytest.mark.parametrize("suffix", ["jpg", "png", "webp", "tif"])
@pytest.mark.parametrize("turn", range(1, 9))
def test_orientation(tmp_path, suffix, turn):
    """The file is made by the inverse operation of Pillow's own names, read by our own."""
    undo = {
        1: [], 2: [Image.Transpose.FLIP_LEFT_RIGHT], 3: [Image.Transpose.ROTATE_180],
        4: [Image.Transpose.FLIP_TOP_BOTTOM], 5: [Image.Transpose.TRANSPOSE],
        6: [Image.Transpose.ROTATE_90], 7: [Image.Transpose.TRANSVERSE],
        8: [Image.Transpose.ROTATE_270],
    }  # fmt: skip
    stored = Image.fromarray(a_scene())
    for operation in undo[turn]:
        stored = stored.transpose(operation)
    exif = Image.Exif()
    exif[0x0112] = turn
    options = {"lossless": True} if suffix == "webp" else {}
    options |= {"quality": 95, "subsampling": 0} if suffix == "jpg" else {}
    path = a_file(tmp_path, f"a.{suffix}", stored, exif=exif, **options)
    picture = read_still(path)
    assert_like(picture, a_scene(), 12 if suffix == "jpg" else 0)
    assert any("orientation" in note for note in picture.notes) == (turn != 1)


@pytest.mark.parametrize("suffix", ["png", "tif"])
@pytest.mark.parametrize("turn", [1, 3, 6, 8])
def test_orientation_of_12_bit(tmp_path, suffix, turn):
    """These go through OpenCV, which must not turn them once more."""
    quarter_turns = {1: 0, 3: 2, 6: 1, 8: 3}[turn]
    deep = a_cv2_file(tmp_path, f"a.{suffix}", wide(np.rot90(a_scene(), quarter_turns), 12))
    data = with_orientation(deep.read_bytes(), turn, suffix)
    deep.write_bytes(data)
    assert_like(read_still(deep), a_scene(), 1)


def with_orientation(data: bytes, turn: int, suffix: str) -> bytes:
    exif = b"MM\0*\0\0\0\x08\0\x01\x01\x12\0\x03\0\0\0\x01" + struct.pack(">HHI", turn, 0, 0)
    if suffix == "png":
        body = b"eXIf" + exif
        chunk = struct.pack(">I", len(exif)) + body + struct.pack(">I", zlib.crc32(body))
        return data[:33] + chunk + data[33:]
    (start,) = struct.unpack_from("<I", data, 4)
    (count,) = struct.unpack_from("<H", data, start)
    entries = [data[start + 2 + 12 * i : start + 14 + 12 * i] for i in range(count)]
    entries = [entry for entry in entries if entry[:2] != b"\x12\x01"]
    entries.append(struct.pack("<HHIHH", 0x0112, 3, 1, turn, 0))
    entries.sort(key=lambda entry: struct.unpack_from("<H", entry)[0])
    page = struct.pack("<H", len(entries)) + b"".join(entries) + bytes(4)
    return data[:4] + struct.pack("<I", len(data)) + data[8:] + page


@pytest.mark.parametrize("turn", [0, 9, 999])
def test_a_senseless_orientation_is_left_alone(tmp_path, turn):
    exif = Image.Exif()
    exif[0x0112] = turn
    assert_like(read_still(a_file(tmp_path, "a.png", Image.fromarray(a_scene()), exif=exif)),
                a_scene(), 0)  # fmt: skip


def test_a_broken_exif_block_does_not_lose_the_picture(tmp_path):
    path = tmp_path / "a.jpg"
    Image.fromarray(a_scene()).save(path, quality=95, subsampling=0, exif=b"Exif\0\0II*\0\xff\xff")
    assert_like(read_still(path), a_scene(), 12)


@pytest.mark.parametrize("mode", ["L", "1", "LA", "P", "RGBA", "PA"])
def test_modes(tmp_path, mode):
    image = Image.fromarray(a_scene()).convert(mode)
    suffix = "tif" if mode == "PA" else "png"
    path = a_file(tmp_path, f"a.{suffix}", image)
    assert_like(read_still(path), np.asarray(image.convert("RGB")), 1)


def test_grey_jpeg(tmp_path):
    grey = Image.fromarray(a_scene()).convert("L")
    picture = read_still(a_file(tmp_path, "a.jpg", grey, quality=95))
    assert_like(picture, np.asarray(grey.convert("RGB")), 10)


def test_transparent_parts_are_laid_on_mid_grey_and_said_so(tmp_path):
    alpha = np.full((64, 96), 255, np.uint8)
    alpha[:, :10] = 0
    image = Image.fromarray(np.dstack([a_scene(), alpha]))
    picture = read_still(a_file(tmp_path, "a.png", image))
    assert (picture.rgb[:, :10] == 128).all()
    assert (picture.rgb[:, 10:] == a_scene()[:, 10:]).all()
    assert picture.notes == ("transparent parts laid on mid-grey",)


def test_one_colour_transparent(tmp_path):
    path = a_file(tmp_path, "a.png", Image.fromarray(a_scene()), transparency=PATCHES["nw"])
    assert (read_still(path).rgb[5, 5] == 128).all()


@pytest.mark.parametrize("suffix", ["jpg", "tif"])
def test_cmyk(tmp_path, suffix):
    """Pillow writes CMYK JPEG the Adobe way, inverted; both must come out the right way round."""
    image = Image.fromarray(a_scene()).convert("CMYK")
    options = {"quality": 95, "subsampling": 0} if suffix == "jpg" else {}
    picture = read_still(a_file(tmp_path, f"a.{suffix}", image, **options))
    assert_like(picture, a_scene(), 14)
    assert picture.notes == ("CMYK converted without a colour profile",)


def test_lab_is_refused(tmp_path):
    to_lab = ImageCms.buildTransform(
        ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB"
    )
    image = ImageCms.applyTransform(Image.fromarray(a_scene()), to_lab)
    with pytest.raises(CannotDecode, match="LAB"):
        read_still(a_file(tmp_path, "a.tif", image))


# --- more than 8 bits


def wide(pixels: np.ndarray, bits: int) -> np.ndarray:
    return (pixels.astype(np.uint32) * ((1 << bits) - 1) // 255).astype(np.uint16)


@pytest.mark.parametrize("suffix", ["png", "tif"])
@pytest.mark.parametrize("kind", ["grey", "colour", "alpha"])
@pytest.mark.parametrize(("bits", "words"), [(16, "16 bit"), (12, "12 bit"), (10, "10 bit")])
def test_16_bit(tmp_path, suffix, kind, bits, words):
    scene = a_scene()
    stored = {"grey": scene[..., 0], "colour": scene, "alpha": np.dstack([scene, scene[..., :1]])}
    if kind == "alpha":
        stored["alpha"][..., 3] = 255
    path = a_cv2_file(tmp_path, f"a.{suffix}", wide(stored[kind], bits))
    picture = read_still(path)
    expected = np.repeat(scene[..., :1], 3, axis=2) if kind == "grey" else scene
    assert_like(picture, expected, 1)
    assert words in picture.notes[0]


@pytest.mark.parametrize("compression", [1, 5, 8, 32946], ids=["none", "lzw", "deflate", "old"])
def test_16_bit_tiff_compressions(tmp_path, compression):
    options = (cv2.IMWRITE_TIFF_COMPRESSION, compression)
    path = a_cv2_file(tmp_path, "a.tif", wide(a_scene(), 16), *options)
    assert_like(read_still(path), a_scene(), 1)


@pytest.mark.parametrize("kind", ["grey", "colour"])
@pytest.mark.parametrize("top", [1.0, 255.0, 65535.0])
def test_float_tiff(tmp_path, kind, top):
    scene = a_scene() if kind == "colour" else a_scene()[..., 0]
    path = a_cv2_file(tmp_path, "a.tif", scene.astype(np.float32) / 255 * top)
    picture = read_still(path)
    expected = scene if kind == "colour" else np.repeat(scene[..., None], 3, axis=2)
    if top == 1.0:
        assert_like(picture, expected, 1)
    assert "reduced to 8 bit" in picture.notes[0]


def test_float_tiff_of_an_odd_range_is_stretched(tmp_path):
    numbers = np.linspace(-2, 3, 64 * 96, dtype=np.float32).reshape(64, 96)
    numbers[1, 1] = np.nan
    picture = read_still(a_cv2_file(tmp_path, "a.tif", numbers))
    assert (picture.rgb.min(), picture.rgb.max()) == (0, 255)
    assert picture.notes == ("numbers from -2 to 3 stretched over 8 bit",)


def test_a_really_dark_16_bit_picture_stays_dark(tmp_path):
    path = a_cv2_file(tmp_path, "a.png", np.full((64, 96), 200, np.uint16))
    assert read_still(path).rgb.max() == 0


# --- several pictures in one file


def test_first_page_and_first_frame(tmp_path):
    pages = [Image.fromarray(a_scene()), Image.new("RGB", (96, 64)), Image.new("RGB", (40, 40))]
    options = {"save_all": True, "append_images": pages[1:]}
    for name, note, more in (
        ("a.tif", "first of several pages", {}),
        ("a.webp", "first frame of an animation", {"lossless": True}),
        ("a.png", "first frame of an animation", {}),
    ):
        last = 3 if name == "a.tif" else 2
        path = a_file(tmp_path, name, pages[0], save_all=options["save_all"],
                      append_images=pages[1:last], **more)  # fmt: skip
        picture = read_still(path)
        assert_like(picture, a_scene(), 0)
        assert picture.notes == (note,)


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


NOISE = np.random.default_rng(7).integers(0, 255, (120, 160, 3)).astype(np.uint8)


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
        read_still(path).name.encode("utf-8")


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


# --- arrays


@pytest.mark.parametrize(
    ("array", "expected"),
    [
        (a_scene(), a_scene()),
        (wide(a_scene(), 16), a_scene()),
        (a_scene() / 255, a_scene()),
        ((a_scene() / 255).astype(np.float32), a_scene()),
        ((a_scene() / 255).astype(np.float16), a_scene()),
        (a_scene()[..., 0], np.repeat(a_scene()[..., :1], 3, axis=2)),
        (np.dstack([a_scene(), np.full((64, 96), 255, np.uint8)]), a_scene()),
    ],
    ids=["uint8", "uint16", "float64", "float32", "float16", "grey", "alpha"],
)
def test_arrays(array, expected):
    assert_like(picture_from_array(array, "mine"), expected, 1)
    assert picture_from_array(array, "mine").name == "mine"


def test_an_rgb_array_is_not_copied_and_stays_writable():
    scene = a_scene()
    picture = picture_from_array(scene)
    assert np.shares_memory(picture.rgb, scene)
    assert not picture.rgb.flags.writeable
    assert scene.flags.writeable


@pytest.mark.parametrize(
    ("array", "words"),
    [
        ([[1, 2]], "NumPy array"),
        (np.zeros((64, 96, 2), np.uint8), "expected shape"),
        (np.zeros(64, np.uint8), "expected shape"),
        (np.zeros((15, 96, 3), np.uint8), "at least 16"),
        (np.zeros((0, 0, 3), np.uint8), "at least 16"),
        (np.zeros((64, 96), bool), "uint8, uint16 or float"),
        (np.zeros((64, 96), np.int32), "uint8, uint16 or float"),
        (np.full((64, 96), 200.0), r"floats in 0\.\.1"),
        (np.full((64, 96), np.nan), r"floats in 0\.\.1"),
        (np.full((64, 96), -0.5), r"floats in 0\.\.1"),
    ],
    ids=["list", "2 channels", "1 axis", "small", "none", "bool", "int32", "255", "nan", "< 0"],
)
def test_wrong_arrays(array, words):
    with pytest.raises(ValueError, match=words):
        picture_from_array(array)
