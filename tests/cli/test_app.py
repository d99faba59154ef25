"""The command line as a whole: help, version, start-up, and the informing commands."""

import re
import subprocess
import sys

import pytest
from typer.testing import CliRunner

from framecheck.cli.app import app
from framecheck.cli.guard import guarded
from framecheck.cli.text import table_lines
from framecheck.errors import ConfigError, ExportError
from framecheck.export.columns import describe_columns
from framecheck.pipeline.settings import own_version, packaged_vocabulary_names

COMMANDS = ["measure", "models", "vocabularies", "columns"]


def call(*words):
    return CliRunner().invoke(app, list(words))


def test_help_names_every_command():
    result = call("--help")
    assert result.exit_code == 0
    for command in COMMANDS:
        assert re.search(rf"^  {command} ", result.stdout, re.MULTILINE)


@pytest.mark.parametrize(
    "words", [["measure"], ["models", "install"], ["vocabularies"], ["columns"]]
)
def test_every_command_has_help_with_an_example(words):
    result = call(*words, "--help")
    assert result.exit_code == 0
    assert f"framecheck {' '.join(words)}" in " ".join(result.stdout.split())


def test_every_option_of_measure_is_explained():
    lines = call("measure", "--help").stdout
    options = re.findall(r"^  (?:-\w, )?(--[a-z-]+)(.*(?:\n {20,}.*)*)", lines, re.MULTILINE)
    assert len(options) >= 14
    for name, rest in options:
        assert len(rest.split()) >= 3, name


def test_version():
    assert call("--version").stdout == f"framecheck {own_version()}\n"


def test_columns_explains_every_column():
    result = call("columns")
    assert result.exit_code == 0
    for columns in describe_columns().values():
        for column in columns:
            assert f"  {column.name} " in result.stdout or f"  {column.name}\n" in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_columns_of_one_table_and_of_none():
    assert "head_yaw_deg" in call("columns", "people").stdout
    assert "head_yaw_deg" not in call("columns", "files").stdout
    wrong = call("columns", "nothing")
    assert (wrong.exit_code, wrong.stdout) == (2, "")
    assert "choose from frames, people, shots, files" in wrong.stderr


def test_vocabularies_lists_all_and_shows_each_on_the_ruler():
    listed = call("vocabularies").stdout
    for name in packaged_vocabulary_names():
        assert name in listed
        shown = call("vocabularies", name)
        assert shown.exit_code == 0
        bars = re.findall(r"\|([=.]{41})\|", shown.stdout)
        assert len(bars) >= 3
        # Every crop level belongs to some size.
        assert all(any(bar[cell] == "=" for bar in bars) for cell in range(41))


def test_the_bar_of_a_known_size_lies_where_its_border_is():
    # cowboy in common trade usage is cut around mid-thigh, 0.41: cell 16 of 40.
    lines = call("vocabularies", "trade").stdout.splitlines()
    bar = next(line for line in lines if "cowboy" in line).split("|")[1]
    assert bar[16] == "="
    assert bar[0] == bar[40] == "."


def test_errors_become_one_line_and_a_code(capsys):
    @guarded
    def wrong():
        raise ConfigError("no such\nthing")

    @guarded
    def full():
        raise ExportError("disk full")

    for command, code, told in ((wrong, 2, "no such thing"), (full, 3, "disk full")):
        with pytest.raises(Exception) as caught:  # noqa: PT011  # typer's own Exit
            command()
        assert caught.value.exit_code == code
        assert capsys.readouterr().err == f"framecheck: {told}\n"


def test_table_lines_align_and_wrap_in_their_column():
    lines = table_lines([("a", "one two three four five"), ("long", "x")], 20)
    assert lines == ["  a     one two", "        three four", "        five", "  long  x"]


def test_help_loads_nothing_heavy():
    code = (
        "import sys\n"
        "from typer.testing import CliRunner\n"
        "from framecheck.cli.app import app\n"
        "assert CliRunner().invoke(app, ['measure', '--help']).exit_code == 0\n"
        "heavy = {'mediapipe', 'cv2', 'pandas', 'PIL', 'psutil'} & set(sys.modules)\n"
        "print(sorted(heavy))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"


def test_python_m_framecheck_is_the_command_line():
    done = subprocess.run(
        [sys.executable, "-m", "framecheck", "vocabularies", "absent.toml"],
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.startswith("framecheck: ")
    assert done.stderr.count("\n") == 1


def test_a_closed_pipe_is_no_error():
    done = subprocess.run(
        f"{sys.executable} -m framecheck columns | head -1",
        shell=True, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.stdout.startswith("frames")
    assert done.stderr == ""
