"""Numbers that stand outside of functions, which mutmut leaves alone: limits, weights, tables.

Each is nudged by itself: a float by a tenth, a whole number by one. A table that no test knows, or
a limit that could as well be another, survives.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from tests.mutation.sandbox import environment


@dataclass(frozen=True, slots=True, kw_only=True)
class Nudge:
    """One number changed.

    Attributes:
        name: of the mutant, as `framecheck.units.constant__mutmut_3`.
        was, becomes: its line.
        source: the whole module with the change.
    """

    name: str
    was: str
    becomes: str
    source: str


def find_nudges(source: str, module: str) -> list[Nudge]:
    """Every number of a module outside of its functions, nudged, in their order."""
    lines = source.splitlines()
    found = []
    for count, number in enumerate(_numbers(ast.parse(source)), start=1):
        row, start, end = number.lineno - 1, number.col_offset, number.end_col_offset
        line = lines[row].encode()
        changed = (line[:start] + _nudged(number).encode() + line[end:]).decode()
        found.append(
            Nudge(
                name=f"{module}.constant__mutmut_{count}",
                was=lines[row].strip(),
                becomes=changed.strip(),
                source="\n".join([*lines[:row], changed, *lines[row + 1 :]]) + "\n",
            )
        )
    return found


def run_nudges(
    root: Path, file: Path, nudges: Sequence[Nudge], tests: Sequence[str]
) -> dict[str, str]:
    """What became of each: "killed" when a test fails with it, else "survived".

    Args:
        root: a copy of the project; its tests pass as it is.
        file: the module, under the root.
        nudges: of that module.
        tests: under the root, those that are likely to notice first.
    """
    path = root / file
    original = path.read_text(encoding="utf-8")
    try:
        return {nudge.name: _try(root, path, nudge, tests) for nudge in nudges}
    finally:
        path.write_text(original, encoding="utf-8")


def _try(root: Path, path: Path, nudge: Nudge, tests: Sequence[str]) -> str:
    path.write_text(nudge.source, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", *tests],
        cwd=root, env=environment(), capture_output=True, check=False,
    )  # fmt: skip
    return "killed" if done.returncode else "survived"


def _numbers(tree: ast.Module) -> Iterator[ast.Constant]:
    for statement in tree.body:
        inner = statement.body if isinstance(statement, ast.ClassDef) else [statement]
        for part in inner:
            if isinstance(part, ast.Assign | ast.AnnAssign) and part.value is not None:
                yield from _in_order(part.value)


def _in_order(value: ast.expr) -> list[ast.Constant]:
    found = [
        node
        for node in ast.walk(value)
        if isinstance(node, ast.Constant) and type(node.value) in {int, float}
    ]
    return sorted(found, key=lambda node: (node.lineno, node.col_offset))


def _nudged(number: ast.Constant) -> str:
    value = number.value
    assert isinstance(value, int | float)
    return repr(value + 1) if isinstance(value, int) else repr(round(value * 1.1, 12) or 0.1)
