"""What is mutated, and which tests have to notice."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """A part of the package with the tests that mirror it.

    Attributes:
        sources: files under the root, `*` for all of a folder.
        tests: files or folders under the root.
    """

    sources: tuple[str, ...]
    tests: tuple[str, ...]


def _folder(name: str) -> Part:
    return Part(sources=(f"framecheck/{name}/*",), tests=(f"tests/{name}",))


PARTS = {
    "errors": Part(sources=("framecheck/errors.py",), tests=("tests/test_errors.py",)),
    "units": Part(
        sources=("framecheck/units.py",),
        tests=("tests/test_units.py", "tests/test_properties_units.py"),
    ),
    "records": _folder("records"),
    "geometry": _folder("geometry"),
    "measure": _folder("measure"),
    "classify": _folder("classify"),
    "coverage": _folder("coverage"),
}
"""Floors 0 to 3."""
