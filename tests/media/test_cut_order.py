"""Lists and timelines of shots."""

from fractions import Fraction

import pytest

from framecheck.errors import ConfigError
from framecheck.media.cut_order import is_cut_order, read_cut_order

otio = pytest.importorskip("opentimelineio")


@pytest.fixture
def folder(tmp_path):
    for name in ("a.jpg", "b.jpg", "clip one.mov"):
        (tmp_path / name).write_bytes(b"x")
    return tmp_path


def lay(folder, name, text):
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_a_plain_list_names_a_file_a_line(folder) -> None:
    path = lay(folder, "scene.txt", "# my cut\na.jpg\n\n  clip one.mov  \na.jpg\n")
    order = read_cut_order(path)
    assert order.name == "scene"
    assert [(entry.file, entry.where) for entry in order.entries] == [
        ("a.jpg", "line 2"), ("clip one.mov", "line 4"), ("a.jpg", "line 5"),
    ]  # fmt: skip
    assert order.entries[0].path == str(folder / "a.jpg")


def test_a_csv_tells_parts_of_clips(folder) -> None:
    path = lay(
        folder, "cut.csv",
        "\ufeffFile,shot,start_frame,end_frame,start_s,end_s,start_timecode,duration_s,note\n"
        "clip one.mov,3,,,,,,,x\n"
        "clip one.mov,,24,48,,,,,\n"
        'clip one.mov,,,,1.5,3,,,"a, b"\n'
        "clip one.mov,,,,,,01:00:02:00,,\n"
        "a.jpg,,,,,,,2.5,\n",
    )  # fmt: skip
    shot, frames, seconds, timecode, still = read_cut_order(path).entries
    assert shot.shot == 3
    assert (frames.from_frame, frames.to_frame) == (24, 48)
    assert (seconds.from_s, seconds.to_s) == (Fraction(3, 2), Fraction(3))
    assert timecode.from_timecode == "01:00:02:00"
    assert still.duration_s == Fraction(5, 2)
    assert still.where == "row 6"


def test_a_csv_without_a_header_is_a_list_of_files(folder) -> None:
    path = lay(folder, "cut.csv", "b.jpg\na.jpg\n")
    assert [entry.file for entry in read_cut_order(path).entries] == ["b.jpg", "a.jpg"]


def a_timeline(folder, *, second_track=False):
    timeline = otio.schema.Timeline(name="the edit")
    track = otio.schema.Track(kind="Video")
    clip = otio.schema.Clip(
        name="one",
        media_reference=otio.schema.ExternalReference(
            target_url=(folder / "clip one.mov").as_uri(),
            available_range=otio.opentime.TimeRange(
                otio.opentime.RationalTime(86400, 24), otio.opentime.RationalTime(240, 24)
            ),
        ),
        source_range=otio.opentime.TimeRange(
            otio.opentime.RationalTime(86424, 24), otio.opentime.RationalTime(36, 24)
        ),
    )
    still = otio.schema.Clip(
        name="still",
        media_reference=otio.schema.ExternalReference(target_url="a.jpg"),
        source_range=otio.opentime.TimeRange(
            otio.opentime.RationalTime(0, 24), otio.opentime.RationalTime(48, 24)
        ),
    )
    track.extend([clip, otio.schema.Gap(duration=otio.opentime.RationalTime(12, 24)), still])
    timeline.tracks.append(track)
    timeline.tracks.append(otio.schema.Track(kind="Audio"))
    if second_track:
        above = otio.schema.Track(kind="Video")
        above.append(otio.schema.Clip(
            name="b.jpg", source_range=otio.opentime.TimeRange(
                otio.opentime.RationalTime(0, 24), otio.opentime.RationalTime(12, 24)),
        ))  # fmt: skip
        timeline.tracks.append(above)
    path = folder / "edit.otio"
    otio.adapters.write_to_file(timeline, str(path))
    return path


def test_a_timeline_gives_the_clips_of_its_video_track(folder) -> None:
    order = read_cut_order(a_timeline(folder))
    assert order.name == "the edit"
    clip, still = order.entries
    assert clip.path == str(folder / "clip one.mov")
    assert (clip.from_s, clip.to_s) == (1, Fraction(5, 2))  # from the first frame of the file
    assert (still.path, still.duration_s) == (str(folder / "a.jpg"), 2)


def test_what_lies_above_hides_what_lies_below(folder) -> None:
    """Half a second of another clip over the first: it is cut in, and the rest follows."""
    order = read_cut_order(a_timeline(folder, second_track=True))
    assert [entry.file.rpartition("/")[2] for entry in order.entries] == [
        "b.jpg", "clip one.mov", "a.jpg",
    ]  # fmt: skip
    assert order.entries[1].from_s == Fraction(3, 2)


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        ("a.txt", "", "names no shots"),
        ("a.txt", "# nothing\n\n", "names no shots"),
        ("a.txt", "gone.jpg\nb.jpg\nlost.mov\n",
         r"not there: gone.jpg \(line 1\), lost.mov \(line 3\); names count"),
        ("a.txt", "".join(f"x{n}.jpg\n" for n in range(9)), "and 6 more"),
        ("a.csv", "file,shot\na.jpg,two\n", "row 2: shot must be a whole number"),
        ("a.csv", "file,start_s\na.jpg,-1\n", "row 2: start_s must be seconds"),
        ("a.csv", "file,start_s\na.jpg,1e999999999\n", "start_s must be seconds"),
        ("a.csv", "file,start_frame,end_frame\na.jpg,9,9\n", "row 2: it ends at 9"),
        ("a.csv", "shot,file\n3,\n", "row 2: no file is named"),
        ("a.csv", 'file\n"a.jpg\n', "not valid CSV"),
        ("a.otio", "", "no timeline that can be read"),
        ("a.otio", "{}", "no timeline that can be read"),
        ("a.otio", "not json", "no timeline that can be read"),
        ("a.otio", '{"OTIO_SCHEMA": "Clip.2", "name": "x"}', "no timeline that can be read"),
        ("a.otio", '{"a":' + "[" * 100_000 + "]" * 100_000 + "}", "nested too deep"),
        ("a.otio", "[" * 1_000_000, "nested too deep"),
    ],
)  # fmt: skip
def test_bad_lists_are_refused_in_one_line(folder, name, text, said) -> None:
    with pytest.raises(ConfigError, match=said):
        read_cut_order(lay(folder, name, text))


def test_a_hostile_text_is_gone_through_once(folder) -> None:
    # a string that is never closed, full of quotes: from each of them to the end would take hours
    path = lay(folder, "a.otio", '"' + '\\"' * 2_000_000 + "\\")
    with pytest.raises(ConfigError, match="no timeline that can be read"):
        read_cut_order(path)


@pytest.mark.parametrize("text", ["{", "{}}", '{"a": 1,}', '{"a": 1} {}', "\0"])
def test_the_library_never_sees_what_is_no_json(folder, monkeypatch, text) -> None:
    """Its reader is in C++ and crashes the whole program on some of that."""
    seen = []
    monkeypatch.setattr(otio.adapters, "read_from_string", lambda *words: seen.append(words))
    with pytest.raises(ConfigError, match="no timeline that can be read"):
        read_cut_order(lay(folder, "a.otio", text))
    assert not seen


@pytest.mark.parametrize("wrong", [1e300, -1e300, 1e13])
def test_times_that_are_none(folder, wrong) -> None:
    path = a_timeline(folder)
    content = path.read_text().replace('"value": 86424.0', f'"value": {wrong!r}')
    assert repr(wrong) in content
    with pytest.raises(ConfigError, match="are no time"):
        read_cut_order(lay(folder, "b.otio", content))


def test_names_of_timelines_play_no_tricks(folder) -> None:
    path = a_timeline(folder)
    content = path.read_text().replace('"the edit"', '"a\\u001b[2J\\n' + "x" * 999 + '"')
    name = read_cut_order(lay(folder, "b.otio", content)).name
    assert name.startswith("a\\x1b[2J\\nxx")
    assert len(name) == 200


def test_a_list_that_is_not_there_or_no_text(folder) -> None:
    with pytest.raises(ConfigError, match="cannot read"):
        read_cut_order(folder / "gone.txt")
    (folder / "bytes.txt").write_bytes(b"\xff\xfe\x00a")
    with pytest.raises(ConfigError, match="not a UTF-8 text"):
        read_cut_order(folder / "bytes.txt")
    with pytest.raises(ConfigError, match="must end in"):
        read_cut_order(folder / "a.jpg")


def test_files_need_not_be_there_when_nobody_asks(folder) -> None:
    path = lay(folder, "a.txt", "gone.jpg\n")
    assert read_cut_order(path, check_files=False).entries[0].file == "gone.jpg"


def test_an_empty_timeline_names_no_shots(folder) -> None:
    timeline = otio.schema.Timeline(name="empty")
    timeline.tracks.append(otio.schema.Track(kind="Video"))
    path = folder / "empty.otio"
    otio.adapters.write_to_file(timeline, str(path))
    with pytest.raises(ConfigError, match="names no shots"):
        read_cut_order(path)


def test_the_names_of_lists(tmp_path) -> None:
    assert is_cut_order(tmp_path / "a.OTIO")
    assert not is_cut_order(tmp_path / "a.mov")
