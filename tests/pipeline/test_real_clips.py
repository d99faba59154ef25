"""Encoded clips through the real readers: what the parts promise each other, and the networks."""

import dataclasses
from fractions import Fraction

import av
import cv2
import numpy as np
import pytest

from framecheck.pipeline.order import RunLimits
from framecheck.pipeline.plan import plan_order, real_tools
from framecheck.pipeline.run import measure_to_tables
from framecheck.pipeline.settings import Settings
from tests.pipeline.conftest import ROOT
from tests.pipeline.fakes import provide_fake, write_real_overlay
from tests.pipeline.runs import files_in, rows_in

SIZE_WH = (320, 180)


def write_clip(path, pictures, *, rate=24, timecode=""):
    """Encode pictures (height, width, 3) in the order red, green, blue."""
    with av.open(str(path), "w") as container:
        if timecode:
            container.metadata["timecode"] = timecode
        stream = container.add_stream("libx264", rate=Fraction(rate), options={"crf": "12"})
        stream.height, stream.width = pictures[0].shape[:2]
        stream.pix_fmt = "yuv420p"
        for picture in pictures:
            frame = av.VideoFrame.from_ndarray(np.ascontiguousarray(picture), format="rgb24")
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    return path


def a_shot(seed, frames, *, bar=0):
    """A picture of coloured blocks that a camera moves over slowly."""
    draw = np.random.default_rng(seed)
    blocks = draw.integers(60, 236, size=(12, 20, 3), dtype=np.uint8)
    wide = cv2.resize(blocks, (400, 220), interpolation=cv2.INTER_NEAREST)
    shot = [wide[20:200, 10 + n // 4 : 330 + n // 4].copy() for n in range(frames)]
    for picture in shot:
        if bar:
            picture[:bar] = picture[-bar:] = 16
    return shot


def measure(paths, out, *, fake=True, **settings):
    tools = real_tools(write_real_overlay)
    if fake:
        tools = dataclasses.replace(tools, provide_measurer=provide_fake)
    order = plan_order([str(path) for path in paths], out, Settings(**settings), tools)
    return measure_to_tables(dataclasses.replace(order, limits=RunLimits(workers=1)))


def test_a_clip_with_cuts_and_a_timecode(tmp_path):
    pictures = [*a_shot(1, 48), *a_shot(2, 60), *a_shot(3, 36)]
    rate = Fraction(30000, 1001)
    clip = write_clip(tmp_path / "a.mov", pictures, rate=rate, timecode="00:00:59;00")
    measure([clip], tmp_path / "out")
    assert list(files_in(tmp_path / "out").values()) == [("measured", "", "")]
    file = rows_in(tmp_path / "out", "files")[0]
    assert (file["shots"], file["rate_fps"], file["codec"]) == ("3", "29.970", "h264")
    shots = rows_in(tmp_path / "out", "shots")
    told = [(row["start_frame"], row["end_frame"], row["start_timecode"]) for row in shots]
    # drop-frame: 00:01:00;00 and ;01 are left out, so that frame 48 is 18 after the minute
    assert told == [
        ("0", "48", "00:00:59;00"),
        ("48", "108", "00:01:00;20"),
        ("108", "144", "00:01:02;20"),
    ]
    assert [row["transition"] for row in shots] == ["start", "cut", "cut"]


def test_black_bars_belong_to_the_whole_clip(tmp_path):
    pictures = [*a_shot(1, 36, bar=22), *a_shot(2, 36, bar=22), *a_shot(3, 36, bar=22)]
    measure([write_clip(tmp_path / "a.mp4", pictures)], tmp_path / "out")
    frames = rows_in(tmp_path / "out", "frames")
    assert {(row["picture_y_px"], row["picture_h_px"]) for row in frames} == {("22", "136")}


def test_numbered_frames_are_one_clip(tmp_path):
    folder = tmp_path / "take"
    folder.mkdir()
    for number, picture in enumerate([*a_shot(1, 20), *a_shot(2, 20)]):
        cv2.imwrite(str(folder / f"take-{number:04}.png"), picture[..., ::-1])
    rate = Fraction(25)
    summary = measure([folder], tmp_path / "out", frames_as_clip=True, frame_rate=rate)
    assert [row["file"] for row in summary.files] == [str(folder / "take-####.png")]
    assert [row["end_timecode"] for row in rows_in(tmp_path / "out", "shots")] == [
        "00:00:00:20",
        "00:00:01:15",
    ]
    again = measure([folder], tmp_path / "out", frames_as_clip=True, frame_rate=rate)
    assert again.taken_over == 1


def test_a_clip_that_is_cut_off_is_told_with_the_place(tmp_path):
    clip = write_clip(tmp_path / "a.ts", [*a_shot(1, 48), *a_shot(2, 48), *a_shot(3, 48)])
    content = clip.read_bytes()
    torn = tmp_path / "torn.mp4"
    write_clip(torn, [*a_shot(1, 48), *a_shot(2, 48)])
    torn.write_bytes(torn.read_bytes()[:5000])  # its index is at the end
    broken = tmp_path / "broken.ts"
    broken.write_bytes(content[: len(content) // 2] + bytes(len(content) // 2))
    measure([torn, broken, clip], tmp_path / "out")
    told = files_in(tmp_path / "out")
    assert told[str(torn)][0] == "failed"
    assert told[str(clip)] == ("measured", "", "")
    kept = [row for row in rows_in(tmp_path / "out", "shots") if row["file"] == str(broken)]
    assert kept[0]["end_frame"] == "48"


@pytest.mark.model
def test_a_push_in_on_a_sample_frame_is_measured_with_the_networks(tmp_path):
    still = cv2.imread(f"{ROOT}/sample_frames/09-builder-chest.jpg")[..., ::-1]
    height, width = still.shape[:2]
    pictures = []
    for number in range(60):
        share = 1.0 - 0.4 * number / 59
        w, h = round(width * share), round(height * share)
        left, top = (width - w) // 2, round((height - h) * 0.35)
        view = still[top : top + h, left : left + w]
        pictures.append(cv2.resize(view, (960, 540), interpolation=cv2.INTER_AREA))
    clip = write_clip(tmp_path / "push.mp4", pictures)
    summary = measure([clip], tmp_path / "out", fake=False)
    (shot,) = summary.shots
    assert (shot["people"], shot["shot_type"]) == (1, "single")
    assert shot["size_change"] == "tightening"
    assert shot["size_start"] == "medium close-up"
    assert shot["size_end"] != shot["size_start"]
    levels = [row["crop_level"] for row in rows_in(tmp_path / "out", "frames")]
    assert [float(level) for level in levels] == sorted(float(level) for level in levels)
