"""Makes `tests` importable, in worker processes too, however pytest is started."""

import sys
from pathlib import Path

import pytest

ROOT = str(Path(__file__).resolve().parents[2])
if ROOT not in sys.path:
    sys.path.insert(0, ROOT)


@pytest.fixture(autouse=True)
def marks(tmp_path_factory, monkeypatch):
    """A folder of its own for what the fakes of each test leave behind."""
    folder = tmp_path_factory.mktemp("marks")
    monkeypatch.setenv("FRAMECHECK_TEST_MARKS", str(folder))
    return folder


@pytest.fixture(autouse=True)
def quick_start(request, monkeypatch):
    """Fork workers where that is safe; `test_pool` and runs of their own start them as users do."""
    if sys.platform == "linux" and request.module.__name__.rpartition(".")[2] != "test_pool":
        monkeypatch.setattr("framecheck.pipeline.process.START_METHOD", "fork")
