"""The speed bench of clips: whole analysis over plain decoding of the same clips, in one run.

`python -m tests.bench.clip_speed` makes clips out of the sample frames (1080p H.264, 24 frames a
second, shots of 2 to 8 s that pan, zoom or hold, with grain), decodes them plainly with PyAV, then
stage by stage as framecheck does, then measures them with one worker and with more. All figures are
ratios to the plain decoding, as the machine matters.
"""

from __future__ import annotations

import argparse
import dataclasses
import os
import tempfile
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import av
import cv2
import numpy as np
import psutil

from framecheck.media.clips import ClipFrame, ClipLimits, open_clip
from framecheck.pipeline.clip import ClipTask, OpenClipWork
from framecheck.pipeline.plan import (
    collect_shots,
    find_active_picture,
    open_one_clip,
    plan_order,
    real_tools,
)
from framecheck.pipeline.run import measure_to_tables
from framecheck.pipeline.settings import Settings
from framecheck.pipeline.signature import sign
from framecheck.pipeline.staffing import choose_limits
from framecheck.report.overlay_file import write_overlay

ROOT = Path(__file__).resolve().parents[2]
RATE, SIZE_WH = 24, (1920, 1080)
SHORTEST_S, LONGEST_S = 2.0, 8.0
GRAINS = 6


def make_clips(folder: Path, count: int, seconds: float, seed: int) -> list[Path]:
    """Clips of about so many seconds each; those that are there already are kept."""
    paths = [folder / f"speed-{seed}-{number}-{seconds:g}s.mp4" for number in range(count)]
    for number, path in enumerate(paths):
        if not path.exists():
            draft = path.with_suffix(".part.mp4")
            _encode(draft, np.random.default_rng((seed, number)), seconds)
            draft.rename(path)
    return paths


def _encode(path: Path, draw: np.random.Generator, seconds: float) -> None:
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=RATE, options={"preset": "veryfast"})
        stream.width, stream.height = SIZE_WH
        stream.pix_fmt = "yuv420p"
        frames = 0
        while frames < seconds * RATE:
            for picture in _shot(draw):
                frames += 1
                frame = av.VideoFrame.from_ndarray(picture, format="bgr24")
                container.mux(stream.encode(frame))
        container.mux(stream.encode())


def _shot(draw: np.random.Generator) -> Iterator[np.ndarray]:
    """One sample frame, seen by a camera that holds, zooms or pans."""
    stills = sorted((ROOT / "sample_frames").glob("*.jpg"))
    still = cv2.imread(str(stills[draw.integers(len(stills))]))
    height, width = still.shape[:2]
    grains = [draw.normal(0, 4, (*SIZE_WH[::-1], 1)).astype(np.float32) for _ in range(GRAINS)]
    first = draw.uniform(0.8, 1.0)
    last = first * draw.choice([1.0, 1.0, 0.8])
    drift = draw.choice([0.0, 0.0, 0.5, -0.5])
    count = int(draw.uniform(SHORTEST_S, LONGEST_S) * RATE)
    for number in range(count):
        part = number / max(1, count - 1)
        seen_w, seen_h = (side * (first + (last - first) * part) for side in (width, height))
        left = (width - seen_w) * float(np.clip(0.5 + drift * (part - 0.5), 0, 1))
        top = (height - seen_h) / 2
        across, down = SIZE_WH[0] / seen_w, SIZE_WH[1] / seen_h
        move = np.array([[across, 0, -left * across], [0, down, -top * down]])
        view = cv2.warpAffine(still, move, SIZE_WH) + grains[number % GRAINS]
        yield np.clip(view, 0, 255).astype(np.uint8)


def decode_plainly(paths: Sequence[Path]) -> int:
    """All frames, as PyAV decodes them when nobody says otherwise."""
    frames = 0
    for path in paths:
        with av.open(str(path)) as container:
            frames += sum(1 for _ in container.decode(video=0))
    return frames


def read_stage(paths: Sequence[Path], look: Callable[[ClipFrame], object]) -> None:
    """Our own decoding, with something done to each frame."""
    threads = choose_limits(None).threads
    for path in paths:
        with open_clip(path, path.name, ClipLimits(threads=threads)) as clip:
            for frame in clip.frames():
                look(frame)


def read_shots(paths: Sequence[Path]) -> int:
    """All that a reader does: decoding, boundaries, pictures, black bars."""
    work = OpenClipWork(
        open_frames=open_one_clip, collect=collect_shots, find_active=find_active_picture
    )()
    shots = 0
    for path in paths:
        task = ClipTask(
            file=path.name,
            path=path,
            files=(path,),
            signature=sign([path]),
            threads=choose_limits(None).threads,
        )
        shots += sum(hasattr(part, "span") for part in work(task))
    return shots


@contextmanager
def peak_memory(peaks: dict[str, float]) -> Iterator[None]:
    """Notes the most memory of this process and of its children, in megabytes."""
    done = threading.Event()

    def watch() -> None:
        me = psutil.Process()
        while not done.wait(0.1):
            sizes = []
            for child in me.children(recursive=True):
                try:
                    sizes.append(child.memory_info().rss / 1e6)
                except psutil.Error:
                    continue
            own = me.memory_info().rss / 1e6
            peaks["parent"] = max(peaks.get("parent", 0.0), own)
            peaks["largest child"] = max([peaks.get("largest child", 0.0), *sizes])
            peaks["all"] = max(peaks.get("all", 0.0), own + sum(sizes))

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    try:
        yield
    finally:
        done.set()
        watcher.join()


def measure(paths: Sequence[Path], workers: int) -> tuple[float, str]:
    """Seconds of a whole run, and what it delivered in words."""
    peaks: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder, peak_memory(peaks):
        started = time.perf_counter()
        order = plan_order(
            [str(path) for path in paths], Path(folder), Settings(), real_tools(write_overlay)
        )
        limits = choose_limits(workers)
        order = dataclasses.replace(order, limits=limits)
        summary = measure_to_tables(order)
        seconds = time.perf_counter() - started
    frames = sum(int(row["frames"] or 0) for row in summary.files)
    memory = ", ".join(f"{name} {size:.0f} MB" for name, size in peaks.items())
    return seconds, f"{summary.shot_count} shots, {frames} frames measured; {memory}"


def timed(work: Callable[[], object]) -> float:
    """Seconds that it takes."""
    started = time.perf_counter()
    work()
    return time.perf_counter() - started


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir()) / "clip-speed")
    parser.add_argument("--clips", type=int, default=4)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=9)
    options = parser.parse_args()
    options.folder.mkdir(parents=True, exist_ok=True)
    paths = make_clips(options.folder, options.clips, options.seconds, options.seed)
    frames = decode_plainly(paths)  # the files are in memory from now on
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    plain = min(timed(lambda: decode_plainly(paths)) for _ in range(2))
    print(f"{len(paths)} clips, {frames} frames, {cores} cores")
    print(f"{'plain PyAV decoding':34} 1.00   {frames / plain:.0f} frames a second")
    stages: tuple[tuple[str, Callable[[], object]], ...] = (
        ("decoding as framecheck does", lambda: read_stage(paths, lambda _: None)),
        ("and small frames", lambda: read_stage(paths, lambda frame: frame.small)),
        ("a reader: and shots, pictures, bars", lambda: read_shots(paths)),
    )
    for name, work in stages:
        print(f"{name:34} {timed(work) / plain:.2f}")
    for workers in sorted({1, 2, max(1, int(cores or 1))}):
        seconds, words = measure(paths, workers)
        print(f"{f'whole analysis, {workers} workers':34} {seconds / plain:.2f}   {words}")


if __name__ == "__main__":
    main()
