"""What every part of the bench works with."""

from __future__ import annotations

import hashlib
import os
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from framecheck.bench.truth import TRUTH_NAME, Frame, read_frames
from framecheck.pipeline.plan import Tools, real_tools
from framecheck.pipeline.settings import Judging, Settings, load_judging
from framecheck.report.overlay_file import write_overlay

REPOSITORY_SCENES = Path(__file__).resolve().parents[2] / "tests" / "bench" / "scenes"
"""The held-out scenes, when the bench runs from a copy of the repository."""


@dataclass(frozen=True, kw_only=True)
class Bench:
    """One run of the bench.

    Attributes:
        scenes: folder of pictures with truth.json.
        folder: for what is made on the way.
        quick: less of everything, for a first look.
        models: where to take the model files from; None for the cache.
        told: hears what is being done.
    """

    scenes: Path
    folder: Path
    quick: bool
    models: Path | None
    told: Callable[[str], None]

    @cached_property
    def frames(self) -> tuple[Frame, ...]:
        """The scenes; a fair share of them when it is to be quick."""
        frames = read_frames(self.scenes)
        return tuple(frames[::5] if self.quick else frames)

    @cached_property
    def scenes_mark(self) -> str:
        """A short text that changes with the scenes."""
        return hashlib.sha256((self.scenes / TRUTH_NAME).read_bytes()).hexdigest()[:8]

    @cached_property
    def judging(self) -> Judging:
        """The opinions that come with the program."""
        return load_judging(Settings())

    @cached_property
    def tools(self) -> Tools:
        """The adapters of a real run."""
        return real_tools(write_overlay)

    @property
    def settings(self) -> Settings:
        """Those of every run here."""
        return Settings(models=self.models)

    @property
    def cores(self) -> int:
        """Cores that this process may use."""
        if hasattr(os, "sched_getaffinity"):
            return len(os.sched_getaffinity(0))
        return os.cpu_count() or 1

    def some_frames(self, count: int) -> tuple[Frame, ...]:
        """So many of the scenes, evenly out of all of them."""
        places = [index * len(self.frames) // count for index in range(count)]
        return tuple(self.frames[place] for place in dict.fromkeys(places))


def in_turns(
    stages: Mapping[str, Callable[[], object]], rounds: int, told: Callable[[str], None]
) -> dict[str, list[float]]:
    """Seconds of each stage in each round; all stages take their turn in each round.

    What else runs on the machine so hits all of them alike.
    """
    seconds: dict[str, list[float]] = {name: [] for name in stages}
    for number in range(rounds):
        for name, work in stages.items():
            told(f"round {number + 1} of {rounds}, {name}")
            started_s = time.perf_counter()
            work()
            seconds[name].append(time.perf_counter() - started_s)
    return seconds
