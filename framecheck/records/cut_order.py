"""The order of a cut as a list or a timeline states it."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class CutEntry:
    """One shot of the cut.

    A part of a clip may be told by its shot number, by frames, by seconds or by timecode; without
    any of them the whole of it is meant.

    Attributes:
        file: as the list names it. path: where it lies.
        where: in the list, for messages ("line 3").
        shot: number of the measured shot.
        from_frame, to_frame: first frame, and the one after the last.
        from_s, to_s: the same in seconds from the start of the file.
        from_timecode, to_timecode: the same as the file's own timecode; "" for none.
        duration_s: how long it is held in the cut, where no part tells it (stills).
    """

    file: str
    path: str
    where: str
    shot: int | None = None
    from_frame: int | None = None
    to_frame: int | None = None
    from_s: Fraction | None = None
    to_s: Fraction | None = None
    from_timecode: str = ""
    to_timecode: str = ""
    duration_s: Fraction | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CutOrder:
    """A list or timeline.

    Attributes:
        name: of the timeline, or of the file without its ending.
        entries: in the order of the cut, at least one.
        notes: what was left out.
    """

    name: str
    entries: tuple[CutEntry, ...]
    notes: tuple[str, ...] = ()
