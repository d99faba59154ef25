"""Clips that are cut off, damaged, crafted, too large or too slow."""

from __future__ import annotations

import ctypes
import os
import socket
import struct
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import psutil
import pytest

from framecheck.errors import CannotDecode, CannotOpen, MediaError, OverLimit
from framecheck.media import clip_container, clip_decoder
from framecheck.media.clips import ClipLimits, open_clip
from framecheck.units import timecode_after
from tests.media.clip_builders import Recipe, a_clip, a_picture, assert_scene, number_of

NOISE = np.random.default_rng(3).integers(0, 60, (144, 256, 3)).astype(np.uint8)


def a_noisy_picture(number: int) -> np.ndarray:
    """Noise keeps the sizes of the frames alike, so that half the file is half the frames."""
    shaken = np.roll(NOISE, number * 7, axis=(0, 1))
    return (a_picture(256, 144, number).astype(int) * 3 // 4 + shaken).astype(np.uint8)


def read_until_it_stops(path: Path, **limits) -> tuple[list[int], MediaError | None]:
    numbers: list[int] = []
    with open_clip(path, "the clip", ClipLimits(**limits)) as clip:
        try:
            for frame in clip.frames():
                assert frame.index == len(numbers)
                numbers.append(number_of(frame.picture().rgb))
        except MediaError as error:
            return numbers, error
    return numbers, None


def cut(path: Path, share: float) -> Path:
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    return path


FASTSTART = {"movflags": "faststart"}
CUTTABLE = {
    "h264.mp4": Recipe(frames=48, container=FASTSTART, timecode="01:00:00:00"),
    "prores.mov": Recipe(codec="prores_ks", pixels="yuv422p10le", frames=48, container=FASTSTART),
    "h264.mkv": Recipe(frames=48),
    "mjpeg.avi": Recipe(codec="mjpeg", pixels="yuvj420p", frames=48),
    "dnxhd.mxf": Recipe(
        codec="dnxhd", pixels="yuv422p", options={"profile": "dnxhr_sq"}, frames=48,
    ),
    "vp9.webm": Recipe(
        codec="libvpx-vp9", options={"deadline": "realtime", "cpu-used": "8"}, frames=48,
    ),
}  # fmt: skip


@pytest.mark.parametrize("threads", [1, 2])
@pytest.mark.parametrize("name", CUTTABLE)
def test_cut_off_half_way_the_good_frames_come_and_then_the_reason(tmp_path, name, threads):
    path = a_clip(tmp_path / name, CUTTABLE[name], a_noisy_picture)
    whole, error = read_until_it_stops(path, threads=threads)
    assert (whole, error) == (list(range(48)), None)
    numbers, error = read_until_it_stops(cut(path, 0.6), threads=threads)
    assert isinstance(error, CannotDecode)
    assert 15 <= len(numbers) <= 36
    # what can be shown of B-frames whose reference is cut off ends some frames earlier
    assert numbers[:-3] == list(range(len(numbers) - 3))
    start = CUTTABLE[name].timecode or "00:00:00:00"
    assert error.where in {
        f"frame {len(numbers)} ({timecode_after(start, len(numbers) + lost, Fraction(25))})"
        for lost in range(4)
    }
    assert "the clip stops at frame" in str(error)


EVEN = Recipe(codec="mpeg2video", frames=48, options={"g": "1", "b": "8M"})


@pytest.mark.parametrize("name", ["c.ts", "c.mpg"])
def test_a_stream_that_was_cut_is_read_to_its_end(tmp_path, name):
    """Nothing in a stream says how long it should be; only a half frame at its end is left out."""
    path = a_clip(tmp_path / name, EVEN, a_noisy_picture)
    numbers, error = read_until_it_stops(cut(path, 0.6))
    assert error is None
    assert 15 <= len(numbers) <= 36
    assert numbers == list(range(len(numbers)))


@pytest.mark.parametrize("name", ["c.mp4", "c.mov"])
def test_an_index_at_the_end_that_is_cut_off(tmp_path, name):
    path = cut(a_clip(tmp_path / name, Recipe(), a_noisy_picture), 0.6)
    with pytest.raises(CannotOpen, match=r"cut off before its index|holds no moving") as raised:
        open_clip(path, "the clip")
    assert raised.value.where == "the clip"


def frames_in_avi(data: bytes) -> list[tuple[int, int]]:
    """Where the coded pictures of an AVI file lie, and their sizes."""
    place, found = data.index(b"movi") + 4, []
    while data[place : place + 4] == b"00dc":
        (size,) = struct.unpack_from("<I", data, place + 4)
        found.append((place + 8, size))
        place += 8 + size + size % 2
    return found


def test_damage_in_the_middle_is_passed_over_and_told(tmp_path):
    path = a_clip(tmp_path / "c.avi", Recipe(codec="mjpeg", pixels="yuvj420p", frames=20))
    data = bytearray(path.read_bytes())
    for place, size in frames_in_avi(bytes(data))[8:10]:
        data[place : place + size] = bytes(size)
    path.write_bytes(data)
    with open_clip(path, "c") as clip:
        seen = [(frame.time_s, number_of(frame.picture().rgb)) for frame in clip.frames()]
        assert "2 damaged places were passed over" in clip.late_notes
    good = [number for number in range(20) if number not in {8, 9}]
    assert seen == [(Fraction(number, 25), number) for number in good]


def test_damage_to_the_end_is_where_it_stops(tmp_path):
    path = a_clip(tmp_path / "c.avi", Recipe(codec="mjpeg", pixels="yuvj420p", frames=20))
    data = bytearray(path.read_bytes())
    for place, size in frames_in_avi(bytes(data))[12:]:
        data[place : place + size] = bytes(size)
    path.write_bytes(data)
    numbers, error = read_until_it_stops(path)
    assert numbers == list(range(12))
    assert isinstance(error, CannotDecode)
    assert error.where == "frame 12 (00:00:00:12)"


def test_a_clip_in_which_nothing_can_be_decoded(tmp_path):
    path = a_clip(tmp_path / "c.avi", Recipe(codec="mjpeg", pixels="yuvj420p", frames=5))
    data = bytearray(path.read_bytes())
    for place, size in frames_in_avi(bytes(data)):
        data[place : place + size] = bytes(size)
    path.write_bytes(data)
    with pytest.raises(CannotDecode, match="not one frame"):
        open_clip(path, "c")


def test_a_file_that_cannot_be_read_on(tmp_path, monkeypatch):
    """As when a drive disappears: the packets end with an error of the system."""
    path = a_clip(tmp_path / "c.mov", Recipe(frames=60, wh=(64, 48)))
    real = clip_decoder.Decoder.peek

    def peek(self):
        packets = real(self)
        self._demuxer = broken(self._demuxer)
        return packets

    def broken(demuxer):
        yield next(demuxer)
        raise av.error.OSError(5, "Input/output error", "fd:")

    monkeypatch.setattr(clip_decoder.Decoder, "peek", peek)
    with open_clip(path, "c") as clip:
        seen = []
        with pytest.raises(CannotDecode, match="cannot be read on: Input/output error") as raised:
            seen.extend(frame.index for frame in clip.frames())
    assert 40 <= len(seen) < 60
    assert raised.value.where.startswith(f"frame {len(seen)} ")


# --- crafted files -------------------------------------------------------------------------------


@contextmanager
def a_listener() -> Iterator[tuple[int, list[str]]]:
    """A server on this machine that notes whoever connects."""
    callers: list[str] = []
    server = socket.create_server(("127.0.0.1", 0))
    server.settimeout(0.1)
    ending = threading.Event()

    def serve() -> None:
        while not ending.is_set():
            try:
                connection, caller = server.accept()
            except TimeoutError:
                continue
            callers.append(str(caller))
            connection.close()

    thread = threading.Thread(target=serve)
    thread.start()
    try:
        yield server.getsockname()[1], callers
    finally:
        ending.set()
        thread.join()
        server.close()


@contextmanager
def a_watch(path: Path) -> Iterator[list[bytes]]:
    """Notes every opening of a file by anybody (inotify of Linux); filled at the end."""
    libc = ctypes.CDLL(None, use_errno=True)
    watch = libc.inotify_init1(os.O_NONBLOCK)
    opened = 0x20
    assert watch >= 0
    assert libc.inotify_add_watch(watch, os.fsencode(path), opened) >= 0
    events: list[bytes] = []
    try:
        yield events
        with suppress(BlockingIOError):
            events.append(os.read(watch, 4096))
    finally:
        os.close(watch)


linux = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="needs inotify")

PLAYLISTS = {
    "ffconcat": "ffconcat version 1.0\nfile '{target}'\n",
    "ffconcat without a version": "file '{target}'\n",
    "m3u8": (
        "#EXTM3U\n#EXT-X-VERSION:3\n#EXT-X-TARGETDURATION:10\n#EXTINF:10,\n{target}\n"
        "#EXT-X-ENDLIST\n"
    ),
    "m3u8 of m3u8": "#EXTM3U\n#EXT-X-STREAM-INF:BANDWIDTH=1\n{target}\n",
    "m3u8 with a key": (
        '#EXTM3U\n#EXT-X-TARGETDURATION:10\n#EXT-X-KEY:METHOD=AES-128,URI="{target}"\n'
        "#EXTINF:10,\n{target}\n#EXT-X-ENDLIST\n"
    ),
    "dash": (
        '<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static" '
        'mediaPresentationDuration="PT1S"><Period><AdaptationSet><Representation id="1" '
        'bandwidth="1"><BaseURL>{target}</BaseURL></Representation></AdaptationSet></Period></MPD>'
    ),
    "sdp": "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=video 1 RTP/AVP 96\n",
    "smil of a server": "[playlist]\nFile1={target}\n",
}  # fmt: skip


@linux
@pytest.mark.parametrize("suffix", ["mp4", "m3u8", "ts"])
@pytest.mark.parametrize("kind", PLAYLISTS)
def test_a_playlist_opens_neither_a_file_nor_an_address(tmp_path, kind, suffix):
    target = a_clip(tmp_path / "target.ts", Recipe(codec="mpeg2video", frames=3))
    crafted = tmp_path / f"crafted.{suffix}"
    with a_listener() as (port, callers):
        for place in (f"http://127.0.0.1:{port}/x.ts", str(target), f"file:{target}"):
            crafted.write_text(PLAYLISTS[kind].format(target=place))
            with a_watch(target) as events, pytest.raises(CannotOpen):
                open_clip(crafted, "crafted")
            assert events == []
    assert callers == []


@linux
@pytest.mark.parametrize("kind", ["ffconcat", "m3u8", "m3u8 of m3u8", "m3u8 with a key"])
def test_a_playlist_that_gets_past_the_list_of_containers(tmp_path, monkeypatch, kind):
    """Were its kind let in, there would still be no way to reach what it names."""
    monkeypatch.setattr(clip_container, "CONTAINERS", ("concat", "hls", "mpegts"))
    target = a_clip(tmp_path / "target.ts", Recipe(codec="mpeg2video", frames=3))
    crafted = tmp_path / "crafted.m3u8"
    with a_listener() as (port, callers):
        for place in (f"http://127.0.0.1:{port}/x.ts", str(target), "target.ts"):
            crafted.write_text(PLAYLISTS[kind].format(target=place))
            with a_watch(target) as events, pytest.raises(CannotOpen):
                open_clip(crafted, "crafted")
            assert events == []
    assert callers == []


@linux
def test_the_watch_and_the_listener_would_see_it(tmp_path):
    """What the test above looks for does happen when FFmpeg is left to itself."""
    target = a_clip(tmp_path / "target.ts", Recipe(codec="mpeg2video", frames=3))
    crafted = tmp_path / "crafted.mp4"
    crafted.write_text(PLAYLISTS["ffconcat"].format(target=target))
    with a_watch(target) as events:
        av.open(str(crafted), format="concat", options={"safe": "0"}).close()
    assert events
    with a_listener() as (port, callers), pytest.raises(av.FFmpegError):
        av.open(f"http://127.0.0.1:{port}/x.ts")
    assert callers


@linux
@pytest.mark.parametrize("name", ["concat:target.ts|target.ts", "http:x.ts", "subfile,,:target.ts"])
def test_a_name_that_looks_like_an_address_is_a_name(tmp_path, monkeypatch, name):
    monkeypatch.chdir(tmp_path)
    target = a_clip(tmp_path / "target.ts", Recipe(codec="mpeg2video", frames=3))
    with a_watch(target) as events, pytest.raises(CannotOpen, match="not there"):
        open_clip(Path(name), name)
    assert events == []
    (tmp_path / name).write_bytes(target.read_bytes())
    with open_clip(Path(name), name) as clip:
        assert len(list(clip.frames())) == 3


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", r"is empty \(0 bytes\)"),
        (b"no video at all", "not a clip that can be read"),
        (bytes(100_000), "not a clip that can be read"),
        (b"\x89PNG\r\n\x1a\n" + bytes(500), "not a clip that can be read"),
        (bytes(4) + b"ftypisom" + bytes(400), "not a clip that can be read"),
    ],
    ids=["empty", "text", "zeros", "a still", "a head alone"],
)
def test_what_is_no_clip_is_refused(tmp_path, content, why):
    path = tmp_path / "c.mp4"
    path.write_bytes(content)
    with pytest.raises(CannotOpen, match=why) as raised:
        open_clip(path, "the clip")
    assert raised.value.where == "the clip"


def test_what_is_not_there_or_not_a_file(tmp_path):
    with pytest.raises(CannotOpen, match="is not there"):
        open_clip(tmp_path / "gone.mp4", "gone.mp4")
    with pytest.raises(CannotOpen, match="is a folder; name a clip"):
        open_clip(tmp_path, "folder")


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "pipe.mp4")
    with pytest.raises(CannotOpen, match="pipe, socket or device"):
        open_clip(tmp_path / "pipe.mp4", "pipe")


def test_sound_alone_is_no_clip(tmp_path):
    path = tmp_path / "c.mp4"
    with av.open(str(path), "w") as output:
        stream = output.add_stream("aac", rate=8000, layout="mono")
        frame = av.AudioFrame.from_ndarray(np.zeros((1, 1024), np.float32), "fltp", "mono")
        frame.sample_rate, frame.pts = 8000, 0
        output.mux(stream.encode(frame))
        output.mux(stream.encode())
    with pytest.raises(CannotOpen, match="no moving pictures"):
        open_clip(path, "c")


def test_odd_names(tmp_path):
    data = a_clip(tmp_path / "c.mp4", Recipe(frames=2)).read_bytes()
    for name in ("two\nlines.mp4", os.fsdecode(b"caf\xe9.mp4"), "写真 %03d.mp4", "a b'c\".mp4"):
        path = tmp_path / name
        try:
            path.write_bytes(data)
        except OSError:
            continue  # some file systems refuse undecodable names
        with open_clip(path, "odd") as clip:
            assert len(list(clip.frames())) == 2


# --- limits --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("limits", "why"),
    [
        ({"max_pixels": 256 * 144 - 1}, "more than the limit of"),
        ({"max_side_px": 255}, "255 a side"),
        ({"max_duration_s": 1}, "says it lasts 2 s"),
    ],
)
def test_too_large_by_its_header(tmp_path, limits, why):
    path = a_clip(tmp_path / "c.mp4", Recipe(frames=50))
    with pytest.raises(OverLimit, match=why):
        open_clip(path, "c", ClipLimits(**limits))
    exact = {"max_pixels": 256 * 144, "max_side_px": 256, "max_duration_s": 2}
    with open_clip(path, "c", ClipLimits(**exact)) as clip:
        assert len(list(clip.frames())) == 50


def test_too_small_to_measure(tmp_path):
    path = a_clip(tmp_path / "c.avi", Recipe(codec="ffv1", wh=(64, 14), frames=2))
    with pytest.raises(CannotDecode, match="smaller than 16 px"):
        open_clip(path, "c")


def test_too_many_frames(tmp_path):
    path = a_clip(tmp_path / "c.mp4", Recipe(frames=30))
    numbers, error = read_until_it_stops(path, max_frames=20)
    assert numbers == list(range(20))
    assert isinstance(error, OverLimit)
    assert error.where == "frame 20 (00:00:00:20)"


def test_longer_than_its_header_says(tmp_path):
    """A stream has no header to believe: the limit holds while it is decoded."""
    path = a_clip(tmp_path / "c.mkv", Recipe(frames=60, wh=(64, 48), container={"live": "1"}))
    with open_clip(path, "c") as clip:
        assert clip.header.duration_s is None
    numbers, error = read_until_it_stops(path, max_duration_s=1)
    assert len(numbers) == 26
    assert isinstance(error, OverLimit)


def test_a_header_that_lies_about_the_size(tmp_path):
    """The container says small, the coded stream inside is larger than the limit."""
    path = a_clip(tmp_path / "c.mp4", Recipe(wh=(512, 256), frames=3))
    data = bytearray(path.read_bytes())
    place = data.index(b"avc1", data.index(b"stsd")) + 4 + 24
    assert struct.unpack_from(">HH", data, place) == (512, 256)
    struct.pack_into(">HH", data, place, 64, 64)
    path.write_bytes(data)
    with pytest.raises(MediaError):
        open_clip(path, "c", ClipLimits(max_pixels=512 * 256 - 1))
    with open_clip(path, "c") as clip:
        assert (clip.header.coded_width_px, clip.header.coded_height_px) == (512, 256)


def test_a_size_that_grows_past_the_limit_on_the_way(tmp_path):
    parts = [
        a_clip(tmp_path / f"{width}.ts", Recipe(codec="mpeg2video", wh=(width, 144), frames=12))
        for width in (256, 512)
    ]
    path = tmp_path / "both.ts"
    path.write_bytes(b"".join(part.read_bytes() for part in parts))
    with open_clip(path, "c") as clip:
        frames = [(frame.time_s, frame.picture().rgb) for frame in clip.frames()]
    # FFmpeg's decoder drops the frame it holds back where the size changes
    widths = [rgb.shape[1] for _, rgb in frames]
    assert widths == [256] * 11 + [512] * 12
    assert [number_of(rgb) for _, rgb in frames] == [*range(11), *range(12)]
    assert [time_s for time_s, _ in frames] == [Fraction(n, 25) for n in range(23)]
    assert_scene(frames[-1][1])
    numbers, error = read_until_it_stops(path, max_pixels=256 * 144)
    assert numbers in (list(range(11)), list(range(12)))
    assert isinstance(error, MediaError)


def test_a_decoder_that_stays_silent(tmp_path, monkeypatch):
    path = a_clip(tmp_path / "c.mov", Recipe(frames=40))
    now = iter(range(0, 100_000, 5))
    monkeypatch.setattr(clip_decoder.time, "monotonic", lambda: float(next(now)))
    monkeypatch.setattr(clip_decoder.Decoder, "_decoded", lambda _self, _packet: [])
    with pytest.raises(OverLimit, match="gave nothing for 12 s in its frames"):
        open_clip(path, "c", ClipLimits(max_silence_s=12))


def test_the_time_that_the_caller_takes_does_not_count(tmp_path, monkeypatch):
    path = a_clip(tmp_path / "c.mov", Recipe(frames=40))
    clock = [0.0]
    monkeypatch.setattr(clip_decoder.time, "monotonic", lambda: clock[0])
    with open_clip(path, "c", ClipLimits(max_silence_s=12)) as clip:
        for _frame in clip.frames():
            clock[0] += 100


@pytest.mark.parametrize("field", list(ClipLimits.__dataclass_fields__))
def test_limits_make_sense(field):
    with pytest.raises(ValueError, match=field):
        ClipLimits(**{field: -1})


def test_memory_does_not_grow_with_the_clip(tmp_path):
    """3,000 frames of 86 kB each would be 260 MB if a copy of each stayed."""
    recipe = Recipe(codec="mpeg4", wh=(320, 180), frames=3000, options={"g": "50"})
    picture = a_picture(320, 180)
    path = a_clip(tmp_path / "c.mp4", recipe, lambda _number: picture)
    process, sizes = psutil.Process(), []
    with open_clip(path, "c") as clip:
        for frame in clip.frames():
            frame.small  # noqa: B018
            if frame.index % 100 == 0:
                frame.picture()
                sizes.append(process.memory_info().rss)
    assert len(sizes) == 30
    assert max(sizes[5:]) - sizes[5] < 6_000_000
