"""What a worker loads, and how: MediaPipe without the plotting and the recording library.

MediaPipe draws with the one, and nothing here uses it. Three quarters of the time that its import
takes go there: a third of a second for each worker. The other looks for sound devices.
"""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator
from types import ModuleType

NOT_NEEDED = ("matplotlib", "matplotlib.pyplot")
NOT_TOUCHED = "sounddevice"


def load_mediapipe() -> None:
    """Import it; to be called in a process of our own, where nobody else may want to plot."""
    if any(name in sys.modules for name in NOT_NEEDED):
        return  # nothing to spare
    with contextlib.suppress(ImportError, AttributeError), _stand_ins():
        # What fails with stand-ins is imported as it is, on first use.
        from mediapipe.tasks.python import vision  # noqa: F401


@contextlib.contextmanager
def _stand_ins() -> Iterator[None]:
    modules = {name: ModuleType(name) for name in NOT_NEEDED}
    modules["matplotlib"].pyplot = modules["matplotlib.pyplot"]  # type: ignore[attr-defined]
    sys.modules.update(modules)
    absent = NOT_TOUCHED not in sys.modules
    if absent:
        sys.modules[NOT_TOUCHED] = None  # type: ignore[assignment]  # as if not installed
    try:
        yield
    finally:
        for name in (*NOT_NEEDED, *([NOT_TOUCHED] if absent else [])):
            sys.modules.pop(name, None)
