"""Makes `tests` importable, in worker processes too, however pytest is started."""

import sys
from pathlib import Path

ROOT = str(Path(__file__).resolve().parents[2])
if ROOT not in sys.path:
    sys.path.insert(0, ROOT)

from tests.pipeline.conftest import marks, quick_start  # noqa: E402, F401  # the same fixtures
