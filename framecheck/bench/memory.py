"""Whether memory stays flat: what stills, and passes over a clip, leave behind in a process."""

from __future__ import annotations

import gc
from collections.abc import Sequence

import numpy as np
import psutil

from framecheck.bench.clip_making import RATE, ClipKind, make_clip
from framecheck.bench.clips import SEED, clip_path, stills_of
from framecheck.bench.figures import Figure, Findings
from framecheck.bench.setup import Bench
from framecheck.pipeline.clip import ClipTask, OpenClipWork
from framecheck.pipeline.plan import collect_shots, find_active_picture, open_one_clip
from framecheck.pipeline.signature import sign
from framecheck.records.clips import ShotTake

PICTURES = 6
"""Stills of one round; the same in each, so that the rounds can be compared."""
UNSETTLED = 0.5
"""Share of the rounds before the slope is taken: until then the memory's own keeping settles."""
LEAST_NOISE_MB = 1.0
"""Memory is given out in pieces: of a slope so small nothing can be said."""
CLIP = ClipKind(seconds=12, mbits=8, size_wh=(1280, 720), shot_s=(2.0, 2.0))


def measure_memory(bench: Bench) -> Findings:
    """Megabytes that a thousand stills, and a minute of a clip, leave behind.

    Raises:
        ModelError: the models cannot be had.
    """
    stills = _while_measuring(bench, rounds=12 if bench.quick else 40)
    passes = _while_reading(bench, rounds=6 if bench.quick else 12)
    under = f"{PICTURES * len(stills)} stills"
    most_mb = max(stills)
    return Findings(
        figures=(
            _left("memory_left_by_1000_stills_mb", stills, 1000 / PICTURES, ("<= 50", under)),
            Figure(
                name="memory_of_a_worker_mb", value=most_mb, unit="MB", noise=0.05 * most_mb,
                under=under,
            ),
            _left(
                "memory_left_by_a_minute_of_clip_mb", passes, 60 / CLIP.seconds,
                ("<= 1", f"{len(passes)} times {CLIP.words}"),
            ),
        )
    )  # fmt: skip


def _left(name: str, held: Sequence[float], per: float, words: tuple[str, str]) -> Figure:
    """The slope over the settled rounds, times so many of them; `words` are aim and conditions."""
    slope, noise = slope_mb(held[int(UNSETTLED * len(held)) :])
    noise = max(LEAST_NOISE_MB, per * noise)
    return Figure(
        name=name, value=per * slope, unit="MB", noise=noise, aim=words[0], under=words[1]
    )


def _while_measuring(bench: Bench, rounds: int) -> list[float]:
    """The most megabytes held in each round over the same stills, in this process."""
    measurer = bench.tools.provide_measurer(bench.settings, None)()
    paths = [frame.path for frame in bench.some_frames(PICTURES)]
    held = []
    for number in range(rounds):
        bench.told(f"memory: round {number + 1} of {rounds}")
        most = 0.0
        for path in paths:
            bench.judging.judge(measurer.measure(bench.tools.read_picture(path)))
            most = max(most, _held_mb())
        held.append(most)
    return held


def _while_reading(bench: Bench, rounds: int) -> list[float]:
    """Megabytes held after each pass over a clip, all shots of which are thrown away."""
    clip = make_clip(clip_path(bench, CLIP), CLIP, stills_of(bench), SEED)
    work = OpenClipWork(
        open_frames=open_one_clip, collect=collect_shots, find_active=find_active_picture
    )()
    held = []
    for number in range(rounds):
        bench.told(f"memory: {RATE * CLIP.seconds:g} frames, {number + 1} of {rounds}")
        task = ClipTask(file=clip.name, path=clip, files=(clip,), signature=sign([clip]))
        shots = sum(isinstance(part, ShotTake) for part in work(task))
        held.append(_held_mb() if shots else float("nan"))
    return held


def _held_mb() -> float:
    gc.collect()
    return float(psutil.Process().memory_info().rss) / 1e6


def slope_mb(held: Sequence[float]) -> tuple[float, float]:
    """How much more is held with each step, by least squares, and the standard error.

    Raises:
        ValueError: fewer than three steps.
    """
    if len(held) < 3:
        raise ValueError(f"a slope takes three steps, got {len(held)}")
    level = np.asarray(held, float)
    steps = np.arange(len(level)) - (len(level) - 1) / 2
    slope = float(steps @ level / (steps @ steps))
    left = level - level.mean() - slope * steps
    return slope, float(np.sqrt(left @ left / (len(level) - 2) / (steps @ steps)))
