"""The takes of a clip: which frames are kept, and that memory does not grow with the clip."""

from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import pytest

from framecheck.records.clips import Boundary, ClipHeader, Transition
from framecheck.records.picture import Picture
from framecheck.records.values import Box
from framecheck.shots.takes import CollectLimits, ShotCollector

RATE = Fraction(24)
BOX = Box(x_px=0, y_px=0, w_px=32, h_px=18)


class Counting:
    """Counts the kept frames that are alive."""

    alive = 0
    most = 0


@dataclass
class Frame:
    index: int
    small: np.ndarray

    @property
    def time_s(self) -> Fraction:
        return Fraction(self.index) / RATE

    def keep(self) -> "Kept":
        Counting.alive += 1
        Counting.most = max(Counting.most, Counting.alive)
        return Kept(self.index, self.time_s)


class Kept:
    """Counts itself."""

    def __init__(self, index: int, time_s: Fraction) -> None:
        self.index, self.time_s = index, time_s

    def __del__(self) -> None:
        Counting.alive -= 1

    def picture(self) -> Picture:
        return Picture(rgb=np.full((18, 32, 3), self.index % 256, np.uint8), active=BOX)


class ToldFinder:
    """Gives out boundaries as told, each a fixed number of frames late."""

    lag_frames = 50

    def __init__(self, *boundaries: Boundary) -> None:
        self._left = list(boundaries)

    def push(self, index, small):
        ready = [b for b in self._left if b.to_frame <= index - self.lag_frames]
        self._left = [b for b in self._left if b not in ready]
        return ready

    def finish(self):
        return self._left


def cut(frame: int) -> Boundary:
    return Boundary(frame=frame, transition=Transition.CUT, from_frame=frame, to_frame=frame)


def header() -> ClipHeader:
    return ClipHeader(
        file="a", width_px=32, height_px=18, coded_width_px=32, coded_height_px=18,
        pixel_aspect=Fraction(1), rotation_deg=0, rate=RATE, variable_rate=False,
        start_timecode="", drop_frame=False, duration_s=None, codec="none", bits=8,
        interlaced=False,
    )  # fmt: skip


def collect(count: int, *boundaries: Boundary, jump_at: tuple[int, ...] = ()):
    collector = ShotCollector(header(), ToldFinder(*boundaries), CollectLimits())
    takes, light = [], 0
    for index in range(count):
        light = 255 - light if index in jump_at else light
        takes += collector.push(Frame(index, np.full((72, 128, 3), light, np.uint8)))
    return takes + collector.finish()


def test_the_shots_fill_the_clip_without_a_gap() -> None:
    takes = collect(300, cut(100), cut(220))
    spans = [(t.span.shot, t.span.start_frame, t.span.end_frame) for t in takes]
    assert spans == [(0, 0, 100), (1, 100, 220), (2, 220, 300)]
    assert [t.span.transition for t in takes] == [
        Transition.START, Transition.CUT, Transition.CUT,
    ]  # fmt: skip
    assert [t.span.end_s for t in takes] == [Fraction(n, 24) for n in (100, 220, 300)]


def test_samples_are_of_their_own_shot_in_order_and_not_too_many() -> None:
    for take in collect(700, cut(100), cut(620)):
        frames = [s.frame for s in take.samples]
        assert frames == sorted(set(frames))
        assert 2 <= len(frames) <= 9
        assert take.span.start_frame <= frames[0] < frames[-1] < take.span.end_frame
        assert frames[0] - take.span.start_frame <= 12
        assert take.span.end_frame - frames[-1] <= 60
        assert all(s.picture.rgb[0, 0, 0] == s.frame % 256 for s in take.samples)


def test_no_sample_lies_in_a_transition() -> None:
    mixed = Boundary(frame=110, transition=Transition.DISSOLVE, from_frame=95, to_frame=126)
    first, second = collect(240, mixed)
    assert (first.span.end_frame, second.span.start_frame) == (110, 110)
    assert max(s.frame for s in first.samples) < 95
    assert min(s.frame for s in second.samples) >= 126
    assert (first.span.clean_to_frame, second.span.clean_from_frame) == (95, 126)


def test_a_shot_shorter_than_a_step_is_shown_by_the_jump_that_begins_it() -> None:
    takes = collect(100, cut(50), cut(53), jump_at=(50, 53))
    assert [(t.span.start_frame, t.span.end_frame) for t in takes] == [(0, 50), (50, 53), (53, 100)]
    assert [s.frame for s in takes[1].samples] == [50]


def test_what_shows_nothing_goes_with_the_next_shot() -> None:
    takes = collect(100, cut(50), cut(52))
    assert [(t.span.start_frame, t.span.end_frame) for t in takes] == [(0, 50), (50, 100)]


def test_no_frames_give_no_shots() -> None:
    assert collect(0) == []


@pytest.mark.parametrize("count", [2_000, 20_000])
def test_the_pictures_held_do_not_grow_with_the_clip(count) -> None:
    Counting.alive = Counting.most = 0
    (take,) = collect(count)
    assert len(take.samples) == 9
    assert Counting.most <= 45
