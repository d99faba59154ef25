"""Makes `tests` importable, in other processes too, and builds small catalogs."""

import sys
from pathlib import Path

import pytest

from framecheck.catalog.catalog import Catalog

ROOT = str(Path(__file__).resolve().parents[2])
if ROOT not in sys.path:
    sys.path.insert(0, ROOT)

from tests.catalog.builders import LAYOUT  # noqa: E402  # only importable from here on


@pytest.fixture
def catalog(tmp_path):
    with Catalog.open(tmp_path / "a.sqlite", layout=LAYOUT) as opened:
        yield opened
        assert opened.check() == ()
