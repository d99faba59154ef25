"""Lens settings in EXIF, written by Pillow, and files that state nonsense."""

import io
from fractions import Fraction

import pytest
from PIL import Image
from PIL.TiffImagePlugin import IFDRational

from framecheck.errors import MediaError
from framecheck.media.lens_data import lens_data_of, read_lens_data
from framecheck.records.lens_data import LensData

EXIF = 0x8769


def a_still(tmp_path, tags, suffix="jpg"):
    exif = Image.Exif()
    exif[0x0112] = 1  # Pillow leaves a block out whose first directory is empty
    exif.get_ifd(EXIF).update(tags)
    if suffix == "tif":
        exif[EXIF] = tags
    path = tmp_path / f"a still.{suffix}"
    Image.new("RGB", (64, 32)).save(path, exif=exif)
    return path


@pytest.mark.parametrize("suffix", ["jpg", "png", "webp", "tif"])
def test_what_a_file_says_is_read(tmp_path, suffix) -> None:
    path = a_still(
        tmp_path,
        {0x920A: IFDRational(35, 1), 0xA405: 53, 0x829D: IFDRational(28, 10), 0xA434: "35 mm T1"},
        suffix,
    )
    assert read_lens_data(path) == LensData(
        focal_mm=35.0, focal_35_mm=53.0, aperture=2.8, lens="35 mm T1"
    )


def test_the_sensor_from_the_resolution_of_the_focal_plane() -> None:
    # 6000 pixels at 6000 / 36 mm to the millimetre; unit 4 is the millimetre
    tags = {0xA20E: Fraction(6000, 36), 0xA20F: Fraction(4000, 24), 0xA210: 4,
            0xA002: 6000, 0xA003: 4000}  # fmt: skip
    assert lens_data_of(tags, (600, 400)).sensor_wh_mm == pytest.approx((36, 24))
    # the same in pixels to the inch, where no unit is given
    inch = {0xA20E: 6000 / 36 * 25.4, 0xA20F: 4000 / 24 * 25.4}
    assert lens_data_of(inch, (6000, 4000)).sensor_wh_mm == pytest.approx((36, 24))


@pytest.mark.parametrize("value", [0, -35, "x", None, (1, 2), float("nan"), 10**9, b"\xff"])
def test_nonsense_counts_as_nothing(value) -> None:
    tags = dict.fromkeys((0x920A, 0xA405, 0x829D, 0x9206, 0xA20E, 0xA20F), value)
    assert lens_data_of(tags, (64, 32)) == LensData()


def test_a_fraction_over_zero_counts_as_nothing(tmp_path) -> None:
    assert read_lens_data(a_still(tmp_path, {0x920A: IFDRational(35, 0)})).focal_mm is None


def test_names_play_no_tricks() -> None:
    assert lens_data_of({0xA434: "a\x1b[2Jb\n" + "x" * 999}, (1, 1)).lens.startswith(
        "a\\x1b[2Jb\\n"
    )
    assert len(lens_data_of({0xA434: "x" * 999}, (1, 1)).lens) == 200


def test_a_still_without_exif(tmp_path) -> None:
    path = tmp_path / "bare.png"
    Image.new("L", (20, 20)).save(path)
    assert read_lens_data(path) == LensData()


def test_files_that_are_no_picture(tmp_path) -> None:
    good = io.BytesIO()
    Image.new("RGB", (64, 64)).save(good, "JPEG")
    for name, content in (
        ("words.jpg", b"words"),
        ("empty.jpg", b""),
        ("cut.jpg", good.getvalue()[:12]),
    ):
        path = tmp_path / name
        path.write_bytes(content)
        with pytest.raises(MediaError, match=name):
            read_lens_data(path)
    with pytest.raises(MediaError, match="not there"):
        read_lens_data(tmp_path / "absent.jpg")


def test_broken_exif_counts_as_nothing(tmp_path) -> None:
    path = a_still(tmp_path, {0x920A: IFDRational(35, 1)})
    data = bytearray(path.read_bytes())
    start = data.index(b"Exif\0\0") + 6
    data[start + 4 : start + 8] = b"\xff\xff\xff\x7f"  # the first directory lies past the end
    path.write_bytes(bytes(data))
    assert read_lens_data(path) == LensData()


@pytest.mark.parametrize(
    ("mark", "turned"), [(1, False), (3, False), (6, True), (8, True), (99, False)]
)
def test_a_camera_on_its_side(tmp_path, mark, turned) -> None:
    exif = Image.Exif()
    exif[0x0112] = mark
    path = tmp_path / "a.jpg"
    Image.new("RGB", (64, 32)).save(path, exif=exif)
    assert read_lens_data(path).turned is (mark in {6, 8})  # the quarter turns
