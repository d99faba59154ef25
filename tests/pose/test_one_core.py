"""A worker keeps OpenCV to one thread, and nobody else's process is touched."""

import subprocess
import sys

CODE = """
import cv2
from framecheck.pose.one_core import keep_to_one_core
before = cv2.getNumThreads()
import framecheck.pipeline.measurer
untouched = cv2.getNumThreads() == before
keep_to_one_core()
print(untouched, cv2.getNumThreads())
"""


def test_opencv_is_kept_to_one_thread_when_asked() -> None:
    done = subprocess.run(
        [sys.executable, "-c", CODE], capture_output=True, text=True, check=True, timeout=120
    )
    assert done.stdout.split() == ["True", "1"]
