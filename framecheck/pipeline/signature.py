"""Whether a file is still the one that it was: its size and date."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TypeAlias

Signature: TypeAlias = tuple[int, int]
"""Size in bytes and date of the last change in nanoseconds; of several files their sum, and the
latest."""

GONE = "it is no longer there: its drive or folder has disappeared; give the same command again"
CHANGED = (
    "it changed while it was measured, as a file does that is still being copied; "
    "give the same command again when it is whole"
)


def sign(files: Sequence[Path]) -> Signature:
    """The present signature of the files of one input.

    Raises:
        OSError: one of them is not there, or its drive does not answer.
    """
    statuses = [file.stat() for file in files]
    return sum(s.st_size for s in statuses), max(s.st_mtime_ns for s in statuses)


def what_happened(files: Sequence[Path], before: Signature) -> str:
    """Why the files are no longer those that were signed; "" when they are."""
    try:
        return "" if sign(files) == before else CHANGED
    except OSError:
        return GONE
