"""Completion in real shells, and that what is offered is what the commands take."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from framecheck.cli import completions
from framecheck.cli.columns import every_table
from framecheck.cli.find import FORMATS
from framecheck.export.writers import WRITERS
from framecheck.pipeline.exporting import EXPORTS
from framecheck.pipeline.lensing import known_sensors
from framecheck.pipeline.settings import load_vocabulary, packaged_vocabulary_names
from framecheck.records.framing import Facing
from framecheck.records.judged import ShotType
from framecheck.review.answers import FLAG_PARTS

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def shell_env(tmp_path_factory):
    """An environment in which `framecheck` is a command, as it is where it was installed."""
    folder = tmp_path_factory.mktemp("bin")
    script = folder / "framecheck"
    script.write_text(
        f"#!{sys.executable}\nimport sys\nsys.path.insert(0, {str(ROOT)!r})\n"
        "from framecheck.cli.app import main\nmain()\n",
        encoding="utf-8",
    )
    script.chmod(0o755)
    home = tmp_path_factory.mktemp("home")
    return {**os.environ, "PATH": f"{folder}{os.pathsep}{os.environ['PATH']}", "HOME": str(home)}


def run_shell(shell, script, env, cwd=None):
    if shutil.which(shell) is None:
        pytest.skip(f"no {shell} on this machine")
    done = subprocess.run(
        [shell, "-c", script], env=env, cwd=cwd, capture_output=True, text=True, check=True
    )
    return done.stdout.split("\n")[:-1]


BASH = """
eval "$(framecheck --show-completion)"
COMP_WORDS=({words}); COMP_CWORD=$(( ${{#COMP_WORDS[@]}} - 1 ))
_framecheck_completion framecheck
[ ${{#COMPREPLY[@]}} = 0 ] || printf '%s\\n' "${{COMPREPLY[@]}}"
"""

ASKED = [
    ("framecheck mea", ["measure"]),
    ("framecheck models in", ["install"]),
    ("framecheck measure --over", ["--overlay"]),
    ("framecheck measure --vocabulary t", ["textbook-glossary", "trade"]),
    ("framecheck vocabularies n", ["nine-class"]),
    ("framecheck columns del", ["deliveries", "delivery_shots"]),
    ("framecheck export day_3 --as x", ["xlsx", "xmp"]),
    ("framecheck lens --sensor super-1", ["super-16"]),
    ("framecheck find --size B", ["BCU"]),
    ("framecheck find --flag an", ["ankle", "any"]),
]


@pytest.mark.parametrize(("line", "expected"), ASKED)
def test_bash_completes(line, expected, shell_env):
    assert sorted(run_shell("bash", BASH.format(words=line), shell_env)) == expected


@pytest.mark.parametrize(("line", "expected"), ASKED[:5])
def test_fish_completes(line, expected, shell_env):
    script = f"framecheck --show-completion | source; complete -C '{line}'"
    found = run_shell("fish", script, shell_env)
    assert sorted(answer.split("\t")[0] for answer in found) == expected


def test_a_path_is_left_to_the_shell(shell_env, tmp_path):
    (tmp_path / "rushes").mkdir()
    for words in ("framecheck measure rus", "framecheck measure --out rus"):
        assert run_shell("bash", BASH.format(words=words), shell_env, tmp_path) == []
    complete = 'eval "$(framecheck --show-completion)"; complete -p framecheck'
    assert run_shell("bash", complete, shell_env) == [
        # default: the shell's own files, when nothing fits
        "complete -o default -F _framecheck_completion framecheck"
    ]


@pytest.mark.parametrize("shell", ["zsh", "powershell", "pwsh"])
def test_the_other_shells_are_answered(shell, shell_env):
    asked = {
        "_FRAMECHECK_COMPLETE": f"complete_{shell}",
        "_TYPER_COMPLETE_ARGS": "framecheck measure --vocabulary te",
        "_TYPER_COMPLETE_WORD_TO_COMPLETE": "te",
    }
    done = subprocess.run(
        ["framecheck"], env={**shell_env, **asked}, capture_output=True, text=True, check=True
    )
    assert "textbook-glossary" in done.stdout
    assert "trade" not in done.stdout


def test_installing_it_writes_to_the_home_folder_alone(shell_env):
    run_shell("bash", "framecheck --install-completion; true", shell_env)
    home = Path(shell_env["HOME"])
    script = home / ".bash_completions" / "framecheck.sh"
    assert "_framecheck_completion" in script.read_text("utf-8")
    assert str(script) in (home / ".bashrc").read_text("utf-8")


_OF_FIND = ("any", "none")


def one_word(names):
    return [name for name in names if " " not in name]


def test_what_is_offered_is_what_is_taken():
    assert completions.offer_vocabularies("") == list(packaged_vocabulary_names())
    assert completions.offer_sizes("") == [band.abbr for band in load_vocabulary("trade").bands]
    assert completions.offer_sensors("") == [item.name for item in known_sensors()]
    assert completions.offer_tables("") == list(every_table())
    assert set(completions.offer_table_formats("")) == set(WRITERS)
    assert set(completions.offer_list_formats("")) == set(FORMATS)
    assert set(completions.offer_export_formats("")) == set(EXPORTS)
    assert completions.offer_shot_types("") == one_word(item.value for item in ShotType)
    offered_parts = [name for name in completions.offer_flagged_parts("") if name not in _OF_FIND]
    assert set(offered_parts) == set(one_word(FLAG_PARTS))
    assert completions.offer_facings("") == one_word(item.value for item in Facing)


def test_case_does_not_matter():
    assert completions.offer_sizes("m") == ["MFS", "MS", "MCU"]


def test_completing_loads_nothing_heavy(shell_env):
    code = (
        "import atexit, sys\n"
        "heavy = lambda: print(sorted({'mediapipe', 'cv2', 'pandas', 'PIL', 'psutil', 'av'}"
        " & set(sys.modules)), file=sys.stderr)\n"
        "atexit.register(heavy)\n"
        "sys.argv = ['framecheck']\n"
        "from framecheck.cli.app import main\nmain()\n"
    )
    asked = {
        "_FRAMECHECK_COMPLETE": "complete_bash",
        "COMP_WORDS": "framecheck lens --sensor super-1",
        "COMP_CWORD": "3",
    }
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**shell_env, **asked}, cwd=ROOT, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stdout == "super-16\n"
    assert done.stderr == "[]\n"
