"""Imports only go down, and the lower floors touch no file, clock or model."""

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "framecheck"
FLOORS = {
    "errors": 0, "units": 0, "records": 1, "geometry": 2, "measure": 3, "classify": 3,
    "coverage": 3, "media": 4, "shots": 4, "pose": 4, "export": 4, "catalog": 4, "report": 5,
    "pipeline": 6,
    "review": 6, "cli": 7, "bench": 8,
}  # fmt: skip
FACADE = {"__init__", "__main__"}
PURE = {"errors", "units", "records", "geometry", "measure", "classify", "coverage"}
PURE_FOREIGN = {
    "__future__", "collections", "contextlib", "dataclasses", "enum", "fractions", "functools",
    "itertools", "math", "numpy", "operator", "re", "statistics", "sys",
    "tomli", "tomllib", "types", "typing",
}  # fmt: skip


def part_of(path: Path) -> str:
    relative = path.relative_to(PACKAGE)
    return relative.parts[0].removesuffix(".py")


def imports_of(path: Path) -> list[str]:
    names = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"relative import in {path}"
            names.append(node.module or "")
    return names


FILES = sorted(path for path in PACKAGE.rglob("*.py") if part_of(path) not in FACADE)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_down(path: Path) -> None:
    here = part_of(path)
    for name in imports_of(path):
        if not name.startswith("framecheck."):
            continue
        there = name.split(".")[1]
        allowed = there == here or FLOORS[there] < FLOORS[here]
        assert allowed, f"{here} (floor {FLOORS[here]}) imports {there} (floor {FLOORS[there]})"


@pytest.mark.parametrize(
    "path",
    [p for p in FILES if part_of(p) in PURE],
    ids=lambda path: str(path.relative_to(PACKAGE)),
)
def test_lower_floors_are_pure(path: Path) -> None:
    foreign = {n.split(".")[0] for n in imports_of(path) if not n.startswith("framecheck")}
    assert foreign <= PURE_FOREIGN
    calls = {
        node.func.id
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not calls & {"open", "print", "input"}


def test_mediapipe_is_imported_in_pose_only() -> None:
    users = {part_of(p) for p in FILES if any(n.startswith("mediapipe") for n in imports_of(p))}
    assert users == {"pose"}


def test_every_part_has_a_floor() -> None:
    assert {part_of(path) for path in FILES} <= set(FLOORS)
