"""What the wheel carries: every file of the package, and no picture."""

from pathlib import Path

import pytest

import framecheck
from framecheck.classify.toml_text import parse_toml

ROOT = Path(__file__).parent.parent
PACKAGE = Path(framecheck.__file__).parent
PROJECT = parse_toml((ROOT / "pyproject.toml").read_text("utf-8"), "pyproject.toml")


def data_files():
    return [
        path.relative_to(PACKAGE).as_posix()
        for path in sorted(PACKAGE.rglob("*"))
        if path.is_file() and path.suffix not in {".py", ".pyc"}
    ]


def taken_by(pattern):
    return {path.relative_to(PACKAGE).as_posix() for path in PACKAGE.glob(pattern)}


PATTERNS = PROJECT["tool"]["setuptools"]["package-data"]["framecheck"]


def test_every_data_file_goes_into_the_wheel():
    taken = set().union(*map(taken_by, PATTERNS))
    assert [name for name in data_files() if name not in taken] == []


@pytest.mark.parametrize("pattern", PATTERNS)
def test_every_pattern_still_takes_something(pattern):
    assert taken_by(pattern)


def test_every_part_is_a_package():
    folders = {path.parent for path in PACKAGE.rglob("*.py")}
    assert [str(folder) for folder in folders if not (folder / "__init__.py").is_file()] == []


def test_the_wheel_stays_small():
    kinds = {Path(name).suffix for name in data_files()}
    assert not kinds & {".jpg", ".jpeg", ".png", ".tif", ".tiff", ".webp", ".mp4", ".tflite"}
    assert sum((PACKAGE / name).stat().st_size for name in data_files()) < 8_000_000


def test_the_documentation_is_built_with_the_tests():
    extras = PROJECT["project"]["optional-dependencies"]
    assert set(extras["docs"]) <= set(extras["test"])
