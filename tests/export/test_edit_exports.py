"""Edit exports, read back by libraries that share nothing with the writers."""

import io
from fractions import Fraction

import opentimelineio as otio
import pycmx
import pytest
import webvtt

from framecheck.errors import ConfigError
from framecheck.export.edit_words import shot_line, shot_title
from framecheck.export.edl import encode_edl, reel_names
from framecheck.export.otio_timeline import NAMESPACE, encode_otio
from framecheck.export.webvtt import encode_webvtt
from framecheck.media.cut_order import read_cut_order
from framecheck.records.edit import NumberedFrames
from framecheck.units import parse_timecode
from tests.export.edits import NTSC, a_clip, a_shot

RATES = (
    Fraction(24000, 1001),
    Fraction(24),
    Fraction(25),
    NTSC,
    Fraction(50),
    Fraction(60000, 1001),
)


def timeline_of(*clips):
    text = encode_otio("day 3", clips).decode()
    return otio.adapters.read_from_string(text, "otio_json")


@pytest.mark.parametrize("rate", RATES, ids=str)
def test_shots_become_clips_at_exact_frames(rate) -> None:
    timeline = timeline_of(a_clip(rate=rate, first_frame=3600))
    clips = list(timeline.find_clips())
    assert [clip.source_range.start_time.value for clip in clips] == [3600, 3650]
    assert [clip.source_range.duration.value for clip in clips] == [50, 40]
    for clip in clips:
        assert clip.source_range.start_time.rate == float(rate)
        assert Fraction(clip.metadata[NAMESPACE]["frame_rate"]) == rate
        assert clip.source_range.start_time.value.is_integer()
        assert clip.media_reference.available_range.start_time.value == 3600
        assert clip.media_reference.available_range.duration.value == 90
    assert timeline.duration().value == 90


def test_measurements_are_metadata_under_one_name() -> None:
    clip = next(iter(timeline_of(a_clip()).find_clips()))
    assert set(clip.metadata) == {NAMESPACE}
    assert clip.metadata[NAMESPACE]["crop_level"] == 0.713
    assert clip.metadata[NAMESPACE]["shot_type"] == "single"
    assert clip.media_reference.target_url == "A001%20C002.mov"


def test_sizes_and_flags_are_markers() -> None:
    first, second = timeline_of(a_clip(first_frame=1000)).find_clips()
    assert [marker.name for marker in first.markers] == ["MCU single"]
    assert [marker.name for marker in second.markers] == ["FS single", "knee, headroom"]
    assert second.markers[1].marked_range.start_time.value == 1070
    assert second.source_range.contains(second.markers[1].marked_range)


def test_numbered_frames_are_an_image_sequence() -> None:
    frames = NumberedFrames(prefix="take-", digits=4, suffix=".jpg", first=1001)
    clip = a_clip("take-####.jpg", url="../frames/", numbered=frames, rate=Fraction(25))
    found = next(iter(timeline_of(clip).find_clips())).media_reference
    assert isinstance(found, otio.schema.ImageSequenceReference)
    assert found.target_url_for_image_number(0) == "../frames/take-1001.jpg"
    assert found.number_of_images_in_sequence() == 90
    assert found.rate == 25


def test_a_round_trip_keeps_everything() -> None:
    timeline = timeline_of(a_clip(), a_clip("b.mov", url="../b.mov", rate=NTSC))
    again = otio.adapters.read_from_string(
        otio.adapters.write_to_string(timeline, "otio_json"), "otio_json"
    )
    assert again.is_equivalent_to(timeline)
    assert len(list(again.find_clips())) == 4


def cmx_of(*clips):
    (content,) = encode_edl("day 3", clips)
    return pycmx.parse_cmx3600(io.StringIO(content.decode("ascii")))


@pytest.mark.parametrize("rate", RATES, ids=str)
def test_an_independent_reader_finds_the_same_events(rate) -> None:
    found = cmx_of(a_clip(rate=rate, first_frame=3600))
    assert found.title == "day 3"
    events = list(found.events)
    assert [event.number for event in events] == [1, 2]
    edits = [event.edits[0] for event in events]
    codes = [parse_timecode(edit.source_in, rate)[0] for edit in edits]
    assert codes == [3600, 3650]
    assert [parse_timecode(edit.source_out, rate)[0] for edit in edits] == [3650, 3690]
    hour = parse_timecode("01:00:00:00", rate)[0]
    assert [parse_timecode(edit.record_in, rate)[0] for edit in edits] == [hour, hour + 50]
    assert [edit.clip_name for edit in edits] == ["A001 C002.mov"] * 2
    assert {edit.source for edit in edits} == {"A001C002"}
    assert all(edit.channels.video and edit.transition.cut for edit in edits)


def test_drop_frame_lists() -> None:
    # frame 1800 at 29.97 is 00:01:00;02 (OpenTimelineIO's tests of time)
    (content,) = encode_edl("d", [a_clip(rate=NTSC, drop=True, first_frame=1800)])
    lines = content.decode().splitlines()
    assert lines[1] == "FCM: DROP FRAME"
    assert " 00:01:00;02 00:01:01;22 01:00:00;00 01:00:01;20" in lines[3]
    found = cmx_of(a_clip(rate=NTSC, drop=True, first_frame=1800))
    assert next(iter(found.events)).edits[0].source_in == "00:01:00;02"


def test_another_reader_sees_the_same_picture() -> None:
    (content,) = encode_edl("d", [a_clip(rate=Fraction(24), first_frame=240)])
    timeline = otio.adapters.read_from_string(content.decode(), "cmx_3600", rate=24)
    clips = list(timeline.find_clips())
    assert [clip.source_range.start_time.to_frames() for clip in clips] == [240, 290]
    assert [marker.color for marker in clips[1].markers] == ["YELLOW", "ORANGE"]
    assert "knee, headroom" in clips[1].markers[1].name


def test_our_own_reader_takes_the_list(tmp_path) -> None:
    (tmp_path / "A001 C002.mov").touch()
    path = tmp_path / "cut.edl"
    path.write_bytes(encode_edl("cut", [a_clip()])[0])
    order = read_cut_order(path)
    assert [(entry.file, entry.from_timecode, entry.to_timecode) for entry in order.entries] == [
        ("A001 C002.mov", "00:00:00:00", "00:00:02:00"),
        ("A001 C002.mov", "00:00:02:00", "00:00:03:15"),
    ]


def test_what_an_editor_should_know_of_a_clip_is_said_once() -> None:
    (content,) = encode_edl("d", [a_clip(notes=("frame rate varies: é",))])
    assert content.decode().count("* frame rate varies: e") == 1
    assert len(list(pycmx.parse_cmx3600(io.StringIO(content.decode())).events)) == 2


def test_long_lists_are_cut_into_parts() -> None:
    shots = [a_shot(number, number * 10, number * 10 + 10) for number in range(1500)]
    parts = encode_edl("long", [a_clip(shots=shots)])
    assert len(parts) == 2
    events = [list(pycmx.parse_cmx3600(io.StringIO(part.decode())).events) for part in parts]
    assert [len(found) for found in events] == [999, 501]


def test_lists_of_two_rates_are_refused() -> None:
    with pytest.raises(ConfigError, match="one frame rate"):
        encode_edl("d", [a_clip(), a_clip("b.mov", rate=NTSC)])


def test_reels_are_legal_and_unlike() -> None:
    files = [
        "a/A001_C002_long.mov",
        "b/A001_C002_long.mov",
        "é.mov",
        "映像.mov",
        "BL.mov",
        "x.y.mov",
    ]
    reels = reel_names(files)
    assert len(set(reels.values())) == len(files)
    for reel in reels.values():
        assert 1 <= len(reel) <= 8
        assert reel.isascii()
        assert reel == "".join(char for char in reel if char.isdigit() or char.isupper())
    assert reels["a/A001_C002_long.mov"] == "A001C002"
    assert reels["é.mov"] == "E"
    assert "BL" not in reels.values()


def test_names_cannot_break_a_list() -> None:
    (content,) = encode_edl("t\n001 X", [a_clip("a\r\n002  X V C.mov")])
    lines = content.decode().splitlines()
    assert len([line for line in lines if line[:3].isdigit()]) == 2
    assert lines[0] == "TITLE: t 001 X"


def test_chapters_are_read_by_an_independent_reader() -> None:
    clip = a_clip(rate=NTSC, shots=[a_shot(0, 0, 100, size="a <b> & --> c"), a_shot(1, 100, 300)])
    captions = list(webvtt.from_string(encode_webvtt(clip).decode()))
    assert [caption.identifier for caption in captions] == ["shot-0", "shot-1"]
    # 100 frames of 30000/1001 are 3.3367 s, 300 are 10.01 s
    assert [caption.start for caption in captions] == ["00:00:00.000", "00:00:03.337"]
    assert captions[1].end == "00:00:10.010"
    assert captions[0].text.startswith("MCU single")


def test_words_of_a_shot() -> None:
    shot = a_shot(0, 0, 9, flags=("knee",), values={"people": 2, "shot_type": "two",
                                                    "size_change": "tightening"})  # fmt: skip
    assert shot_title(shot) == "MCU two"
    assert shot_line(shot) == "medium close-up, 2 people, tightening, flagged: knee"
    said = a_shot(0, 0, 9, flags=(), values={"people": 1, "confirmed": "size (measured medium)"})
    assert shot_line(said) == "medium close-up, 1 person, confirmed"
    bare = a_shot(4, 0, 9, size="", size_abbr="", values={})
    assert shot_title(bare) == "shot 4"
    assert shot_line(bare) == "no size"
