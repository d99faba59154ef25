"""Stills a second of a whole run, beside bare landmark inference with as many processes."""

from __future__ import annotations

import dataclasses
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from framecheck.bench.figures import Figure, Findings, middle_and_noise, ratio_figure
from framecheck.bench.naive import whole_view
from framecheck.bench.setup import Bench
from framecheck.bench.still_parts import NETWORK, split_time
from framecheck.export.rows import Row
from framecheck.pipeline.order import Watcher, nobody
from framecheck.pipeline.plan import plan_order
from framecheck.pipeline.pool import PoolLimits, WorkerPool
from framecheck.pipeline.run import measure_to_tables
from framecheck.pose.models import ModelPaths, provide_models

HEIGHT_PX = 1080
PASSES = 4
"""How often the bare inference looks at each picture, so that its time can be told."""
WARM_UP = 2
"""Results of each worker that do not count: it loads its networks before the first."""
QUALITY = 95


def measure_stills(bench: Bench) -> Findings:
    """Throughput as a ratio, and what the time of a still is made of.

    Raises:
        ModelError: the models cannot be had.
        WorkerError: the workers cannot be started.
    """
    with tempfile.TemporaryDirectory(dir=bench.folder) as folder:
        return _measure_in(bench, Path(folder))


def _measure_in(bench: Bench, folder: Path) -> Findings:
    count, rounds = (16, 2) if bench.quick else (48, 3)
    bench.told(f"writing stills of {HEIGHT_PX} lines")
    stills = write_stills(bench, folder / "stills", count)
    whole_s, bare_s = [], []
    for number in range(rounds):
        bench.told(f"round {number + 1} of {rounds}, bare inference")
        bare_s.append(time_bare(bench, stills))
        bench.told(f"round {number + 1} of {rounds}, a whole run")
        whole_s.append(time_whole(bench, stills, folder / f"run {number}"))
    bench.told("what the time of a still is made of")
    parts_ms, pass_ms = split_time(bench, stills[:: 2 if bench.quick else 3])
    under = (
        f"{len(stills)} stills ({bench.scenes_mark}) of {HEIGHT_PX} lines, {bench.cores} workers"
    )
    figures = [*_rates(whole_s, bare_s), *_shares(parts_ms, pass_ms)]
    return Findings(
        figures=tuple(dataclasses.replace(figure, under=under) for figure in figures),
        notes=_parts_in_words(parts_ms, pass_ms),
    )


def write_stills(bench: Bench, folder: Path, count: int) -> list[Path]:
    """Scenes as JPEG files of `HEIGHT_PX` lines."""
    import cv2

    folder.mkdir(parents=True)
    stills = []
    for frame in bench.some_frames(count):
        rgb = bench.tools.read_picture(frame.path).rgb
        size_wh = (round(rgb.shape[1] * HEIGHT_PX / rgb.shape[0]), HEIGHT_PX)
        larger = cv2.resize(rgb, size_wh, interpolation=cv2.INTER_CUBIC)
        path = folder / f"{frame.path.stem}.jpg"
        coding = [cv2.IMWRITE_JPEG_QUALITY, QUALITY]
        path.write_bytes(cv2.imencode(".jpg", larger[:, :, ::-1], coding)[1].tobytes())
        stills.append(path)
    return stills


def time_whole(bench: Bench, stills: Sequence[Path], out: Path) -> float:
    """Seconds a still of a run from files to tables, the loading of the workers left out."""
    order = plan_order([str(stills[0].parent)], out, bench.settings, bench.tools)
    ended_s: list[float] = []

    def note(_row: Row, _seconds: float) -> None:
        ended_s.append(time.perf_counter())

    watcher = nobody()
    measure_to_tables(order, Watcher(moved=watcher.moved, ended=note, told=watcher.told))
    return _seconds_each(ended_s, time.perf_counter(), order.limits.workers)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenBare:
    """Loads the networks and decoded pictures in a worker; picklable."""

    paths: ModelPaths
    stills: tuple[Path, ...]

    def __call__(self) -> Callable[[int], int]:
        """What looks at one of the pictures, once, and says how many people it saw."""
        from framecheck.media.stills import read_still
        from framecheck.pose.lean_import import load_mediapipe
        from framecheck.pose.networks import open_networks

        load_mediapipe()
        networks = open_networks(self.paths)
        views = [whole_view(read_still(still)) for still in self.stills]
        return lambda number: len(networks.find_bodies(views[number % len(views)], "bare"))


def time_bare(bench: Bench, stills: Sequence[Path]) -> float:
    """Seconds a landmark pass takes with all workers at it, the pictures decoded before."""
    opened = OpenBare(paths=provide_models(bench.models), stills=tuple(stills))
    pool: WorkerPool[int, int] = WorkerPool(opened, PoolLimits(workers=bench.cores))
    ended_s = [time.perf_counter() for _ in pool.run(range(PASSES * len(stills)))]
    return _seconds_each(ended_s, ended_s[-1], bench.cores)


def _seconds_each(ended_s: Sequence[float], last_s: float, workers: int) -> float:
    """Of the results after those over which the workers were loading."""
    start = WARM_UP * workers
    return (last_s - ended_s[start - 1]) / (len(ended_s) - start)


def _rates(whole_s: Sequence[float], bare_s: Sequence[float]) -> tuple[Figure, ...]:
    middle, noise = middle_and_noise([1 / each for each in whole_s])
    return (
        ratio_figure("stills_over_bare_inference", bare_s, whole_s, aim=">= 0.8"),
        Figure(name="stills_per_second", value=middle, noise=noise, unit="1/s"),
    )


def _shares(parts_ms: dict[str, float], pass_ms: float) -> tuple[Figure, ...]:
    whole_ms = sum(parts_ms.values())
    inside_ms = sum(ms for name, ms in parts_ms.items() if name.startswith(NETWORK))
    share, passes = inside_ms / whole_ms, inside_ms / pass_ms
    return (
        Figure(name="stills_share_of_inference", value=share, noise=0.02 * share),
        Figure(name="stills_inference_in_passes", value=passes, noise=0.04 * passes),
    )


def _parts_in_words(parts_ms: dict[str, float], pass_ms: float) -> tuple[str, ...]:
    whole_ms = sum(parts_ms.values())
    ordered = sorted(parts_ms.items(), key=lambda part: -part[1])
    return (
        f"a still takes {whole_ms:.1f} ms of a core, one bare landmark pass {pass_ms:.1f} ms",
        *(f"{ms:8.1f} ms {100 * ms / whole_ms:5.1f} %  {name}" for name, ms in ordered),
    )
