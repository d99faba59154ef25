"""What the page shows, one entry for each still and each shot, read from the catalog."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.layout import Cell, Row
from framecheck.catalog.sources import Source

_KEY_LENGTH = 12
_PICTURE = ("shot", "frame")


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One still, or one shot of a clip.

    Attributes:
        key: short, the same as long as the content is: what links and corrections go by.
        source: where it comes from.
        shot: the row of the shot; None for a still.
        best: the row of the frame that shows it best; None when none was measured.
        frames: the rows of all its measured frames.
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
    rows = catalog.rows(source.measurement)
    shots: Sequence[Row | None] = rows.shots or (() if source.kind != "still" else (None,))
    frames_of, people_in = _grouped(rows.frames, ("shot",)), _grouped(rows.people, _PICTURE)
    for shot in shots:
        frames = rows.frames if shot is None else tuple(frames_of[(shot.get("shot"),)])
        best = _best_frame(shot, frames)
        people = [] if best is None else people_in[_key_of(best, _PICTURE)]
        if shot is not None or best is not None:
            yield Entry(
                key=_key(source, shot),
                source=source,
                shot=shot,
                best=best,
                frames=frames,
                people=tuple(sorted(people, key=lambda row: int(row.get("person") or 0))),
                file=rows.file,
            )


def _key(source: Source, shot: Row | None) -> str:
    content = "".join(char for char in source.content if char.isalnum())[-_KEY_LENGTH:]
    return content if shot is None else f"{content}-{shot.get('shot')}"


def _grouped(rows: Sequence[Row], names: Sequence[str]) -> Mapping[tuple[Cell, ...], list[Row]]:
    """The rows by what stands in some columns; none for what is not there."""
    groups: dict[tuple[Cell, ...], list[Row]] = defaultdict(list)
    for row in rows:
        groups[_key_of(row, names)].append(row)
    return groups


def _key_of(row: Row, names: Sequence[str]) -> tuple[Cell, ...]:
    return tuple(row.get(name) for name in names)


def _best_frame(shot: Row | None, frames: Sequence[Row]) -> Row | None:
    if shot is None:
        return frames[0] if frames else None
    named = [row for row in frames if row.get("frame") == shot.get("frame")]
    return named[0] if named else (frames[0] if frames else None)
