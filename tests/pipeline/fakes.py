"""Stills and clips made of words, and a way to measure them without networks.

All of it is picklable, as it goes to worker processes.
"""

from __future__ import annotations

import contextlib
import json
import os
import time
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import numpy as np

from framecheck.errors import CannotDecode, CannotOpen
from framecheck.pipeline.order import Input, MediaKind
from framecheck.pipeline.plan import Tools
from framecheck.records.clips import (
    ClipHeader,
    SampledFrame,
    ShotSpan,
    ShotTake,
    Transition,
)
from framecheck.records.picture import Picture
from framecheck.records.values import Box
from tests.pipeline.obedient import first_time, note

DRAG = "FRAMECHECK_TEST_DRAG"
"""How many seconds a worker of a slow machine takes for a still that drags."""


def read_fake(path: Path) -> Picture:
    """A picture whose first sample carries the number in the file; the file's text can hang it."""
    text = Path(path).read_text("utf-8")
    if text.startswith("slow"):
        time.sleep(float(text.split()[1]))
    if text.startswith("die"):
        os._exit(7)
    if text.startswith("once") and first_time("once"):
        os._exit(7)
    if text.startswith("drag"):
        time.sleep(float(os.environ.get(DRAG, "0.02")))
        note(f"drag {'slow' if DRAG in os.environ else 'quick'}")
    if text.startswith("torn"):
        raise CannotDecode("the data ends too early", where=str(path))
    if text.startswith("odd"):
        raise KeyError("surprise")
    if text.startswith("growing"):
        with Path(path).open("a") as file:
            file.write(" and growing")
    number = int(text) if text.isdigit() else 1
    note(f"still {Path(path).name}")
    return a_picture(number, str(path))


def a_picture(number, name="fake"):
    """A picture that the fake measurer takes for a figure of `number` tenths."""
    rgb = np.full((90, 160, 3), number, dtype=np.uint8)
    return Picture(rgb=rgb, active=Box(x_px=0, y_px=0, w_px=160, h_px=90), name=name)


@dataclass(frozen=True)
class FakeMeasurer:
    """Stands for the networks and the measuring: a figure whose size follows the first sample.

    The second sample tells what else it does: 1 dies, 2 dies once, 3 hangs, 4 fails, 5 is slow.
    """

    def measure(self, picture):
        number, trouble = (int(picture.rgb[0, 0, channel]) for channel in (0, 1))
        note(f"measured {number}")
        if trouble != number:
            self._misbehave(trouble)
        from tests.report.figures import a_result

        share = number / 10
        people = [] if share == 0 else [{"stature": share, "x": 0.4}]
        height, width = picture.rgb.shape[:2]
        return a_result(width, height, people=people, picture=picture.active).measurement

    def _misbehave(self, trouble):
        if trouble == 1 or (trouble == 2 and first_time("measure")):
            os._exit(7)
        if trouble == 3:
            time.sleep(600)
        if trouble == 4:
            raise KeyError("surprise")
        if trouble == 5:
            time.sleep(0.08)


@dataclass(frozen=True)
class OpenFakeMeasurer:
    """For `OpenMeasuring.open_measurer`."""

    version: str = "fake"

    def elsewhere(self):
        return self

    def __call__(self):
        return FakeMeasurer()


TROUBLES = {"die": 1, "die-once": 2, "hang": 3, "odd": 4, "slow": 5}


@dataclass
class FakeClip:
    """A clip in a JSON file.

    `shots` is a list of [frames, size in tenths, trouble when measured]; `at` says what happens
    when a frame is read: {"30": "die"}. Frames last 1/24 s.
    """

    path: Path
    file: str
    header: ClipHeader = field(init=False)
    late_notes: tuple[str, ...] = ()

    def __post_init__(self):
        try:
            text = self.path.read_text("utf-8")
        except OSError as error:
            raise CannotOpen(f"{self.file} is not there") from error
        try:
            self.plan = json.loads(text)
        except ValueError as error:
            raise CannotOpen(f"{self.file} is no clip") from error
        frames = sum(shot[0] for shot in self.plan["shots"])
        self.header = ClipHeader(
            file=self.file, width_px=320, height_px=180, coded_width_px=320, coded_height_px=180,
            pixel_aspect=Fraction(1), rotation_deg=0, rate=Fraction(24), variable_rate=False,
            start_timecode=self.plan.get("start", ""), drop_frame=False,
            duration_s=Fraction(frames, 24), codec="words", bits=8, interlaced=False,
        )  # fmt: skip

    def frames(self):
        """All frames, as far as nothing happens."""
        index = 0
        for shot, (frames, size, *trouble) in enumerate(self.plan["shots"]):
            for _ in range(frames):
                if self._happen(self.plan.get("at", {}).get(str(index)), index):
                    return
                yield FakeFrame(index, shot, size, TROUBLES.get((*trouble, "")[0], size))
                index += 1

    def _happen(self, what, index):
        """Obey; True when the clip is to end here."""
        if what == "torn":
            where = f"frame {index} (00:00:00:00)"
            raise CannotDecode(f"{self.file} stops at {where}: broken", where=where)
        if what == "die" or (what == "die-once" and first_time(f"read {self.file}")):
            os._exit(7)
        if what == "hang" or (what == "hang-once" and first_time(f"read {self.file}")):
            time.sleep(600)
        return self._change_file(what, index)

    def _change_file(self, what, index):
        if what == "grow":
            with self.path.open("a") as file:
                file.write(" ")
        if what == "end":  # as some containers do when their drive goes away
            self.path.rename(self.path.with_suffix(".gone"))
        if what == "vanish" and first_time(f"read {self.file}"):
            self.path.rename(self.path.with_suffix(".gone"))
            raise CannotDecode(f"{self.file} stops: input/output error", where=f"frame {index} ()")
        return what == "end"


@dataclass(frozen=True)
class FakeFrame:
    """One frame of words."""

    index: int
    shot: int
    size: int
    trouble: int

    @property
    def time_s(self):
        return Fraction(self.index, 24)

    def picture(self):
        picture = a_picture(self.size)
        rgb = picture.rgb.copy()
        rgb[0, 0, 1] = self.trouble
        rgb[1:, :, 2] = 10 * (7 * self.index % 25)  # else nothing moves, and one frame is enough
        return Picture(rgb=rgb, active=picture.active, name="fake")


class FakeCollector:
    """Cuts where the frames say so; keeps the first, the middle and the last frame of a shot."""

    def __init__(self):
        self._frames = []

    def push(self, frame):
        done = []
        if self._frames and frame.shot != self._frames[0].shot:
            done = self.finish()
        self._frames.append(frame)
        return done

    def finish(self):
        frames, self._frames = self._frames, []
        if not frames:
            return []
        first, last = frames[0], frames[-1]
        note(f"read {first.shot}")
        span = ShotSpan(
            shot=first.shot, start_frame=first.index, end_frame=last.index + 1,
            start_s=first.time_s, end_s=last.time_s + Fraction(1, 24),
            transition=Transition.CUT if first.shot else Transition.START,
            clean_from_frame=first.index, clean_to_frame=last.index + 1,
        )  # fmt: skip
        kept = {f.index: f for f in (first, frames[len(frames) // 2], last)}
        samples = tuple(
            SampledFrame(frame=f.index, time_s=f.time_s, picture=f.picture()) for f in kept.values()
        )
        return [ShotTake(span=span, samples=samples)]


def open_fake_clip(task):
    return contextlib.nullcontext(FakeClip(task.path, task.file))


def collect_fakes(header):
    return FakeCollector()


def find_active_fake(rgb):
    height, width = rgb.shape[:2]
    return Box(x_px=0, y_px=0, w_px=width, h_px=height)


def find_fakes(paths, settings):
    """Every path is an input; a missing one is a problem; a folder is listed."""
    found = []
    for path in map(Path, paths):
        files = sorted(path.iterdir()) if path.is_dir() else [path]
        found += [
            Input(
                file=file.name,
                path=file,
                problem="" if file.exists() else "no such file",
                kind=MediaKind.CLIP if file.suffix == ".clip" else MediaKind.STILL,
            )
            for file in files
            if file.is_file() or not file.exists()
        ]
    return tuple(found)


def write_real_overlay(picture, result, path):
    from framecheck.report.overlay_file import write_overlay

    write_overlay(picture, result, path)


def provide_fake(settings, progress):
    return OpenFakeMeasurer()


FAKE_TOOLS = Tools(
    find_inputs=find_fakes,
    provide_measurer=provide_fake,
    read_picture=read_fake,
    write_overlay=write_real_overlay,
    open_frames=open_fake_clip,
    collect=collect_fakes,
    find_active=find_active_fake,
)
