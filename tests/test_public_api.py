"""The two doors: what Python users and the command line can rely on."""

import inspect
import re
import subprocess
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
import typer

import framecheck
from framecheck.cli.app import app

ROOT = Path(__file__).parent.parent
HEAVY = ("mediapipe", "cv2", "pandas", "PIL", "pyarrow", "typer", "rich")
PUBLIC = [name for name in framecheck.__all__ if not name.startswith("__")]


def commands() -> dict[str, Any]:
    """Every command and subcommand, by the words that call it."""
    found: dict[str, Any] = {}

    def walk(command: Any, words: tuple[str, ...]) -> None:
        found[" ".join(words)] = command
        for name, sub in getattr(command, "commands", {}).items():
            walk(sub, (*words, name))

    walk(typer.main.get_command(app), ("framecheck",))
    return found


COMMANDS = commands()


def test_all_is_sorted_and_says_each_name_once() -> None:
    assert list(framecheck.__all__) == sorted(set(framecheck.__all__))


def test_all_is_true() -> None:
    """Every name is there, is loaded from where it is defined, and nothing else is on offer."""
    for name in PUBLIC:
        value = getattr(framecheck, name)
        assert value is getattr(sys.modules[value.__module__], name)
    there = {
        name
        for name, value in vars(framecheck).items()
        if not name.startswith("_") and not isinstance(value, ModuleType)
    }
    assert there - {"annotations", "TYPE_CHECKING", "import_module"} == set(PUBLIC)
    assert set(framecheck.__all__) <= set(dir(framecheck))


def test_there_are_no_other_names() -> None:
    with pytest.raises(AttributeError, match="no attribute 'measure_stills'"):
        framecheck.measure_stills  # noqa: B018  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", PUBLIC)
def test_every_public_name_says_what_it_is(name) -> None:
    text = inspect.getdoc(getattr(framecheck, name)) or ""
    assert len(text.split()) >= 4
    assert not text.startswith(f"{name}("), "a dataclass without words of its own"


def test_the_version_is_the_same_everywhere() -> None:
    project = (ROOT / "pyproject.toml").read_text("utf-8")
    declared = re.search(r'^version = "(.+)"$', project, re.MULTILINE)
    entry = re.search(r"^## (\S+)", (ROOT / "CHANGELOG.md").read_text("utf-8"), re.MULTILINE)
    assert declared is not None
    assert entry is not None
    assert framecheck.__version__ == declared[1] == entry[1]


def test_importing_loads_nothing_heavy() -> None:
    code = f"import sys, framecheck; print([m for m in {HEAVY!r} if m in sys.modules])"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert done.stdout.strip() == "[]"


@pytest.mark.model
def test_python_ends_without_a_word() -> None:
    """Networks that are still open at the end make the libraries complain at length."""
    code = "import framecheck; framecheck.measure_still('sample_frames/02-keeper-full.jpg')"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert "Traceback" not in done.stderr
    assert "Exception ignored" not in done.stderr


def test_the_typed_marker_is_shipped() -> None:
    assert (Path(framecheck.__file__).parent / "py.typed").is_file()
    assert '"py.typed"' in (ROOT / "pyproject.toml").read_text("utf-8")


def test_there_are_the_promised_commands() -> None:
    assert {"framecheck measure", "framecheck models", "framecheck vocabularies"} <= set(COMMANDS)


@pytest.mark.parametrize("words", COMMANDS)
def test_every_command_has_help(words) -> None:
    text = COMMANDS[words].help or ""
    assert len(text.split()) >= 3


@pytest.mark.parametrize("words", COMMANDS)
def test_every_option_has_help(words) -> None:
    for parameter in COMMANDS[words].params:
        if parameter.param_type_name == "option":
            assert parameter.help, f"{words} {parameter.opts}"


@pytest.mark.parametrize("words", COMMANDS)
def test_every_command_is_in_the_readme(words) -> None:
    assert words in (ROOT / "README.md").read_text("utf-8")


@pytest.mark.parametrize("words", [words for words in COMMANDS if words.count(" ") == 1])
def test_every_command_is_in_the_changelog(words) -> None:
    assert words in (ROOT / "CHANGELOG.md").read_text("utf-8")
