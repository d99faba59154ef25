"""Rows and files for the tests of the catalog."""

from pathlib import Path

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.content import content_id
from framecheck.catalog.layout import Layout

FILE = ("file", "path")
LAYOUT = Layout(
    files=(FILE, ("status", "text"), ("why", "text")),
    shots=(
        FILE, ("shot", "whole number"), ("start_timecode", "text"), ("end_timecode", "text"),
        ("duration_s", "number"), ("size", "text"), ("size_abbr", "text"),
        ("size_change", "text"), ("people", "whole number"), ("shot_type", "text"),
        ("flags", "text"), ("frame", "whole number"), ("notes", "text"),
    ),
    frames=(
        FILE, ("shot", "whole number"), ("frame", "whole number"), ("time_s", "number"),
        ("size", "text"), ("size_abbr", "text"), ("people", "whole number"),
        ("shot_type", "text"), ("flags", "text"), ("crop_level", "number"),
        ("crop_level_why", "text"),
    ),
    people=(FILE, ("shot", "whole number"), ("frame", "whole number"),
            ("person", "whole number"), ("facing", "text"), ("confidence", "number")),
)  # fmt: skip


def a_shot(number=0, **cells):
    return {
        "file": "a.mov", "shot": number, "start_timecode": "01:00:00:00",
        "end_timecode": "01:00:04:00", "duration_s": 4.0, "size": "medium", "size_abbr": "MS",
        "size_change": "steady", "people": 1, "shot_type": "single", "flags": "",
        "frame": 100 * number + 50, "notes": "", **cells,
    }  # fmt: skip


def a_frame(shot=0, frame=50, **cells):
    return {
        "file": "a.mov", "shot": shot, "frame": frame, "time_s": None, "size": "medium",
        "size_abbr": "MS", "people": 1, "shot_type": "single", "flags": "", "crop_level": 0.7,
        "crop_level_why": "", **cells,
    }  # fmt: skip


def a_person(person=0, facing="to lens", **cells):
    return {"file": "a.mov", "shot": 0, "frame": 50, "person": person, "facing": facing, **cells}


def a_file_row(**cells):
    return {"file": "a.mov", "status": "measured", "why": "", **cells}


def lay_down(folder: Path, name: str, content: bytes) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    path.write_bytes(content)
    return path


def note(catalog: Catalog, path: Path) -> str:
    """The content of a file as a run learns it, and its place noted."""
    status = path.stat()
    content = catalog.known_content(path, status.st_size, status.st_mtime_ns)
    content = content or content_id(path)
    catalog.remember_place(content, path, status.st_size, status.st_mtime_ns)
    return content


def measure(catalog: Catalog, path: Path, shots, fingerprint="settings"):
    """A clip measured whole; `shots` are (shot row, people rows)."""
    content = note(catalog, path)
    number = catalog.begin(content, fingerprint, "clip", "{}")
    assert number is not None
    for row, people in shots:
        catalog.add_shot(number, row, [a_frame(row["shot"], row["frame"])], people)
    catalog.finish(number, a_file_row())
    return number


def measure_still(catalog: Catalog, path: Path, frame, people=(), fingerprint="settings"):
    content = note(catalog, path)
    number = catalog.begin(content, fingerprint, "still", "{}")
    assert number is not None
    catalog.add_shot(number, None, [frame], list(people))
    catalog.finish(number, a_file_row())
    return number
