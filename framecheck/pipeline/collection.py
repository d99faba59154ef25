"""Work that makes many small values, none of which is garbage."""

from __future__ import annotations

import contextlib
import gc
from collections.abc import Iterator


@contextlib.contextmanager
def without_collection() -> Iterator[None]:
    """No garbage is looked for: a long sequence is a million small records, and none is garbage."""
    before = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if before:
            gc.enable()
