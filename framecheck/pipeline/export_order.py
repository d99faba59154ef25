"""What is asked of an export, and what came of it."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportOrder:
    """What is to be exported.

    Attributes:
        out: folder for what is written.
        sequence: name of one timeline or list for all clips and stills; "" for one a clip.
        beside: sidecars go beside the media.
        embed: stills carry their XMP inside, and get no sidecar.
    """

    out: Path
    sequence: str = ""
    beside: bool = False
    embed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Exported:
    """What came of an export.

    Attributes:
        written: the files. problems: what could not be exported, one line each.
    """

    written: tuple[Path, ...]
    problems: tuple[str, ...] = ()
