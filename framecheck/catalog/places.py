"""Where contents lie: one may lie at several places, and move with its drive."""

from __future__ import annotations

import os
import time
from pathlib import Path

from framecheck.catalog.store import Store


def place_bytes(path: Path) -> bytes:
    """The absolute path as the file system has it, whatever bytes it holds."""
    return os.fsencode(os.path.abspath(path))  # noqa: PTH100  # resolves no links


def known_content(store: Store, path: Path, size_bytes: int, mtime_ns: int) -> str | None:
    """The content that was last seen there, as long as size and date are the same."""
    row = store.first(
        "SELECT c.content FROM places p JOIN contents c ON c.id = p.content "
        "WHERE p.path = ? AND p.size_bytes = ? AND p.mtime_ns = ? AND NOT p.gone",
        (place_bytes(path), size_bytes, mtime_ns),
    )
    return str(row[0]) if row else None


def remember_place(store: Store, content: str, path: Path, size_bytes: int, mtime_ns: int) -> None:
    """Note that the content lies there, and which of its other places it has left."""
    place = place_bytes(path)
    others = store.all(
        "SELECT p.path, p.size_bytes, p.mtime_ns FROM places p JOIN contents c ON c.id = p.content "
        "WHERE c.content = ? AND p.path != ? AND NOT p.gone",
        (content, place),
    )
    left = [other[0] for other in others if not _is_still_there(*other)]
    with store.writing():
        store.run(
            "INSERT INTO places (path, content, size_bytes, mtime_ns, noted_s) "
            "VALUES (?, ?, ?, ?, ?) ON CONFLICT (path) DO UPDATE SET content = excluded.content, "
            "size_bytes = excluded.size_bytes, mtime_ns = excluded.mtime_ns, "
            "noted_s = excluded.noted_s, gone = 0",
            (place, content_number(store, content), size_bytes, mtime_ns, time.time()),
        )
        store.run_many("UPDATE places SET gone = 1 WHERE path = ?", [(path,) for path in left])


def is_place(store: Store, path: Path) -> bool:
    """Whether a content was ever seen there."""
    return store.first("SELECT 1 FROM places WHERE path = ?", (place_bytes(path),)) is not None


def content_number(store: Store, content: str) -> int:
    """The number of a content, entered when it is new; inside a transaction."""
    store.run("INSERT OR IGNORE INTO contents (content) VALUES (?)", (content,))
    return int(store.all("SELECT id FROM contents WHERE content = ?", (content,))[0][0])


def last_place(store: Store, measurement: int) -> Path | None:
    """Where the content of a measurement was seen last."""
    row = store.first(
        "SELECT p.path FROM places p JOIN measurements m ON m.content = p.content "
        "WHERE m.id = ? ORDER BY p.gone, p.noted_s DESC, p.path LIMIT 1",
        (measurement,),
    )
    return Path(os.fsdecode(row[0])) if row else None


def _is_still_there(place: bytes, size_bytes: int, mtime_ns: int) -> bool:
    try:
        status = os.stat(place)  # noqa: PTH116  # bytes make no Path
    except (OSError, ValueError):
        return False
    if not os.path.isfile(place):  # noqa: PTH113
        return True  # a folder of frames, whose own size and date say nothing
    return (status.st_size, status.st_mtime_ns) == (size_bytes, mtime_ns)
