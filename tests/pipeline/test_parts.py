"""Small parts of the pipeline: pixels, timecodes, the estimate, what was drawn, the wire."""

import math
import os
import pickle
from fractions import Fraction
from multiprocessing import Pipe
from pathlib import Path
from threading import Thread

import numpy as np
import pytest

from framecheck.errors import CannotDecode, ExportError
from framecheck.export.rows import rows_of_frame
from framecheck.pipeline.drawn import Drawn
from framecheck.pipeline.estimate import FIRST_BYTES_A_FRAME, STILL_FRAMES, Estimate
from framecheck.pipeline.identify import identify
from framecheck.pipeline.scaling import in_file_pixels
from framecheck.pipeline.signature import CHANGED, GONE, sign, what_happened
from framecheck.pipeline.timecodes import timecode_track
from framecheck.pipeline.trouble import trouble_of
from framecheck.pipeline.wire import receive, send
from framecheck.records.clips import ClipHeader
from tests.report.figures import a_result


def test_readings_in_pixels_follow_the_file_and_shares_stay():
    small = a_result(1280, 720, people=[{"x": 0.4}, {"x": 0.8, "stature": 1.2}]).measurement
    large = a_result(3840, 2160, people=[{"x": 0.4}, {"x": 0.8, "stature": 1.2}]).measurement
    scaled = in_file_pixels(small, (3840, 2160))
    assert (scaled.width_px, scaled.height_px) == (3840, 2160)
    for got, wanted in zip(scaled.people, large.people, strict=True):
        assert got.box.x_px == pytest.approx(wanted.box.x_px)
        assert got.box.h_px == pytest.approx(wanted.box.h_px)
        assert got.nose_px == pytest.approx(wanted.nose_px)
        for name in ("crown_y_px", "chin_y_px", "head_height_px", "crop_level", "headroom_frac"):
            assert getattr(got, name) == pytest.approx(getattr(wanted, name))
        assert got.ruler.figure_px == pytest.approx(wanted.ruler.figure_px)
        for mark, other in zip(got.ruler.marks, wanted.ruler.marks, strict=True):
            assert (mark.x_px, mark.y_px) == pytest.approx((other.x_px, other.y_px))
        for joint, other in zip(got.joints, wanted.joints, strict=True):
            assert (joint.x_px, joint.y_px) == pytest.approx((other.x_px, other.y_px))
        assert np.allclose(got.skeleton_px, wanted.skeleton_px)
        assert got.left_cut == wanted.left_cut  # with its reason
    assert in_file_pixels(small, (1280, 720)) is small


def test_every_column_in_pixels_is_scaled():
    """A column in pixels that the scaling forgets would be wrong by the factor."""
    small, large = a_result(1280, 720), a_result(2560, 1440)
    scaled = in_file_pixels(small.measurement, (2560, 1440))
    import dataclasses

    for mine, wanted in zip(
        rows_of_frame(dataclasses.replace(small, measurement=scaled)),
        rows_of_frame(large),
        strict=True,
    ):
        for got, other in zip(
            mine if isinstance(mine, list) else [mine],
            wanted if isinstance(wanted, list) else [wanted],
            strict=True,
        ):
            pixels = {name: value for name, value in got.items() if name.endswith("_px")}
            assert len(pixels) >= 6
            assert pixels == pytest.approx({name: other[name] for name in pixels})


def a_header(rate, start="", *, drop=False):
    return ClipHeader(
        file="a.mov", width_px=1920, height_px=1080, coded_width_px=1920, coded_height_px=1080,
        pixel_aspect=Fraction(1), rotation_deg=0, rate=Fraction(rate), variable_rate=False,
        start_timecode=start, drop_frame=drop, duration_s=None, codec="h264", bits=8,
        interlaced=False,
    )  # fmt: skip


NTSC = Fraction(30000, 1001)


@pytest.mark.parametrize(
    ("header", "frame", "timecode"),
    [
        (a_header(24), 0, "00:00:00:00"),
        (a_header(24), 100, "00:00:04:04"),
        (a_header(25, "10:00:00:00"), 49, "10:00:01:24"),
        (a_header(Fraction(24000, 1001), "01:00:00:00"), 24, "01:00:01:00"),
        # SMPTE ST 12-1: two numbers are left out at each full minute but every tenth
        (a_header(NTSC, "00:00:59;29", drop=True), 1, "00:01:00;02"),
        (a_header(NTSC, "00:09:59;29", drop=True), 1, "00:10:00;00"),
        (a_header(NTSC, "00:00:59:29"), 1, "00:01:00:00"),
        (a_header(NTSC, drop=True), 1800, "00:01:00;02"),
        (a_header(25, "23:59:59:24"), 1, "00:00:00:00"),
        (a_header(25, "10:00:00:29"), 25, "00:00:01:00"),  # a start that the rate cannot have
    ],
)
def test_timecodes_of_frames(header, frame, timecode):
    assert timecode_track(header).at(frame / header.rate) == timecode


def test_a_clip_of_varying_rate_is_numbered_by_its_clock():
    track = timecode_track(a_header(25))
    assert [track.at(Fraction(ms, 1000)) for ms in (0, 41, 500, 1007)] == [
        "00:00:00:00", "00:00:00:01", "00:00:00:13", "00:00:01:00",
    ]  # fmt: skip


def test_the_estimate_counts_all_work_in_frames():
    work = Estimate(100.0)
    assert work.share() == 1.0  # nothing to do
    work.expect_still(0)
    work.expect_clip(1, 6_000_000)
    work.expect_clip(2, 3_000_000)
    assert work.share() == 0.0
    assert work.left_s(200.0) is None
    work.open_clip(1, 1000)  # 6000 bytes a frame, so that the other has 500
    work.advance(1, 250)
    assert work.share_of(1) == 0.25
    assert work.share_of(2) is None
    assert work.share() == pytest.approx(250 / (STILL_FRAMES + 1500))
    work.end(0)
    done = STILL_FRAMES + 250
    assert work.left_s(160.0) == pytest.approx(60 * (STILL_FRAMES + 1500 - done) / done)
    work.drop(2)
    work.end(1)
    assert work.share() == 1.0
    assert work.left_s(160.0) == 0.0


def test_before_a_clip_is_opened_its_size_tells_its_length():
    work = Estimate(0.0)
    work.expect_clip(0, int(1000 * FIRST_BYTES_A_FRAME))
    work.expect_still(1)
    work.end(1)
    assert work.share() == pytest.approx(STILL_FRAMES / (1000 + STILL_FRAMES))
    work.advance(0, 5000)  # more than was expected is not more than all
    assert work.share() == 1.0


def test_what_was_drawn_is_known_as_long_as_it_is_there(tmp_path):
    name = os.fsdecode(b"o/caf\xe9.jpg")
    (tmp_path / "o").mkdir()
    (tmp_path / name).touch()
    drawn = Drawn(tmp_path, "o")
    assert not drawn.has(name, "one")
    drawn.note(name, "one")
    drawn.note("o/gone.jpg", "one")
    for known in (drawn, Drawn(tmp_path, "o")):
        assert known.has(name, "one")
        assert not known.has(name, "two")
        assert not known.has("o/gone.jpg", "one")
    with (tmp_path / "o" / "drawn.jsonl").open("ab") as file:
        file.write(b'{"overlay": "o/torn')
    assert Drawn(tmp_path, "o").has(name, "one")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_disk_that_is_full_is_told_when_a_drawing_is_noted(tmp_path):
    (tmp_path / "o").mkdir()
    drawn = Drawn(tmp_path, "o")
    (tmp_path / "o" / "drawn.jsonl").symlink_to("/dev/full")
    with pytest.raises(ExportError, match="No space left"):
        drawn.note("o/a.jpg", "one")


@pytest.mark.parametrize(
    "content",
    [
        {"a": 1},
        np.arange(24, dtype=np.uint8).reshape(2, 4, 3),
        [np.zeros((0, 3), dtype=np.uint8), np.ones(5000), "words"],
        np.arange(24).reshape(4, 6)[:, ::2],
    ],
    ids=["dict", "array", "empty and full", "with gaps"],
)
def test_the_wire_brings_everything_whole(content):
    ours, theirs = Pipe()
    send(ours, content)
    got = receive(theirs)
    if isinstance(content, list):
        assert all(np.array_equal(a, b) for a, b in zip(got, content, strict=True))
    else:
        assert np.array_equal(got, content)
    send(theirs, None)
    assert receive(ours) is None
    theirs.close()
    with pytest.raises((EOFError, OSError)):
        receive(ours)


def test_pictures_larger_than_the_pipe_come_whole_and_in_order():
    ours, theirs = Pipe()
    pictures = [np.full((720, 1280, 3), n, np.uint8) for n in range(3)]
    pictures[1][5, 7] = (200, 100, 50)
    sender = Thread(target=send, args=(ours, pictures))
    sender.start()
    got = receive(theirs)
    sender.join()
    assert all(np.array_equal(a, b) for a, b in zip(got, pictures, strict=True))


def test_a_sender_that_goes_in_the_middle_of_a_picture_is_told():
    ours, theirs = Pipe()
    # the announcement of an array whose bytes never come
    ours.send_bytes(pickle.dumps((pickle.dumps(None, protocol=5), [1000])))
    ours.close()
    with pytest.raises((EOFError, OSError)):
        receive(theirs)


def test_errors_become_two_cells():
    assert trouble_of(CannotDecode("a.mov\nstops", where="a.mov"), "decoding") == (
        trouble_of(CannotDecode("a.mov stops"), "decoding")
    )
    at = trouble_of(CannotDecode("stops", where="frame 7 (00:00:00:07)"), "decoding")
    assert at.where == "frame 7 (00:00:00:07)"
    assert trouble_of(MemoryError(), "measuring").why == "not enough memory"
    try:
        math.sqrt(-1)
    except ValueError as error:
        odd = trouble_of(error, "measuring")
    assert odd.why.startswith("unexpected ValueError: ")
    assert odd.where.startswith("measuring (test_parts.py:")


def test_a_signature_changes_with_size_and_date(tmp_path):
    one, two = tmp_path / "1", tmp_path / "2"
    one.write_bytes(b"abc")
    two.write_bytes(b"defg")
    before = sign([one, two])
    assert before[0] == 7
    assert what_happened([one, two], before) == ""
    os.utime(two, ns=(0, before[1] + 1))
    assert what_happened([one, two], before) == CHANGED
    two.unlink()
    assert what_happened([one, two], before) == GONE


def test_numbered_frames_are_identified_as_one(tmp_path):
    files = tuple(tmp_path / f"{n:02}.png" for n in range(3))
    for n, file in enumerate(files):
        file.write_bytes(bytes([n]))
    identity = identify(files)
    assert identity.trouble is None
    assert identity.signature == sign(files)
    assert identity.content != identify(files[:2]).content
    files[1].unlink()
    gone = identify(files)
    assert gone.content == ""
    assert (gone.trouble.why, gone.trouble.where) == (GONE, "reading")
