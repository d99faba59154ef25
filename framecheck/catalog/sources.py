"""Where each shown measurement comes from: its place, its content, the settings that made it."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from framecheck.catalog.layout import from_sql
from framecheck.catalog.measurements import MeasurementId
from framecheck.catalog.places import place_bytes
from framecheck.catalog.store import Store


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One place of a content, with the measurement of it that counts.

    Attributes:
        place: where it lies. content: what it holds, as `content_id` says.
        size_bytes, mtime_ns: of the file when the content was told.
        measurement: its number. kind: still, clip or frames.
        fingerprint: of the settings; `described` says them, as JSON, "" when nobody knows.
    """

    place: Path
    content: str
    size_bytes: int
    mtime_ns: int
    measurement: MeasurementId
    kind: str
    fingerprint: str
    described: str


_SOURCES = """
    SELECT p.path, c.content, p.size_bytes, p.mtime_ns, m.id, m.kind, m.fingerprint, s.described
    FROM places p JOIN contents c ON c.id = p.content JOIN measurements m ON m.id = c.shown
    LEFT JOIN settings s ON s.fingerprint = m.fingerprint
    WHERE NOT p.gone ORDER BY p.path
"""


def shown_sources(store: Store, folder: Path | None = None) -> tuple[Source, ...]:
    """The sources by place; of one content at several places the first.

    Args:
        store: of the catalog.
        folder: only what lies in it or below; None for everything.
    """
    found: dict[str, Source] = {}
    start = None if folder is None else place_bytes(folder)
    for row in store.all(_SOURCES):
        if str(row[1]) not in found and (start is None or _is_below(row[0], start)):
            found[str(row[1])] = _source(row)
    return tuple(found.values())


def _source(row: tuple[object, ...]) -> Source:
    path, content, size_bytes, mtime_ns, number, kind, fingerprint, described = row
    return Source(
        place=Path(os.fsdecode(path)),  # type: ignore[arg-type]  # the column holds bytes
        content=str(content),
        size_bytes=int(str(size_bytes)),
        mtime_ns=int(str(mtime_ns)),
        measurement=MeasurementId(int(str(number))),
        kind=str(kind),
        fingerprint=str(fingerprint),
        described=str(from_sql(described) or ""),  # type: ignore[arg-type]  # text or nothing
    )


def _is_below(place: bytes, folder: bytes) -> bool:
    separator = os.fsencode(os.sep)
    return place == folder or place.startswith(folder.rstrip(separator) + separator)
