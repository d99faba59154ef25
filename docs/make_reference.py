"""Writes the pages and the drawing that follow from the code: `python -m docs.make_reference`.

With `--check` nothing is written, and the exit code is 1 when a page is out of date.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from pathlib import Path

from docs.generators.columns_page import columns_page
from docs.generators.commands_page import commands_page
from docs.generators.limits_page import limits_page
from docs.generators.python_page import python_page
from docs.generators.ruler_drawing import ruler_drawing
from docs.generators.vocabularies_page import vocabularies_page

FOLDER = Path(__file__).parent
WRITTEN: Mapping[str, Callable[[], str]] = {
    "reference/columns.md": columns_page,
    "reference/command-line.md": commands_page,
    "reference/limits.md": limits_page,
    "reference/python.md": python_page,
    "reference/vocabularies.md": vocabularies_page,
    "pictures/body-ruler.svg": ruler_drawing,
}
"""What is written, by its place in this folder."""


def out_of_date() -> list[str]:
    """The pages that are not what the code says."""
    return [name for name, write in WRITTEN.items() if _text(name) != write()]


def _text(name: str) -> str | None:
    path = FOLDER / name
    return path.read_text("utf-8") if path.is_file() else None


def main() -> int:
    """Write what is out of date, or only say so."""
    stale = out_of_date()
    for name in stale:
        if "--check" not in sys.argv:
            (FOLDER / name).parent.mkdir(parents=True, exist_ok=True)
            (FOLDER / name).write_text(WRITTEN[name](), encoding="utf-8", newline="\n")
        sys.stdout.write(f"{name}\n")
    return int(bool(stale) and "--check" in sys.argv)


if __name__ == "__main__":
    sys.exit(main())
