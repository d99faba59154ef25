"""Single frames by jumping: the same pictures as a whole pass gives."""

import av
import numpy as np
import pytest

from framecheck.errors import MediaError
from framecheck.media import clip_seek
from framecheck.media.clip_seek import read_frames_at

COUNT = 640


def write_counting(path, codec="libx264", group=48, rate=25, start=0, **options):
    """A clip whose every frame shows its number as bars of bits."""
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=rate)
        stream.width, stream.height, stream.pix_fmt = 320, 180, "yuv420p"
        stream.gop_size = group
        stream.options = options
        for number in range(COUNT):
            bits = [(number >> place) & 1 for place in range(10)]
            grey = np.repeat(np.array(bits, dtype=np.uint8) * 200 + 20, 32)
            picture = np.broadcast_to(grey[None, :, None], (180, 320, 3))
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(picture), format="rgb24")
            frame.pts = number + start
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    return path


def number_of(rgb):
    bits = rgb[90, 16::32, 1] > 120
    return sum(int(bit) << place for place, bit in enumerate(bits))


WANTED = (3, 320, 639)


@pytest.mark.parametrize(
    ("name", "codec", "options"),
    [
        ("a.mp4", "libx264", {"bf": "3"}),
        ("a.mov", "mpeg4", {}),
        ("a.mkv", "libx264", {"bf": "2"}),
        ("long.mp4", "libx264", {"group": 640}),
        ("a.ts", "libx264", {}),
        ("a.avi", "mpeg4", {}),
    ],
)
def test_each_frame_is_the_one_that_was_asked_for(tmp_path, monkeypatch, name, codec, options):
    path = write_counting(tmp_path / name, codec, **options)
    monkeypatch.setattr(clip_seek, "SPARSE_FRAMES", 100)
    found = read_frames_at(path, {number: number / 25 for number in WANTED})
    assert {index: number_of(rgb) for index, rgb in found.items()} == {n: n for n in WANTED}


def test_jumping_and_a_whole_pass_give_the_same_pictures(tmp_path, monkeypatch):
    path = write_counting(tmp_path / "a.mp4", bf="3")
    wanted = {number: number / 25 for number in WANTED}
    whole = read_frames_at(path, wanted)  # 213 frames apart: not sparse
    monkeypatch.setattr(clip_seek, "SPARSE_FRAMES", 100)
    monkeypatch.setattr(clip_seek, "_decode", lambda *_some: pytest.fail("was to be jumped to"))
    jumped = read_frames_at(path, wanted)
    for number in WANTED:
        assert np.array_equal(whole[number], jumped[number])


def test_a_time_that_no_frame_has_falls_back_to_a_whole_pass(tmp_path, monkeypatch):
    path = write_counting(tmp_path / "a.mp4")
    monkeypatch.setattr(clip_seek, "SPARSE_FRAMES", 100)
    found = read_frames_at(path, {400: 400 / 25 + 0.02, 600: 24.0})  # told half a frame off
    assert {index: number_of(rgb) for index, rgb in found.items()} == {400: 400, 600: 600}


def test_nothing_wanted_nothing_read(tmp_path):
    assert read_frames_at(tmp_path / "missing.mp4", {}) == {}
    with pytest.raises(MediaError):
        read_frames_at(tmp_path / "missing.mp4", {1: 0.1})
