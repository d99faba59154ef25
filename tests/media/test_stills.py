from __future__ import annotations

import struct
import zlib

import cv2
import numpy as np
import pytest
from PIL import Image, ImageCms

from framecheck.errors import CannotDecode
from framecheck.media.stills import read_still
from tests.media.builders import PATCHES, a_cv2_file, a_file, a_scene, assert_like, wide

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
