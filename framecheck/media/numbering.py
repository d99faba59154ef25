"""Numbered frames: which files of a folder follow each other, and the pattern that names them."""

from __future__ import annotations

import os
import re
from collections import defaultdict
from collections.abc import Iterable, Sequence
from pathlib import Path

FEWEST_IN_A_ROW = 8
"""Fewer numbered pictures than this are stills that happen to have numbers."""
MOST_DIGITS = 18

_NUMBERED = re.compile(r"(?P<before>.*?)(?P<number>[0-9]+)(?P<after>[^0-9]*)", re.DOTALL)
_SIGNS = re.compile(r"(?P<before>.*?)(?P<signs>#+)(?P<after>[^#]*)", re.DOTALL)


def is_pattern(path: Path) -> bool:
    """True when the name has number signs in the place of a number."""
    return "#" in path.name


def pattern_files(pattern: Path) -> tuple[tuple[int, Path], ...]:
    """The numbers and files that a pattern names, in the order of the numbers.

    Args:
        pattern: a path whose name has number signs, the last run of which stands for the number:
            as many digits as signs, with zeros in front; above, as many as it needs.

    Raises:
        OSError: the folder cannot be read.
    """
    match = _SIGNS.fullmatch(pattern.name)
    if not match:
        return ()
    before, digits, after = match["before"], len(match["signs"]), match["after"]
    found = {}
    with os.scandir(pattern.parent) as entries:
        names = [entry.name for entry in entries]
    for name in names:
        number = name[len(before) : len(name) - len(after)]
        fits = name == before + number + after and _is_number(number, digits)
        if fits:
            found[int(number)] = pattern.parent / name
    return tuple(sorted(found.items()))


def _is_number(text: str, digits: int) -> bool:
    usual = text.isascii() and text.isdigit() and len(text) <= MOST_DIGITS
    return usual and (len(text) == digits or (len(text) > digits and not text.startswith("0")))


def split_numbered(paths: Sequence[Path]) -> tuple[dict[Path, tuple[Path, ...]], tuple[Path, ...]]:
    """Patterns with the files they stand for, and the files that belong to none.

    Args:
        paths: files, in any folders.

    Returns:
        The patterns in the order in which their first files come, and the rest in its order.
    """
    groups: dict[tuple[Path, str, str], list[str]] = defaultdict(list)
    for path in paths:
        match = _NUMBERED.fullmatch(path.name)
        if match and len(match["number"]) <= MOST_DIGITS:
            groups[path.parent, match["before"], match["after"]].append(match["number"])
    patterns = {}
    for (folder, before, after), numbers in groups.items():
        digits = _digits_of(numbers)
        fitting = [number for number in numbers if _is_number(number, digits)]
        if _longest_row(int(number) for number in fitting) >= FEWEST_IN_A_ROW:
            files = tuple(
                folder / f"{before}{number}{after}" for number in sorted(fitting, key=int)
            )
            patterns[folder / f"{before}{'#' * digits}{after}"] = files
    taken = {path for files in patterns.values() for path in files}
    return patterns, tuple(path for path in paths if path not in taken)


def _digits_of(numbers: Sequence[str]) -> int:
    """How many digits the smallest numbers have: those with zeros in front say it."""
    padded = [len(number) for number in numbers if number.startswith("0") and len(number) > 1]
    return min(padded) if padded else min(map(len, numbers))


def _longest_row(numbers: Iterable[int]) -> int:
    longest, row, last = 0, 0, None
    for number in sorted(set(numbers)):
        row = row + 1 if last is not None and number == last + 1 else 1
        longest, last = max(longest, row), number
    return longest
