"""Edit decision lists: the published layout, a list of an independent writer, and bad ones."""

import io
import time
from pathlib import Path

import pycmx
import pytest

from framecheck.errors import ConfigError
from framecheck.media.cut_order import read_cut_order
from framecheck.media.cut_order_edl import parse_edl

# The layout of columns and comments is that of the samples of the OpenTimelineIO project's CMX 3600
# adapter and of the sample list in an editing controller's manual; the names here are made up.
SAMPLE = """\
TITLE:   Boat shed, second cut
FCM: NON-DROP FRAME

001  A001C002 V     C        01:00:04:05 01:00:05:12 00:59:53:11 00:59:54:18
* FROM CLIP NAME:  A001 C002.mov
* LOC: 01:00:01:14 RED     ANIM FIX NEEDED
002  B7       AA/V  C        00:00:10:00 00:00:12:00 00:59:54:18 00:59:56:18
003  AX       V     C        01:00:06:15 01:00:08:09 00:59:56:18 00:59:58:12
* FROM CLIP NAME:  close
* SOURCE FILE: D:\\RUSHES\\day 3\\close.mp4
004  B7       A     C        00:00:10:00 00:00:12:00 00:59:58:12 01:00:00:12
005  BL       V     C        00:00:00:00 00:00:01:00 01:00:00:12 01:00:01:12
006  A001C002 V     C        01:00:08:08 01:00:08:08 01:00:01:12 01:00:01:12
006  B7       V     D    010 01:00:08:08 01:00:08:18 01:00:01:12 01:00:01:22
* FROM CLIP NAME:  A001 C002.mov
* TO CLIP NAME:  B7.mov
M2   B7             047.6                01:00:08:08
"""


def beside(name, folder):
    return str(folder / name)


def write(tmp_path, text=SAMPLE, name="second cut.edl"):
    path = tmp_path / name
    path.write_text(text, "utf-8")
    return path


def test_the_events_in_order(tmp_path) -> None:
    for name in ("A001 C002.mov", "B7.mov", "close.mp4"):
        (tmp_path / name).touch()
    order = read_cut_order(write(tmp_path))
    assert order.name == "Boat shed, second cut"
    assert [entry.file for entry in order.entries] == [
        "A001 C002.mov", "B7.mov", "close.mp4", "B7.mov",
    ]  # fmt: skip
    first = order.entries[0]
    assert (first.from_timecode, first.to_timecode) == ("01:00:04:05", "01:00:05:12")
    assert first.path == str(tmp_path / "A001 C002.mov")
    assert first.where == "line 4"
    assert "black" in order.notes[0]
    assert "speed" in order.notes[1]


def test_an_independent_reader_sees_the_same_picture_events(tmp_path) -> None:
    edits = [
        edit
        for event in pycmx.parse_cmx3600(io.StringIO(SAMPLE)).events
        for edit in event.edits
        if edit.channels.video and edit.source_in != edit.source_out and edit.source != "BL"
    ]
    order = parse_edl(SAMPLE, tmp_path / "a.edl", beside)
    assert [(entry.from_timecode, entry.to_timecode) for entry in order.entries] == [
        (edit.source_in, edit.source_out) for edit in edits
    ]


def test_drop_frame_keeps_its_mark(tmp_path) -> None:
    text = "FCM: DROP FRAME\n001 B7 V C 01:00:00;02 01:00:01;00 00:00:00;00 00:00:00;28\n"
    (entry,) = parse_edl(text, tmp_path / "a.edl", beside).entries
    assert (entry.from_timecode, entry.to_timecode) == ("01:00:00;02", "01:00:01;00")


def test_the_frame_code_mode_counts_where_codes_have_colons_alone(tmp_path) -> None:
    event = "B7 V C 01:00:00:02 01:00:01:00 00:00:00:00 00:00:00:28\n"
    modes = ("FCM: NON-DROP FRAME", "FCM: DROP FRAME", "fcm: drop frame", "FCM: NON DROP FRAME")
    text = "TITLE: t\n" + "".join(f"{mode}\n{n:03d} {event}" for n, mode in enumerate(modes, 1))
    entries = parse_edl(text, tmp_path / "a.edl", beside).entries
    assert [entry.from_timecode for entry in entries] == [
        "01:00:00:02", "01:00:00;02", "01:00:00;02", "01:00:00:02",
    ]  # fmt: skip


@pytest.mark.parametrize(
    "named", ["/etc/passwd", "../../secret.mov", "C:\\Windows\\system.ini", "//host/share/x.mov"]
)
def test_folders_that_a_list_names_are_left_out(tmp_path, named) -> None:
    text = f"001 AX V C 00:00:00:00 00:00:01:00 00:00:00:00 00:00:01:00\n* SOURCE FILE: {named}\n"
    (entry,) = parse_edl(text, tmp_path / "a.edl", beside).entries
    assert Path(entry.path).parent == tmp_path
    assert entry.file in {"passwd", "secret.mov", "system.ini", "x.mov"}


def test_missing_sources_are_told(tmp_path) -> None:
    with pytest.raises(ConfigError, match="not there"):
        read_cut_order(write(tmp_path))


@pytest.mark.parametrize(
    "text",
    [
        "", "TITLE: nothing\n", "\0\0\0", "<xml/>", "001 A V C 1 2 3 4\n",
        "001 A V C 01:00:00:00 01:00:01:00 00:00:00:00\n", "x" * 3_000_000,
    ],
)  # fmt: skip
def test_what_is_no_list_gets_one_clear_line(tmp_path, text) -> None:
    with pytest.raises(ConfigError) as caught:
        read_cut_order(write(tmp_path, text), check_files=False)
    assert "second cut.edl" in str(caught.value)
    assert len(str(caught.value)) < 400


def test_long_runs_of_blanks_take_no_time(tmp_path) -> None:
    blanks = " " * 1900
    lines = [f"001 B7 V C{blanks}x\n", f"* FROM CLIP NAME{blanks}x\n"]
    event = "001 B7 V C 00:00:00:00 00:00:01:00 00:00:00:00 00:00:01:00\n"
    start_s = time.perf_counter()
    order = parse_edl(event + "".join(lines * 1000), tmp_path / "a.edl", beside)
    assert time.perf_counter() - start_s < 5  # quadratic, it took 8 ms a line
    assert len(order.entries) == 1


def test_a_list_of_black_alone_names_no_shots(tmp_path) -> None:
    text = "001 BL V C 00:00:00:00 00:00:01:00 00:00:00:00 00:00:01:00\n"
    with pytest.raises(ConfigError, match="names no shots"):
        read_cut_order(write(tmp_path, text), check_files=False)


def test_lists_nobody_vouches_for(tmp_path) -> None:
    path = tmp_path / "b.edl"
    path.write_bytes(b"\xff\xfe\x00\x01" * 1000)
    with pytest.raises(ConfigError, match="UTF-8"):
        read_cut_order(path)
    lines = "001 A V C 00:00:00:00 00:00:01:00 00:00:00:00 00:00:01:00\n" * 100_001
    with pytest.raises(ConfigError, match="more than"):
        read_cut_order(write(tmp_path, lines), check_files=False)
