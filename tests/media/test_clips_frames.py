"""Numbered pictures as one clip."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from framecheck.errors import CannotDecode, CannotOpen, OverLimit
from framecheck.media.clips import ClipLimits, open_frames
from framecheck.media.numbering import pattern_files, split_numbered
from tests.media.builders import a_cv2_file, wide
from tests.media.clip_builders import a_picture, assert_scene, number_of

R25 = Fraction(25)


def a_row(folder: Path, numbers=range(12), name="take-{:04}.png", wh=(256, 144)) -> Path:
    folder.mkdir(exist_ok=True)
    for number in numbers:
        Image.fromarray(a_picture(*wh, number % 64)).save(folder / name.format(number))
    return folder


@pytest.mark.parametrize("by", ["folder", "pattern"])
@pytest.mark.parametrize("suffix", ["png", "tif", "jpg", "bmp"])
def test_pictures_in_a_row_are_read_as_a_clip(tmp_path, suffix, by):
    folder = a_row(tmp_path / "row", name=f"take-{{:04}}.{suffix}")
    path = folder if by == "folder" else folder / f"take-####.{suffix}"
    with open_frames(path, "the row", Fraction(24000, 1001)) as clip:
        header = clip.header
        frames = list(clip.frames())
        assert clip.late_notes == ()
    assert (header.width_px, header.height_px, header.codec) == (256, 144, suffix)
    assert (header.rate, header.duration_s) == (Fraction(24000, 1001), Fraction(12 * 1001, 24000))
    assert (header.variable_rate, header.bits, header.notes) == (False, 8, ())
    assert [frame.index for frame in frames] == list(range(12))
    assert [frame.time_s for frame in frames] == [Fraction(n * 1001, 24000) for n in range(12)]
    for frame in frames:
        picture = frame.picture()
        assert (picture.name, picture.active.w_px, picture.active.h_px) == ("the row", 256, 144)
        assert number_of(picture.rgb) == frame.index
        assert_scene(picture.rgb)


def test_pictures_that_are_kept_show_the_same_after_the_pass(tmp_path):
    with open_frames(a_row(tmp_path / "row"), "the row", R25) as clip:
        kept = [frame.keep() for frame in clip.frames()]
    assert [number_of(each.picture().rgb) for each in kept] == list(range(12))
    assert [each.time_s for each in kept] == [Fraction(number, 25) for number in range(12)]


def test_small_is_the_same_kind_as_that_of_a_video(tmp_path):
    folder = a_row(tmp_path / "row")
    with open_frames(folder, "row", R25) as clip:
        small = next(clip.frames()).small
    assert small.shape == (72, 128, 3)
    grey, red = small[5, 5], small[30, 30]
    # of full-range luma and colour, ITU-R BT.601: Y = 0.299 R + 0.587 G + 0.114 B
    assert np.abs(grey.astype(int) - (110, 128, 128)).max() <= 1
    assert abs(int(red[0]) - (0.299 * 225 + 0.587 * 45 + 0.114 * 45)) <= 1
    assert red[1] < 128 < red[2]


def test_large_pictures_are_scaled(tmp_path):
    folder = a_row(tmp_path / "row", range(8), wh=(640, 360))
    with open_frames(folder, "row", R25, ClipLimits(analysis_px=320)) as clip:
        assert (clip.header.width_px, clip.header.height_px) == (640, 360)
        picture = next(clip.frames()).picture()
    assert picture.rgb.shape == (180, 320, 3)
    assert_scene(picture.rgb)


def test_missing_numbers_leave_gaps_in_time(tmp_path):
    folder = a_row(tmp_path / "row", [*range(1001, 1010), 1013])
    with open_frames(folder, "row", R25) as clip:
        assert clip.header.notes == ("3 numbers are missing",)
        assert clip.header.duration_s == Fraction(13, 25)
        times = [frame.time_s for frame in clip.frames()]
    assert times == [Fraction(n, 25) for n in (*range(9), 12)]


def test_sixteen_bits_are_told(tmp_path):
    for number in range(8):
        a_cv2_file(tmp_path, f"a{number}.png", wide(a_picture(64, 48, number), 16))
    with open_frames(tmp_path / "a#.png", "row", R25) as clip:
        assert clip.header.bits == 16
        assert number_of(next(clip.frames()).picture().rgb) == 0


def test_one_broken_picture_is_where_it_stops(tmp_path):
    folder = a_row(tmp_path / "row", range(30))
    (folder / "take-0026.png").write_bytes(b"\x89PNG\r\n\x1a\n broken")
    with open_frames(folder, "the row", R25) as clip:
        seen = []
        with pytest.raises(CannotDecode, match=r"take-0026\.png") as raised:
            seen.extend(frame.index for frame in clip.frames())
    assert seen == list(range(26))
    assert raised.value.where == "frame 26 (00:00:01:01)"


def test_a_picture_of_another_size_is_where_it_stops(tmp_path):
    folder = a_row(tmp_path / "row")
    Image.fromarray(a_picture(144, 256)).save(folder / "take-0009.png")
    with (
        open_frames(folder, "row", R25) as clip,
        pytest.raises(CannotDecode, match="144 x 256 pixels, the first one has another"),
    ):
        list(clip.frames())


@pytest.mark.parametrize(
    ("limits", "why"),
    [
        ({"max_frames": 11}, "has 12 frames"),
        ({"max_pixels": 1000}, "more than the limit"),
    ],
)
def test_limits(tmp_path, limits, why):
    folder = a_row(tmp_path / "row")
    with pytest.raises(OverLimit, match=why):
        open_frames(folder, "row", R25, ClipLimits(**limits))


def test_a_number_that_makes_it_last_for_ever(tmp_path):
    a_row(tmp_path / "row", [1, 2, 9_999_999], name="a{}.png")
    with pytest.raises(OverLimit, match="s, more than the limit"):
        open_frames(tmp_path / "row" / "a#.png", "row", R25)


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("gone", "cannot be looked at: No such file"),
        ("row/b-####.png", "names no numbered pictures"),
        ("row/take-###.png", "names no numbered pictures"),
        ("empty", "names no numbered pictures"),
        ("two", "several rows of numbered pictures"),
    ],
)
def test_nothing_to_open(tmp_path, name, why):
    a_row(tmp_path / "row")
    (tmp_path / "empty").mkdir()
    a_row(a_row(tmp_path / "two"), name="other{:02}.png")
    with pytest.raises(CannotOpen, match=why) as raised:
        open_frames(tmp_path / name, "the row", R25)
    assert raised.value.where == "the row"


def test_one_pass_only(tmp_path):
    with open_frames(a_row(tmp_path / "row"), "row", R25) as clip:
        assert len(list(clip.frames())) == 12
        with pytest.raises(ValueError, match="once"):
            next(clip.frames())


# --- which names are numbered in a row -----------------------------------------------------------


def split(*names: str) -> tuple[list[str], list[str]]:
    patterns, rest = split_numbered([Path(name) for name in names])
    return [path.as_posix() for path in patterns], [path.as_posix() for path in rest]


def row(text: str, numbers) -> list[str]:
    return [text.format(number) for number in numbers]


@pytest.mark.parametrize(
    ("names", "patterns", "rest"),
    [
        (row("a/t-{:04}.png", range(8)), ["a/t-####.png"], []),
        (row("a/t-{:04}.png", range(7)), [], row("a/t-{:04}.png", range(7))),
        (row("a/t-{:04}.png", range(0, 16, 2)), [], row("a/t-{:04}.png", range(0, 16, 2))),
        (row("a/t-{}.png", range(1, 13)), ["a/t-#.png"], []),
        (row("a/{:02}.png", range(95, 105)), ["a/##.png"], []),
        (row("a/{}.png", range(1001, 1020)), ["a/####.png"], []),
        ([*row("s{:03}.png", range(9)), "s.png"], ["s###.png"], ["s.png"]),
        (row("s{:03}.png", range(9)) + row("s{}.jpg", range(9)), ["s###.png", "s#.jpg"], []),
        ([*row("b{}v.png", range(9)), *row("a{}v.png", range(9))], ["b#v.png", "a#v.png"], []),
        (row("{0}/s1.png", range(9)), [], row("{0}/s1.png", range(9))),
        ([*row("s{:03}.png", range(9)), "s1.png"], ["s###.png"], ["s1.png"]),
        (["9" * 40 + ".png"], [], ["9" * 40 + ".png"]),
        ([], [], []),
    ],
)  # fmt: skip
def test_rows_are_told_by_their_names(names, patterns, rest):
    assert split(*names) == (patterns, rest)


@pytest.mark.parametrize(
    ("pattern", "numbers"),
    [
        ("t-####.png", [1, 2, 10, 10000]),
        ("t-#.png", [3, 44, 10000]),
        ("t-##.png", [44, 10000]),
        ("t-####.jpg", [5]),
        ("t-.png", []),
        ("x#1-####.png", [7]),
    ],
)
def test_a_pattern_names_its_files(tmp_path, pattern, numbers):
    for name in (
        "t-0001.png", "t-0002.png", "t-0010.png", "t-10000.png", "t-00011.png", "t-3.png",
        "t-44.png", "t-0005.jpg", "t-0006.png.bak", "t-000x.png", "t-0007", "x#1-0007.png",
        "t-١٢٣٤.png",
    ):  # fmt: skip
        (tmp_path / name).touch()
    found = pattern_files(tmp_path / pattern)
    assert [number for number, _path in found] == numbers
    assert all(path.exists() for _number, path in found)
