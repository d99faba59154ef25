"""What went wrong with one input, in two cells of a table."""

from __future__ import annotations

import traceback
from dataclasses import dataclass
from pathlib import Path

from framecheck.errors import FramecheckError


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """Why something failed, in one line, and at which stage or place."""

    why: str
    where: str


def trouble_of(error: Exception, stage: str) -> Trouble:
    """The trouble that an exception means, met at that stage.

    A place in a clip ("frame 72 (00:00:03:00)") says more than the stage.
    """
    if isinstance(error, FramecheckError):
        place = error.where if error.where.startswith("frame ") else stage
        return Trouble(why=one_line(str(error)), where=place)
    if isinstance(error, MemoryError):
        return Trouble(why="not enough memory", where=stage)
    frames = traceback.extract_tb(error.__traceback__)
    place = f"{Path(frames[-1].filename).name}:{frames[-1].lineno}" if frames else ""
    why = one_line(f"unexpected {type(error).__name__}: {error}")
    return Trouble(why=why, where=f"{stage} ({place})")


def one_line(text: str) -> str:
    """The text without line breaks."""
    return " ".join(text.split())
