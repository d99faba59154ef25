"""Cold starts: of the help, and of one still, with what of it is loading the models."""

from __future__ import annotations

import dataclasses
import os
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from functools import partial
from pathlib import Path

from framecheck.bench.figures import Figure, Findings, middle_and_noise, ratio_figure
from framecheck.bench.setup import Bench, in_turns
from framecheck.errors import WorkerError

_LOADING = """
import sys, time
from pathlib import Path
started_s = time.perf_counter()
import numpy
from framecheck.pose.lean_import import load_mediapipe
load_mediapipe()
import cv2
libraries_s = time.perf_counter()
from framecheck.pipeline.plan import real_tools
from framecheck.pipeline.settings import Settings
tools = real_tools(print)
opened = tools.provide_measurer(Settings(models=Path(sys.argv[1]) if sys.argv[1] else None), None)
measurer = opened()
loaded_s = time.perf_counter()
measurer.measure(tools.read_picture(Path(sys.argv[2])))
print(libraries_s - started_s, loaded_s - libraries_s, time.perf_counter() - loaded_s)
"""
"""What a worker does before its first still, and that still, timed from the inside."""


def measure_starts(bench: Bench) -> Findings:
    """Seconds of both, and what a still's are made of.

    Raises:
        WorkerError: one of the commands failed.
    """
    still = bench.some_frames(4)[1].path
    rounds = 5 if bench.quick else 9
    python, module = [sys.executable, "-c", "pass"], [sys.executable, "-m", "framecheck"]
    with tempfile.TemporaryDirectory(dir=bench.folder) as folder:
        few = in_turns(
            {
                "Python alone": partial(run_quietly, python),
                "framecheck --help": partial(run_quietly, [*module, "--help"]),
            },
            rounds,
            bench.told,
        )
        one = _time_one_still(bench, still, Path(folder), max(2, rounds // 2))
    python_s, help_s = (middle_and_noise(few[name]) for name in few)
    cold_s, loading_s = middle_and_noise(one.cold_s), middle_and_noise(one.loading_s)
    figures = (
        Figure(name="help_cold_start_s", value=help_s[0], noise=help_s[1], unit="s", aim="<= 0.4"),
        Figure(name="python_alone_start_s", value=python_s[0], noise=python_s[1], unit="s"),
        Figure(name="one_still_cold_s", value=cold_s[0], noise=cold_s[1], unit="s"),
        dataclasses.replace(
            ratio_figure("one_still_share_of_loading", one.loading_s, one.cold_s), aim=">= 0.5"
        ),
    )
    return Findings(
        figures=tuple(dataclasses.replace(found, under=f"{rounds} starts") for found in figures),
        notes=(
            f"one still takes {cold_s[0]:.2f} s from the command to the tables; a worker that "
            f"loads the networks and does nothing else takes {loading_s[0]:.2f} s: "
            f"{one.in_words()}",
        ),
    )


@dataclasses.dataclass(frozen=True, slots=True, kw_only=True)
class _OneStill:
    """Seconds of each round.

    Attributes:
        cold_s: of the whole command.
        loading_s: of a fresh process until its networks are loaded.
        inside_s: of that, the libraries and the models; then the first still.
    """

    cold_s: list[float]
    loading_s: list[float]
    inside_s: list[tuple[float, ...]]

    def in_words(self) -> str:
        """What the loading is made of."""
        libraries, models, first = (
            middle_and_noise(part)[0] for part in zip(*self.inside_s, strict=True)
        )
        return (
            f"libraries {libraries:.2f} s, models {models:.2f} s, the rest Python; "
            f"the still itself {first:.2f} s"
        )


def _time_one_still(bench: Bench, still: Path, folder: Path, rounds: int) -> _OneStill:
    inside_s: list[tuple[float, ...]] = []
    models = str(bench.models or "")
    number = iter(range(rounds))

    def look_inside() -> None:
        said = run_quietly([sys.executable, "-c", _LOADING, models, str(still)])
        inside_s.append(tuple(float(word) for word in said.split()[-3:]))

    def measure() -> None:
        out = folder / f"out {next(number)}"
        command = [sys.executable, "-m", "framecheck", "measure", str(still), "--out", str(out)]
        run_quietly([*command, *(["--models", models] if models else [])])

    took = in_turns({"one still": measure, "loading": look_inside}, rounds, bench.told)
    loading_s = [
        whole - first for whole, (*_, first) in zip(took["loading"], inside_s, strict=True)
    ]
    return _OneStill(cold_s=took["one still"], loading_s=loading_s, inside_s=inside_s)


def run_quietly(command: Sequence[str]) -> str:
    """What the command says on stdout.

    Raises:
        WorkerError: it failed.
    """
    folders = [str(Path(__file__).resolve().parents[2]), os.environ.get("PYTHONPATH", "")]
    done = subprocess.run(
        command,
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(filter(None, folders))},
    )
    if done.returncode != 0:
        last = (done.stderr.strip().splitlines() or ["it said nothing"])[-1]
        raise WorkerError(f"{' '.join(command[1:4])} failed: {last}", where=command[-1])
    return done.stdout
