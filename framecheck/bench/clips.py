"""Whole analysis of a clip over plain decoding of the same clip."""

from __future__ import annotations

import dataclasses
import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path

from framecheck.bench.clip_making import RATE, ClipKind, Rgb, make_clip
from framecheck.bench.figures import Figure, Findings, middle_and_noise, ratio_figure
from framecheck.bench.setup import Bench, in_turns
from framecheck.pipeline.plan import plan_order
from framecheck.pipeline.run import measure_to_tables

FULL = ClipKind(seconds=120, times=3)
QUICK = ClipKind(seconds=16)
STILLS = 18
SEED = 9


def measure_clips(bench: Bench) -> Findings:
    """The ratio of a run with all cores, and of its processor time.

    Raises:
        ModelError: the models cannot be had.
        WorkerError: the workers cannot be started.
    """
    kind = QUICK if bench.quick else FULL
    bench.told(f"making a clip of {kind.words}, once")
    clip = make_clip(clip_path(bench, kind), kind, stills_of(bench), SEED)
    frames = decode_plainly(clip)  # and the file is in memory from now on
    spent_s: dict[str, list[float]] = {"decoding": [], "analysis": []}
    stages = {
        "decoding": _noting(spent_s["decoding"], partial(decode_plainly, clip)),
        "analysis": _noting(spent_s["analysis"], partial(analyse, bench, clip)),
    }
    took_s = in_turns(stages, 2, bench.told)
    rate, noise = middle_and_noise([frames / seconds for seconds in took_s["decoding"]])
    whole, plain = took_s["analysis"], took_s["decoding"]
    figures = (
        ratio_figure("clip_over_plain_decoding", whole, plain, aim="<= 1.3"),
        ratio_figure("clip_processor_time_ratio", spent_s["analysis"], spent_s["decoding"]),
        Figure(name="clip_frames_decoded_per_second", value=rate, noise=noise, unit="1/s"),
    )
    under = f"{frames / RATE:.0f} s, {kind.words.split(', ', 1)[1]}, {bench.cores} cores"
    return Findings(figures=tuple(dataclasses.replace(found, under=under) for found in figures))


def clip_path(bench: Bench, kind: ClipKind) -> Path:
    """Where a clip is kept from one run to the next."""
    words = "".join(char if char.isalnum() else "-" for char in kind.words)
    return bench.folder / f"clip-{bench.scenes_mark}-{words}.mp4"


def stills_of(bench: Bench) -> list[Callable[[], Rgb]]:
    """What reads some of the scenes."""

    def reading(path: Path) -> Callable[[], Rgb]:
        return lambda: bench.tools.read_picture(path).rgb

    return [reading(frame.path) for frame in bench.some_frames(STILLS)]


def decode_plainly(clip: Path) -> int:
    """All frames, as PyAV decodes them when nobody says otherwise; how many there are."""
    import av

    with av.open(str(clip)) as container:
        return sum(1 for _ in container.decode(video=0))


def analyse(bench: Bench, clip: Path) -> None:
    """A whole run, from the file to the tables, with the processes that a user's run has."""
    with tempfile.TemporaryDirectory(dir=bench.folder) as out:
        order = plan_order([str(clip)], Path(out), bench.settings, bench.tools)
        measure_to_tables(order)


def _noting(spent_s: list[float], work: Callable[[], object]) -> Callable[[], None]:
    def run() -> None:
        with processor_time(spent_s):
            work()

    return run


@contextmanager
def processor_time(spent_s: list[float]) -> Iterator[None]:
    """Adds the processor time of this process and of its children that ended meanwhile."""
    before_s = sum(os.times()[:4])
    yield
    spent_s.append(sum(os.times()[:4]) - before_s)
