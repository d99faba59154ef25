"""`python -m framecheck.bench` as its user meets it."""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from framecheck.bench.__main__ import PARTS
from framecheck.bench.machine import describe_machine, describe_versions
from framecheck.bench.setup import REPOSITORY_SCENES

ROOT = Path(__file__).resolve().parents[2]


def run_bench(*words, cwd=None):
    return subprocess.run(
        [sys.executable, "-m", "framecheck.bench", *map(str, words)],
        capture_output=True, text=True, cwd=cwd or ROOT, check=False, timeout=240,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip


def test_the_help_names_every_part_and_has_examples() -> None:
    done = run_bench("--help")
    assert done.returncode == 0
    said = " ".join(done.stdout.split())
    assert all(part in said for part in PARTS)
    assert said.count("Example: python -m framecheck.bench") == 3
    assert "Exit codes: 0" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--only", "speed"], "the bench has no part 'speed'; choose from accuracy, stills"),
        (["--scenes", "nowhere"], "no truth.json in nowhere"),
        (["--against", "none.json"], "cannot read none.json: No such file"),
        (["--out", "no/such/folder/run.json"], "there is no folder no/such/folder for --out"),
        (["--work", "/dev/null/work"], "cannot use /dev/null/work for --work"),
    ],
    ids=lambda value: value[0] if isinstance(value, list) else "",
)
def test_what_cannot_be_is_said_in_one_line_before_anything_runs(words, said, tmp_path) -> None:
    done = run_bench(*words, cwd=tmp_path)
    assert done.returncode == 2
    assert said in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert done.stdout == ""


def test_the_machine_is_described() -> None:
    machine = describe_machine()
    assert machine["cores"] == len(os.sched_getaffinity(0))
    assert float(machine["memory_gb"]) > 0.5
    assert machine["processor"]


def test_the_versions_that_weigh_are_named() -> None:
    import numpy as np

    versions = describe_versions()
    assert versions["NumPy"] == np.__version__
    assert re.fullmatch(r"\d+\.\d+\.\d+", versions["FFmpeg (libavcodec in PyAV)"])
    assert "not installed" not in versions.values()


@pytest.fixture(scope="module")
def few_scenes(tmp_path_factory):
    """Five of the held-out scenes, in a folder of their own."""
    folder = tmp_path_factory.mktemp("scenes")
    document = json.loads((REPOSITORY_SCENES / "truth.json").read_text("utf-8"))
    document["frames"] = document["frames"][:5]
    for frame in document["frames"]:
        shutil.copy(REPOSITORY_SCENES / frame["file"], folder)
    (folder / "truth.json").write_text(json.dumps(document), "utf-8")
    return folder


@pytest.mark.model
def test_a_run_is_printed_stored_and_compared(few_scenes, tmp_path) -> None:
    words = ["--scenes", few_scenes, "--only", "accuracy", "--work", tmp_path / "work"]
    first = run_bench(*words, "--out", tmp_path / "first.json")
    assert first.returncode == 0, first.stderr
    document = json.loads((tmp_path / "first.json").read_text("utf-8"))
    figures = {figure["name"]: figure for figure in document["parts"]["accuracy"]["figures"]}
    assert figures["frames"]["value"] == 5
    assert figures["subject_found"]["beside"] is not None
    assert 0 <= figures["crop_level_error_median"]["value"] < 0.2
    assert list(document["parts"]) == ["accuracy"]
    assert "subject_found" in first.stdout
    assert "Traceback" not in first.stderr
    assert "INFO" not in first.stderr  # what the libraries say of themselves

    again = run_bench(*words, "--against", tmp_path / "first.json")
    assert again.returncode == 0
    # The same code on the same pictures: nothing may have moved.
    assert re.search(r"^0 of \d\d figures moved by more than the noise\.$", again.stdout, re.M)


def test_an_installed_program_asks_for_scenes(tmp_path) -> None:
    """As it lies in an environment: the package alone, without the tests beside it."""
    shutil.copytree(
        ROOT / "framecheck", tmp_path / "framecheck", ignore=shutil.ignore_patterns("__pycache__")
    )
    done = subprocess.run(
        [sys.executable, "-m", "framecheck.bench", "--quick"],
        capture_output=True, text=True, cwd=tmp_path, check=False, timeout=120,
        env={**os.environ, "PYTHONPATH": str(tmp_path)},
    )  # fmt: skip
    assert done.returncode == 2
    assert "name a folder of them with --scenes" in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
