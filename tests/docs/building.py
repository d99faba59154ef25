"""Builds the documentation for tests, strictly."""

import os
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest

DOCS = Path(__file__).resolve().parents[2] / "docs"
BUILDER = ("sphinx", "myst_parser", "furo")


def build_docs(folder):
    """The folder with the built pages; skips without the extra `docs`, but not where CI is set."""
    missing = [name for name in BUILDER if find_spec(name) is None]
    if missing and "CI" not in os.environ:
        pytest.skip(f"the extra docs is not installed: {', '.join(missing)}")
    out = folder / "pages"
    done = subprocess.run(
        [sys.executable, "-m", "sphinx", "-q", "-W", "--keep-going", "-n",
         "-d", str(folder / "doctrees"), str(DOCS), str(out)],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    return out
