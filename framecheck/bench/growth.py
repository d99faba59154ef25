"""How processor time grows with the frames of a clip, with people, and with resolution."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, TypeVar

import numpy as np

from framecheck.bench.clip_making import ClipKind, Rgb, make_clip
from framecheck.bench.clips import SEED, clip_path, stills_of
from framecheck.bench.figures import Curve, Findings, fit_curve
from framecheck.bench.setup import Bench
from framecheck.pipeline.clip import ClipTask, OpenClipWork
from framecheck.pipeline.measurer import Measurer
from framecheck.pipeline.plan import collect_shots, find_active_picture, open_one_clip
from framecheck.pipeline.shot import ShotTask, ShotWork
from framecheck.pipeline.signature import sign
from framecheck.records.clips import ClipHeader, ShotTake
from framecheck.records.picture import Picture
from framecheck.records.values import Box

Thing = TypeVar("Thing")

PEOPLE = (1, 2, 4, 6)
LINES = (360, 540, 720, 1080, 1440, 2160)
QUICK_LINES = (360, 720, 1440)
SECONDS = (4.0, 8.0, 16.0, 32.0)
QUICK_SECONDS = (3.0, 6.0, 12.0)
SHOT_S = 2.0
BOARD_WH = (1920, 1080)


def measure_growth(bench: Bench) -> Findings:
    """The three curves with their exponents, in one process with the networks loaded.

    Raises:
        ModelError: the models cannot be had.
    """
    measurer = bench.tools.provide_measurer(bench.settings, None)()
    whole = _whole(bench.tools.read_picture(bench.some_frames(3)[1].path).rgb)
    measurer.measure(whole)
    return Findings(
        curves=(
            _with_frames(bench, measurer),
            _with_people(bench, measurer),
            _with_lines(bench, measurer),
        )
    )


def _with_frames(bench: Bench, measurer: Measurer) -> Curve:
    frames, seconds = [], []
    for length_s in QUICK_SECONDS if bench.quick else SECONDS:
        bench.told(f"growth: a clip of {length_s:g} s")
        kind = ClipKind(seconds=length_s, mbits=8, size_wh=(1280, 720), shot_s=(SHOT_S, SHOT_S))
        clip = make_clip(clip_path(bench, kind), kind, stills_of(bench), SEED)
        started_s = time.process_time()
        frames.append(_analyse_here(bench, measurer, clip))
        seconds.append(time.process_time() - started_s)
    return fit_curve("time against frames", "frames", frames, seconds)


def _analyse_here(bench: Bench, measurer: Measurer, clip: Path) -> int:
    """Read and measure a clip in this process; how many frames it has."""
    reading = OpenClipWork(
        open_frames=open_one_clip, collect=collect_shots, find_active=find_active_picture
    )()
    shots = ShotWork(measurer=measurer, judging=bench.judging)
    task = ClipTask(file=clip.name, path=clip, files=(clip,), signature=sign([clip]))
    header, frames = _header_of(task), 0
    for part in reading(task):
        if isinstance(part, ShotTake):
            frames = part.span.end_frame
            for _ in shots(ShotTask(file=clip.name, header=header, take=part)):
                pass
    return frames


def _header_of(task: ClipTask) -> ClipHeader:
    with open_one_clip(task) as clip:
        return clip.header


def _with_people(bench: Bench, measurer: Measurer) -> Curve:
    singles = [
        frame for frame in bench.frames
        if len(frame.people) == 1 and frame.people[0]["ruler"]["bottom"] > 0.2
    ][: 6 if bench.quick else 18]  # fmt: skip
    panels = [_panel_of(bench.tools.read_picture(frame.path).rgb, frame.people[0]["box_xywh_px"])
              for frame in singles]  # fmt: skip
    seconds = []
    for count in PEOPLE:
        bench.told(f"growth: {count} people")
        boards = [
            _whole(board([panels[(place + number) % len(panels)] for number in range(count)]))
            for place in range(0, len(panels), 3)
        ]
        seconds.append(_mean_time(measurer.measure, boards))
    return fit_curve("time against people", "people", PEOPLE, seconds)


def _panel_of(rgb: Rgb, box: Sequence[float]) -> Rgb:
    """The part of a scene around its one person, a third of the picture's width at least."""
    width = rgb.shape[1]
    half = max(box[2] * 0.6, width / 6)
    middle = min(max(box[0] + box[2] / 2, half), width - half)
    left, right = max(0, int(middle - half)), min(width, int(middle + half))
    return rgb[:, left:right]


def board(panels: Sequence[Rgb]) -> Rgb:
    """The panels beside each other on a picture of `BOARD_WH`, each as large as it fits."""
    import cv2

    width, height = BOARD_WH
    picture = np.full((height, width, 3), 110, np.uint8)
    share = width // len(panels)
    for number, panel in enumerate(panels):
        scale = min(share / panel.shape[1], height / panel.shape[0])
        size_wh = (int(panel.shape[1] * scale), int(panel.shape[0] * scale))
        small = cv2.resize(panel, size_wh, interpolation=cv2.INTER_AREA)
        left = number * share + (share - size_wh[0]) // 2
        picture[height - size_wh[1] :, left : left + size_wh[0]] = small
    return picture


def _with_lines(bench: Bench, measurer: Measurer) -> Curve:
    import cv2

    stills = [bench.tools.read_picture(frame.path).rgb for frame in bench.some_frames(8)]
    pixels, seconds = [], []

    def measure(coded: bytes) -> None:
        bgr: Any = cv2.imdecode(np.frombuffer(coded, np.uint8), cv2.IMREAD_COLOR)
        measurer.measure(_whole(bgr[:, :, ::-1]))

    for lines in QUICK_LINES if bench.quick else LINES:
        bench.told(f"growth: {lines} lines")
        coded = [_coded(still, lines) for still in stills]
        pixels.append(lines * round(stills[0].shape[1] * lines / stills[0].shape[0]) / 1e6)
        seconds.append(_mean_time(measure, coded))
    return fit_curve("time against pixels", "megapixels", pixels, seconds)


def _coded(still: Rgb, lines: int) -> bytes:
    import cv2

    size_wh = (round(still.shape[1] * lines / still.shape[0]), lines)
    sized = cv2.resize(still, size_wh, interpolation=cv2.INTER_CUBIC)
    return bytes(cv2.imencode(".jpg", sized[:, :, ::-1])[1].tobytes())


def _whole(rgb: Rgb) -> Picture:
    height, width = rgb.shape[:2]
    active = Box(x_px=0, y_px=0, w_px=width, h_px=height)
    return Picture(rgb=np.ascontiguousarray(rgb), active=active, name="bench")


def _mean_time(measure: Callable[[Thing], object], things: Sequence[Thing]) -> float:
    started_s = time.process_time()
    for thing in things:
        measure(thing)
    return (time.process_time() - started_s) / len(things)
