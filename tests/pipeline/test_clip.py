"""The reading of one clip, in this process."""

import contextlib
import dataclasses

import pytest

from framecheck.pipeline import clip as module
from framecheck.pipeline.clip import ClipTask, OpenClipWork
from framecheck.pipeline.signature import CHANGED, GONE, sign
from framecheck.pipeline.worker import Beat
from tests.pipeline.fakes import FakeClip, collect_fakes, find_active_fake, open_fake_clip
from tests.pipeline.runs import write_clip

WORK = OpenClipWork(open_frames=open_fake_clip, collect=collect_fakes, find_active=find_active_fake)
SHOTS = [[24, 20], [48, 12], [24, 30], [24, 8]]


def read(path, work=WORK, **task):
    """The shots and the end of a reading, and how often it gave a sign of life."""
    task = ClipTask(file=path.name, path=path, files=(path,), **{"signature": sign([path]), **task})
    takes, beats = [], []
    reading = work()(task)
    while True:
        try:
            part = next(reading)
        except StopIteration as end:
            return takes, end.value, beats
        (beats if isinstance(part, Beat) else takes).append(part)


def numbers(takes):
    return [(t.span.shot, t.span.start_frame, t.span.end_frame) for t in takes]


def test_all_shots_and_the_facts_of_the_clip(tmp_path):
    takes, end, _ = read(write_clip(tmp_path / "a.clip", SHOTS, start="01:00:00:00"))
    assert numbers(takes) == [(0, 0, 24), (1, 24, 72), (2, 72, 96), (3, 96, 120)]
    assert (end.frames, end.shots, end.duration_s, end.trouble) == (120, 4, 5, None)
    assert end.header.start_timecode == "01:00:00:00"
    assert not end.changed


def test_the_header_comes_first_and_signs_of_life_follow(tmp_path, monkeypatch):
    monkeypatch.setattr(module, "BEAT_S", 0.0)
    _, _, beats = read(write_clip(tmp_path / "a.clip", SHOTS))
    assert beats[0].about.header.width_px == 320
    assert beats[0].about.frames == 0
    assert [beat.about.frames for beat in beats[1:]] == [*range(1, 121)]
    monkeypatch.setattr(module, "BEAT_S", 60.0)
    assert len(read(tmp_path / "a.clip")[2]) == 1


def test_shots_that_are_measured_already_are_not_sent(tmp_path):
    path = write_clip(tmp_path / "a.clip", SHOTS)
    takes, end, _ = read(path, done={0: (0, 24), 1: (24, 70), 3: (96, 120)})
    assert numbers(takes) == [(1, 24, 72), (2, 72, 96)]  # the second had other borders
    assert end.shots == 4


def test_a_clip_that_breaks_off_gives_its_last_shot_as_far_as_it_goes(tmp_path):
    path = write_clip(tmp_path / "a.clip", SHOTS, at={"60": "torn"})
    takes, end, _ = read(path)
    assert numbers(takes) == [(0, 0, 24), (1, 24, 60)]
    assert end.trouble.where == "frame 60 (00:00:00:00)"
    assert (end.frames, end.shots, end.changed) == (60, 2, False)


@pytest.mark.parametrize("how", ["vanish", "end"])
def test_a_drive_that_goes_away_gives_no_broken_shot(tmp_path, how):
    path = write_clip(tmp_path / "a.clip", SHOTS, at={"60": how})
    takes, end, _ = read(path)
    assert numbers(takes) == []  # held back for the bars, and not given out
    assert (end.trouble.why, end.changed) == (GONE, False)


def test_a_file_that_grows_is_told(tmp_path):
    path = write_clip(tmp_path / "a.clip", SHOTS, at={"60": "grow"})
    _, end, _ = read(path)
    assert (end.trouble.why, end.changed) == (CHANGED, True)
    assert end.trouble.where == "decoding"


def test_a_file_that_was_another_when_it_was_identified_is_told(tmp_path):
    path = write_clip(tmp_path / "a.clip", SHOTS)
    _, end, _ = read(path, signature=(1, 1))
    assert end.changed


@pytest.mark.parametrize(
    ("content", "why"),
    [("no JSON", "a.clip is no clip"), ('{"shots": []}', "a.clip holds no frame")],
)
def test_what_is_no_clip_ends_with_the_reason(tmp_path, content, why):
    path = tmp_path / "a.clip"
    path.write_text(content, "utf-8")
    takes, end, _ = read(path)
    assert takes == []
    assert end.trouble.why.startswith(why)


def test_an_error_that_nobody_expected_names_the_line(tmp_path):
    path = write_clip(tmp_path / "a.clip", [[24, "x"]])
    _, end, _ = read(path)
    assert end.trouble.why.startswith("unexpected ")
    assert end.trouble.where.startswith("decoding (")


def _open_with_notes(task):
    return contextlib.nullcontext(
        FakeClip(task.path, task.file, late_notes=("frames are missing",))
    )


def test_what_comes_out_late_is_among_the_notes(tmp_path):
    path = write_clip(tmp_path / "a.clip", SHOTS)
    _, end, _ = read(path, dataclasses.replace(WORK, open_frames=_open_with_notes))
    assert end.header.notes == ("frames are missing",)
