"""Where contents lie: one may lie at several places, and move with its drive."""

from __future__ import annotations

import os
import re
import time
from pathlib import Path

from framecheck.catalog.store import Store

_NUMBERED = re.compile(rb"([^#]*)(#+)([^#]*)")


def place_bytes(path: Path) -> bytes:
    """The absolute path as the file system has it, whatever bytes it holds; an address as it is."""
    if "://" in os.fspath(path):  # no path of a disk holds two slashes in a row
        return os.fsencode(path)
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
    if b"://" in place:
        return True  # asking its server would take too long here
    folder, name = os.path.split(place)
    numbered = _NUMBERED.fullmatch(name)
    try:
        if numbered and not os.path.lexists(place):
            statuses = _stat_numbered(folder, numbered)
        else:
            statuses = [os.stat(place)]  # noqa: PTH116  # bytes make no Path
            if os.path.isdir(place):  # noqa: PTH112
                return True  # a folder of frames, whose own size and date say nothing
    except (OSError, ValueError):
        return False
    latest_ns = max((status.st_mtime_ns for status in statuses), default=0)
    return (sum(status.st_size for status in statuses), latest_ns) == (size_bytes, mtime_ns)


def _stat_numbered(folder: bytes, name: re.Match[bytes]) -> list[os.stat_result]:
    """Of the frames that a name with number signs (`take-####.png`) stands for."""
    before, signs, after = name.groups()
    digits = b"[0-9]{%d}|[1-9][0-9]{%d,}" % (len(signs), len(signs))
    frame = re.compile(re.escape(before) + b"(?:%s)" % digits + re.escape(after))
    with os.scandir(folder) as entries:
        return [entry.stat() for entry in entries if frame.fullmatch(entry.name)]
