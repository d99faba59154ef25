"""A copy of the project in which mutmut may work: the tree itself is never touched."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

_LEFT_OUT = shutil.ignore_patterns(
    "__pycache__", ".*", "scenes", "*.jpg", "*.png", "*.webp", "*.html"
)
_RESULT = re.compile(r"^ {4}(?P<mutant>\S+): (?P<status>.+)$", re.MULTILINE)
# mutmut has no command that tells many differences at once, and one process each takes a second.
_TELL_DIFFS = """
import json, sys
from mutmut.mutation.diff_apply import find_mutant, get_diff_for_mutant
names = json.load(sys.stdin)
json.dump({name: get_diff_for_mutant(name, path=find_mutant(name).path) for name in names}, sys.stdout)
"""  # noqa: E501


class MutationError(RuntimeError):
    """mutmut could not do its work; carries what it said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sandbox:
    """A folder that mutmut works in."""

    root: Path

    def run(self, patterns: Sequence[str]) -> dict[str, str]:
        """Each mutant that a pattern matches, with what became of it.

        Args:
            patterns: of mutant names, `framecheck.geometry.ruler.*[147]` for every mutant of a
                module whose number ends with 1, 4 or 7; none for all.

        Returns:
            "killed", "survived", "no tests", "timeout", "segfault" or "suspicious".

        Raises:
            MutationError: the tests fail without any mutant, or nothing matches.
        """
        self._mutmut("run", "--max-children", "1", *patterns)
        told = self._mutmut("results", "--all", "true")
        found = {match["mutant"]: match["status"] for match in _RESULT.finditer(told)}
        return {name: status for name, status in found.items() if status != "not checked"}

    def diffs(self, mutants: Sequence[str]) -> dict[str, str]:
        """What each mutant changes, as a unified difference."""
        if not mutants:
            return {}
        told = self._python("-c", _TELL_DIFFS, given=json.dumps(list(mutants)))
        diffs: dict[str, str] = json.loads(told)
        return diffs

    def changed_modules(self, sources: Sequence[str]) -> list[Path]:
        """The modules that sources stand for, under the folder."""
        found = {path.relative_to(self.root) for one in sources for path in self.root.glob(one)}
        return sorted(path for path in found if path.suffix == ".py")

    def _mutmut(self, *words: str) -> str:
        return self._python("-m", "mutmut", *words)

    def _python(self, *words: str, given: str = "") -> str:
        done = subprocess.run(
            [sys.executable, *words], cwd=self.root, env=environment(), input=given,
            capture_output=True, text=True, check=False,
        )  # fmt: skip
        if done.returncode:
            told = (done.stdout + done.stderr).replace("\r", "\n").strip().splitlines()
            raise MutationError("\n".join(told[-25:]))
        return done.stdout


def make_sandbox(
    project: Path, root: Path, *, sources: Sequence[str], tests: Sequence[str], package: str
) -> Sandbox:
    """A copy of a project's package, tests and settings, set up for mutmut.

    Args:
        project: the folder to copy from.
        root: a folder that is not there yet.
        sources: what is mutated, files or `folder/*`, under the project.
        tests: what has to notice; those that are missing are left out.
        package: the folder of the package.
    """
    for folder in (package, "tests"):
        shutil.copytree(project / folder, root / folder, ignore=_LEFT_OUT)
    settings = project / "pyproject.toml"
    text = settings.read_text(encoding="utf-8") if settings.exists() else ""
    lines = {
        "source_paths": [package],
        "only_mutate": list(sources),
        "pytest_add_cli_args_test_selection": [t for t in tests if (project / t).exists()],
        "pytest_add_cli_args": ["-p", "no:cacheprovider"],
        "also_copy": [package, "tests"],
    }
    text += "\n[tool.mutmut]\n" + "".join(f"{key} = {value!r}\n" for key, value in lines.items())
    (root / "pyproject.toml").write_text(text, encoding="utf-8")
    return Sandbox(root=root)


def environment() -> Mapping[str, str]:
    """The variables that mutants are tried with."""
    # With CI set hypothesis draws the same examples every time, so that a score can be repeated.
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PYTEST_")}
    return {**kept, "CI": "1", "PYTHONDONTWRITEBYTECODE": "1"}
