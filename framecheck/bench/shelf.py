"""A catalog of 100,000 shots: how long questions and a report take."""

from __future__ import annotations

import dataclasses
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np

from framecheck.bench.figures import Figure, Findings, middle_and_noise
from framecheck.bench.setup import Bench, in_turns
from framecheck.bench.shelf_filling import FOLDER, fill_catalog
from framecheck.bench.starts import run_quietly
from framecheck.catalog.catalog import Catalog
from framecheck.catalog.search import FindQuery

SHOTS = 100_000
QUICK_SHOTS = 10_000


def measure_shelf(bench: Bench) -> Findings:
    """Seconds of questions within the program, and of the commands from start to end."""
    shots = QUICK_SHOTS if bench.quick else SHOTS
    path = bench.folder / f"shelf-{bench.scenes_mark}-{shots}.sqlite"
    if not path.exists():
        bench.told(f"generating a catalog of {shots:,} shots")
        draft = path.with_suffix(".part")
        draft.unlink(missing_ok=True)
        fill_catalog(draft, bench, shots)
        draft.replace(path)
    asked = _ask(bench, path)
    worst = max(asked, key=lambda name: asked[name][0])
    commands = in_turns(_commands(bench, path), 2 if bench.quick else 3, bench.told)
    under = f"{shots:,} shots"
    figures = [
        Figure(name="catalog_question_median_s", unit="s", aim="<= 1",
               value=float(np.median([found[0] for found in asked.values()])), noise=0.002),
        Figure(name="catalog_question_worst_s", unit="s", aim="<= 1", value=asked[worst][0],
               noise=asked[worst][1]),
        *(
            Figure(name=f"catalog_{name}_command_s", unit="s", aim="<= 1",
                   value=middle_and_noise(took)[0], noise=middle_and_noise(took)[1])
            for name, took in commands.items()
        ),
    ]  # fmt: skip
    return Findings(
        figures=tuple(dataclasses.replace(found, under=under) for found in figures),
        notes=tuple(
            f"{1e3 * seconds:8.1f} ms  {rows:7,} rows  {name}"
            for name, (seconds, _, rows) in asked.items()
        ),
    )


QUESTIONS = {
    "close-ups": FindQuery(sizes=("cu",)),
    "close-ups, the first 200": FindQuery(sizes=("cu",), limit=200),
    "mediums with two or more people": FindQuery(sizes=("ms",), fewest_people=2),
    "flagged at the knee": FindQuery(flags=("knee",)),
    "without a flag, the first 200": FindQuery(flags=("none",), limit=200),
    "profiles with a flag": FindQuery(flags=("any",), facings=("profile",)),
    "one day's folder": FindQuery(folder=Path(FOLDER, "day_03")),
    "close-ups of that folder": FindQuery(folder=Path(FOLDER, "day_03"), sizes=("cu",)),
    "lasting 10 to 12 s": FindQuery(longer_than_s=10, shorter_than_s=12),
    "by the file's name": FindQuery(file_pattern="*123.mov"),
    "the first 200": FindQuery(limit=200),
}


def _ask(bench: Bench, path: Path) -> dict[str, tuple[float, float, int]]:
    """Seconds, noise and rows of each question, the catalog open and in memory."""
    rows: dict[str, int] = {}
    with Catalog.open_to_read(path) as catalog:

        def asking(name: str, query: FindQuery) -> Callable[[], None]:
            def ask() -> None:
                rows[name] = len(catalog.find(query))

            return ask

        stages = {name: asking(name, query) for name, query in QUESTIONS.items()}
        took = in_turns(stages, 3, bench.told)
    return {name: (*middle_and_noise(took[name]), rows[name]) for name in QUESTIONS}


def _commands(bench: Bench, path: Path) -> dict[str, Callable[[], object]]:
    module, page = [sys.executable, "-m", "framecheck"], bench.folder / "shelf.html"
    day = str(Path(FOLDER, "day_03"))
    find = [*module, "find", str(path), "--size", "CU", "--people", "1", "--flag", "none"]
    report = [*module, "report", str(path), "--folder", day, "--out", str(page)]
    counts = [*module, "find", str(path), "--counts"]
    return {
        "find": lambda: run_quietly(find),
        "counts_of_everything": lambda: run_quietly(counts),
        "page_of_a_day": lambda: run_quietly(report),
    }
