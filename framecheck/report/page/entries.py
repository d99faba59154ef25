"""What the page shows, one entry for each still and each shot, read from the catalog."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.layout import Row
from framecheck.catalog.sources import Source

_KEY_LENGTH = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One still, or one shot of a clip.

    Attributes:
        key: short, the same as long as the content is: what links and corrections go by.
        source: where it comes from.
        shot: the row of the shot; None for a still.
        best: the row of the frame that shows it best; None when none was measured.
        frames: of all its measured frames their number, time, crop level and size at least.
        people: those in `best`, the main subject first.
        file: the row of its file; None while that is not finished.
    """

    key: str
    source: Source
    shot: Row | None
    best: Row | None
    frames: tuple[Row, ...]
    people: tuple[Row, ...]
    file: Row | None

    @property
    def row(self) -> Row:
        """The row that is named, counted and corrected: the shot's, or the still's own."""
        return self.shot if self.shot is not None else self.best or {}

    @property
    def anchor(self) -> int:
        """The frame that a correction is tied to; -1 for a still."""
        frame = self.best.get("frame") if self.best else None
        if frame is None and self.shot is not None:
            frame = self.shot.get("start_frame")
        return int(frame) if isinstance(frame, int) else -1

    @property
    def number(self) -> int:
        """The number of the shot in its measurement, 0 for a still."""
        number = self.shot.get("shot") if self.shot is not None else 0
        return int(number) if isinstance(number, int) else 0


def gather_entries(catalog: Catalog, folder: Path | None = None) -> tuple[Entry, ...]:
    """All that the catalog shows, by place, then by shot.

    Args:
        catalog: open.
        folder: only what lies in it or below.

    Raises:
        CatalogError: it cannot be read.
    """
    return tuple(
        entry for source in catalog.sources(folder) for entry in entries_of(catalog, source)
    )


def entries_of(catalog: Catalog, source: Source) -> Iterator[Entry]:
    """The entries of one source."""
    return _still(catalog, source) if source.kind == "still" else _shots(catalog, source)


def _still(catalog: Catalog, source: Source) -> Iterator[Entry]:
    rows = catalog.rows(source.measurement)
    if rows.frames:
        yield Entry(
            key=_key(source),
            source=source,
            shot=None,
            best=rows.frames[0],
            frames=rows.frames,
            people=_in_order(rows.people),
            file=rows.file,
        )


def _shots(catalog: Catalog, source: Source) -> Iterator[Entry]:
    clip, key = catalog.shown_clip(source.measurement), _key(source)
    for shown in clip.shots:
        yield Entry(
            key=f"{key}-{shown.shot.get('shot')}",
            source=source,
            shot=shown.shot,
            best=shown.best,
            frames=shown.frames,
            people=_in_order(shown.people),
            file=clip.file,
        )


def _in_order(people: Sequence[Row]) -> tuple[Row, ...]:
    return tuple(sorted(people, key=lambda row: int(row.get("person") or 0)))


def _key(source: Source) -> str:
    return "".join(char for char in source.content if char.isalnum())[-_KEY_LENGTH:]
