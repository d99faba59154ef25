"""The speed bench of clips: whole analysis over plain decoding of the same clips, in one run.

`python -m tests.bench.clip_speed` makes clips out of the sample frames (1080p H.264 at the rate of
a camera original, 24 frames a second, shots of 2 to 8 s that pan, zoom or hold, with grain),
decodes them plainly with PyAV, then stage by stage as framecheck does, then measures them with one
worker and with more. All figures are ratios to the plain decoding, as the machine matters: of the
wall clock, and of the processor time of all processes, which hardly depends on what else runs.
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
from functools import partial
from pathlib import Path

import psutil

from framecheck.bench.clip_making import RATE, ClipKind, Rgb, make_clip
from framecheck.bench.clips import decode_plainly
from framecheck.media.clips import ClipFrame, ClipLimits, open_clip
from framecheck.media.stills import read_still
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


def make_clips(folder: Path, kind: ClipKind, clips: int, seed: int) -> list[Path]:
    """The clips; those that are there already are kept."""
    coded = f"{kind.mbits:g}m" if kind.mbits else "crf"
    return [
        make_clip(
            folder / f"speed-{seed}-{number}-{kind.seconds:g}s-{coded}.mp4",
            kind,
            [partial(read_rgb, path) for path in sorted((ROOT / "sample_frames").glob("*.jpg"))],
            (seed, number),
        )
        for number in range(clips)
    ]


def read_rgb(path: Path) -> Rgb:
    return read_still(path).rgb


def decode_all(paths: Sequence[Path]) -> int:
    """All frames, as PyAV decodes them when nobody says otherwise."""
    return sum(map(decode_plainly, paths))


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


def measure(paths: Sequence[Path], workers: int, said: dict[str, str]) -> None:
    """A whole run; notes in `said` what it delivered, in words."""
    peaks: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder, peak_memory(peaks):
        order = plan_order(
            [str(path) for path in paths], Path(folder), Settings(), real_tools(write_overlay)
        )
        order = dataclasses.replace(order, limits=choose_limits(workers))
        summary = measure_to_tables(order)
    frames = sum(int(row["frames"] or 0) for row in summary.files)
    memory = ", ".join(f"{name} {size:.0f} MB" for name, size in peaks.items())
    said["in words"] = f"{summary.shot_count} shots, {frames} frames measured; {memory}"


@dataclasses.dataclass(slots=True, kw_only=True)
class Stage:
    """Something that is timed.

    Attributes:
        work: what is done. wall_s, cpu_s: of each repeat, the latter of all its processes.
        said: what it has to tell besides.
    """

    work: Callable[[], object]
    wall_s: list[float] = dataclasses.field(default_factory=list)
    cpu_s: list[float] = dataclasses.field(default_factory=list)
    said: dict[str, str] = dataclasses.field(default_factory=dict)

    def run(self) -> None:
        """Once more."""
        cpu_s, started_s = _cpu_s(), time.perf_counter()
        self.work()
        self.wall_s.append(time.perf_counter() - started_s)
        self.cpu_s.append(_cpu_s() - cpu_s)


def _cpu_s() -> float:
    """Of this process and of its children that have ended."""
    return sum(os.times()[:4])


def list_stages(paths: Sequence[Path], cores: int) -> dict[str, Stage]:
    """What is timed, each with those above it."""
    stages = {
        "plain PyAV decoding": Stage(work=lambda: decode_all(paths)),
        "decoding as framecheck does": Stage(work=lambda: read_stage(paths, lambda _: None)),
        "and small frames for the boundaries": Stage(
            work=lambda: read_stage(paths, lambda frame: frame.small)
        ),
        "a reader: and shots, pictures, bars": Stage(work=lambda: read_shots(paths)),
    }
    for workers in sorted({1, 2, cores}):
        whole = Stage(work=lambda: None)
        whole.work = partial(measure, paths, workers, whole.said)
        stages[f"whole analysis, {workers} measuring workers"] = whole
    return stages


def print_stages(stages: dict[str, Stage]) -> None:
    """The least of each over the least of plain decoding: what else runs only ever adds."""
    plain = next(iter(stages.values()))
    for name, stage in stages.items():
        wall, cpu = min(stage.wall_s) / min(plain.wall_s), min(stage.cpu_s) / min(plain.cpu_s)
        print(f"| {name} | {wall:.2f} | {cpu:.2f} | {stage.said.get('in words', '')}")


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--folder", type=Path, default=Path(tempfile.gettempdir()) / "clip-speed")
    parser.add_argument("--clips", type=int, default=2)
    parser.add_argument("--seconds", type=float, default=120.0)
    parser.add_argument("--mbits", type=float, default=35.0, help="0: as the encoder likes")
    parser.add_argument("--seed", type=int, default=9)
    parser.add_argument("--repeats", type=int, default=2)
    options = parser.parse_args()
    options.folder.mkdir(parents=True, exist_ok=True)
    kind = ClipKind(seconds=options.seconds, mbits=options.mbits)
    paths = make_clips(options.folder, kind, options.clips, options.seed)
    frames = decode_all(paths)  # the files are in memory from now on
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    stages = list_stages(paths, int(cores or 1))
    load = psutil.getloadavg()[0]
    for _ in range(options.repeats):  # one after the other, so that all see the same machine
        for stage in stages.values():
            stage.run()
    mbits = sum(path.stat().st_size for path in paths) * 8e-6 * RATE / frames
    plain = next(iter(stages.values()))
    print(f"{len(paths)} clips, {frames / RATE:.0f} s, {mbits:.1f} Mbit/s, {cores} cores")
    print(f"load {load:.1f} before, {psutil.getloadavg()[0]:.1f} after")
    print(
        f"plain decoding: {frames / min(plain.wall_s):.0f} frames a second, "
        f"{min(plain.cpu_s) / frames * 1000:.1f} ms of a core each"
    )
    print("| stage | wall clock | processor time |")
    print_stages(stages)
