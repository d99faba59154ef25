"""MediaPipe is loaded without the plotting library, and the library can be loaded afterwards."""

import subprocess
import sys

import pytest

LOAD = """
import sys
from framecheck.pose.lean_import import load_mediapipe
{before}
load_mediapipe()
print("mediapipe.tasks.python.vision" in sys.modules, "matplotlib" in sys.modules)
assert "sounddevice" not in sys.modules
import matplotlib.pyplot
print(hasattr(matplotlib.pyplot, "plot"))
"""


@pytest.mark.parametrize(
    ("before", "said"),
    [("", ["True False", "True"]), ("import matplotlib.pyplot", ["False True", "True"])],
    ids=["not loaded", "loaded already"],
)
def test_the_plotting_library_is_left_out_and_can_be_had(before, said):
    pytest.importorskip("matplotlib")
    done = subprocess.run(
        [sys.executable, "-c", LOAD.format(before=before)],
        capture_output=True, text=True, check=True, timeout=120,
    )  # fmt: skip
    assert done.stdout.splitlines() == said
