"""What a large archive takes: measured per core on clips of yours, and summed up.

`python -m tests.bench.archive CLIP... [--hours 10000]` measures each clip as one worker of a
cluster does, in this process and on one core; reads the first one from a web server as well; enters
what came of them many times over, as the one writer does; and sends small tasks through a cluster
of one worker. It prints the figures that `docs/archive.md` is made of. Processor time is what
counts: it hardly depends on what else runs.
"""

from __future__ import annotations

import argparse
import itertools
import math
import pickle
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path

from framecheck.catalog.catalog import Catalog
from framecheck.media.address import RemotePath
from framecheck.media.clips import open_clip
from framecheck.pipeline.clip import ClipTask
from framecheck.pipeline.dask_executor import DaskExecutor, _site_order
from framecheck.pipeline.desk import Desk
from framecheck.pipeline.identify import Identity, identify
from framecheck.pipeline.measured_clip import MeasuredClip
from framecheck.pipeline.order import Input, MediaKind, Order
from framecheck.pipeline.plan import plan_order, real_tools
from framecheck.pipeline.settings import Settings
from framecheck.pipeline.site import Site
from framecheck.pipeline.tables import catalog_layout, write_tables
from framecheck.report.overlay_file import write_overlay

ENTERED_SHOTS = 3000
SMALL_TASKS = 400


@dataclass(slots=True, kw_only=True)
class Spent:
    """Wall clock and processor time of this process, in seconds."""

    wall_s: float = 0.0
    cpu_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PerClip:
    """One clip as one worker measures it.

    Attributes:
        footage_s: how long it plays. size_bytes: of the file. result_bytes: of what is sent back.
        shots, frames: how many of each were measured.
        told: time for telling its content. measured: for reading and measuring it.
    """

    path: Path
    footage_s: float
    size_bytes: int
    result_bytes: int
    shots: int
    frames: int
    told: Spent
    measured: Spent


@contextmanager
def spending() -> Iterator[Spent]:
    """Fills in what is spent inside."""
    spent, wall_s, cpu_s = Spent(), time.perf_counter(), time.process_time()
    yield spent
    spent.wall_s, spent.cpu_s = time.perf_counter() - wall_s, time.process_time() - cpu_s


def measure_clips(order: Order) -> tuple[list[PerClip], list[MeasuredClip], Spent]:
    """Each clip as one worker of a cluster measures it; and what loading the networks takes."""
    with spending() as loading:
        site = Site(_site_order(order))
    figures, results = [], []
    for item in order.inputs:
        with spending() as told:
            identity = identify(item.files)
        task = ClipTask(
            file=item.file, path=item.path, files=item.files, signature=identity.signature
        )
        with spending() as measured:
            result = site.carry_out(task, lambda _beat: None)
        if not isinstance(result, MeasuredClip) or result.end.trouble is not None:
            raise SystemExit(f"{item.file}: {result}")
        results.append(result)
        figures.append(
            PerClip(
                path=item.path,
                footage_s=float(result.end.duration_s),
                size_bytes=item.path.stat().st_size,
                result_bytes=len(pickle.dumps(result)),
                shots=len(result.takes),
                frames=sum(len(take.outcome.result.frames) for take in result.takes),
                told=told,
                measured=measured,
            )
        )
    return figures, results, loading


def enter_many(order: Order, results: Sequence[MeasuredClip], folder: Path) -> dict[str, float]:
    """What entering each shot takes the one writer, with what it costs on the disk."""
    shots = sum(len(result.takes) for result in results)
    rounds = 2 * math.ceil(ENTERED_SHOTS / shots / 2)  # half of them clip by clip
    copies = [
        (Input(file=f"{n}.mov", path=folder / f"{n}.mov", kind=MediaKind.CLIP), result)
        for n, result in enumerate(itertools.chain(*[results] * rounds))
    ]
    order = replace(order, inputs=tuple(item for item, _ in copies), out=folder)
    with Catalog.open(order.catalog, layout=catalog_layout(0)) as catalog:
        desk = Desk(order, catalog)
        with spending() as alone:
            for index, (_item, result) in enumerate(copies[: len(copies) // 2]):
                _enter(desk, index, result)
        with spending() as entering:
            for index, (_item, result) in enumerate(copies[len(copies) // 2 :], len(copies) // 2):
                with catalog.together():
                    _enter(desk, index, result)
        with spending() as writing:
            write_tables(desk, interrupted=False)
    entered = shots * rounds
    return {
        "entering, ms a shot": 2e3 * entering.wall_s / entered,
        "entering, processor ms a shot": 2e3 * entering.cpu_s / entered,
        "entering each shot alone, ms a shot": 2e3 * alone.wall_s / entered,
        "tables, ms a shot": 1e3 * writing.wall_s / entered,
        "catalog, kB a shot": order.catalog.stat().st_size / 1e3 / entered,
        "tables, kB a shot": sum(f.stat().st_size for f in folder.glob("*.csv")) / 1e3 / entered,
    }


def _enter(desk: Desk, index: int, result: MeasuredClip) -> None:
    job = desk.admit(index, Identity(content=f"{index:040x}", signature=(1, 1)))
    assert job is not None
    for take in result.takes:
        desk.enter_shot(job, take.outcome.result)
    job.header, job.end = result.end.header, result.end
    desk.close(job)


def read_remotely(clip: Path) -> dict[str, float]:
    """What decoding takes from the disk, and from a web server in another process."""
    command = [sys.executable, "-m", "tests.media.servers", str(clip.parent)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        places = {
            "the disk": clip,
            "a web server": RemotePath(server.stdout.readline().strip() + clip.name),
        }
        spent = {}
        for name, place in places.items():
            with spending() as spent[name], open_clip(place, clip.name) as opened:
                frames = sum(1 for _ in opened.frames())
        server.kill()
    gigabytes = clip.stat().st_size / 1e9
    more_s = spent["a web server"].cpu_s - spent["the disk"].cpu_s
    return {
        "decoding, processor ms a frame": 1e3 * spent["the disk"].cpu_s / frames,
        "from a web server, processor s more a GB": more_s / gigabytes,
    }


def send_many(order: Order, folder: Path) -> dict[str, float]:
    """What handing a task to a cluster and taking its result back takes, scheduler included."""
    from distributed import LocalCluster

    file = folder / "small"
    file.write_bytes(b"small")
    with LocalCluster(n_workers=1, threads_per_worker=1, dashboard_address=None) as cluster:
        address = cluster.scheduler_address.removeprefix("tcp://")
        executor = DaskExecutor(order, address, lambda _words: None)
        done: list[object] = []
        for measured in (4, SMALL_TASKS):  # the first few load the networks
            with spending() as sending:
                for _ in range(measured):
                    executor.identify((file,), done.append)
                while not executor.idle:
                    executor.turn(1.0)
        executor.close()
    return {
        "bookkeeping, ms a task": 1e3 * sending.wall_s / SMALL_TASKS,
        "bookkeeping, processor ms a task": 1e3 * sending.cpu_s / SMALL_TASKS,
        "task, kB": len(pickle.dumps(_site_order(order))) / 1e3,
    }


def say_clip(figures: PerClip) -> str:
    """One clip in one line."""
    per_s, rate = figures.measured.cpu_s / figures.footage_s, figures.size_bytes * 8e-6
    return (
        f"{figures.path.name}: {figures.footage_s:.0f} s at {rate / figures.footage_s:.1f} Mbit/s, "
        f"{figures.shots} shots, {figures.frames} frames; {figures.measured.cpu_s:.1f} s of a core "
        f"({figures.measured.wall_s:.1f} s by the clock), {per_s:.3f} s for each second, "
        f"{figures.measured.cpu_s / max(1, figures.shots):.2f} s a shot; content told in "
        f"{figures.told.cpu_s:.2f} s; result {figures.result_bytes / 1e3 / figures.shots:.1f} kB "
        "a shot"
    )


def say_archive(clips: Sequence[PerClip], per_shot: dict[str, float], hours: float) -> list[str]:
    """What so many hours of the same kind take."""
    footage_s = sum(clip.footage_s for clip in clips)
    core_s = sum(clip.measured.cpu_s + clip.told.cpu_s for clip in clips)
    shots = hours * 3600 * sum(clip.shots for clip in clips) / footage_s
    terabytes = hours * 3600 * sum(clip.size_bytes for clip in clips) / footage_s / 1e12
    core_hours = hours * core_s / footage_s
    return [
        f"{hours:g} hours: {core_hours:.0f} core-hours, {shots / 1e6:.2f} million shots, "
        f"{terabytes:.1f} TB to read",
        *(
            f"  {cores} cores: {core_hours / cores:.1f} h, "
            f"{terabytes * 8e3 * cores / core_hours / 3600:.2f} Gbit/s from the storage, "
            f"{shots * cores / core_hours / 3600:.1f} shots/s to the writer"
            for cores in (16, 64, 256, 1024)
        ),
        f"  the writer is busy {shots * per_shot['entering, ms a shot'] / 3.6e6:.1f} h in all, "
        f"the catalog has {shots * per_shot['catalog, kB a shot'] / 1e6:.1f} GB, "
        f"the tables take {shots * per_shot['tables, ms a shot'] / 3.6e6:.2f} h",
    ]


def main() -> None:
    """Measure, and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("clips", nargs="+", metavar="CLIP")
    parser.add_argument("--hours", type=float, default=10_000.0)
    wanted = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        order = plan_order(wanted.clips, folder, Settings(), real_tools(write_overlay))
        clips, results, loading = measure_clips(order)
        print(*map(say_clip, clips), sep="\n")
        peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e3
        print(f"loading {loading.cpu_s:.1f} s; most memory {peak_mb:.0f} MB")
        per_shot = enter_many(order, results, folder)
        remote = read_remotely(clips[0].path)
        figures = {**remote, **per_shot, **send_many(order, folder)}
        print(*(f"{name}: {value:.2f}" for name, value in figures.items()), sep="\n")
    print(*say_archive(clips, per_shot, wanted.hours), sep="\n")


if __name__ == "__main__":
    main()
