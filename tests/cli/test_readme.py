"""The README says what is so."""

import re
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from framecheck import __version__
from framecheck.bench.__main__ import bench
from framecheck.cli.app import app
from framecheck.geometry.ruler import MARK_LEVELS
from framecheck.pipeline.settings import load_vocabulary, packaged_vocabulary_names

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text("utf-8")
SHELL_LINES = [
    line
    for block in re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    for line in block.splitlines()
]


def help_of(*words):
    result = CliRunner().invoke(app, [*words, "--help"], env={"COLUMNS": "200"})
    assert result.exit_code == 0
    return result.stdout


def help_of_bench():
    alone = typer.Typer()
    alone.command()(bench)
    return CliRunner().invoke(alone, ["--help"], env={"COLUMNS": "200"}).stdout


def test_it_begins_with_the_job_in_one_paragraph():
    parts = README.split("\n\n")
    assert parts[0] == "# framecheck"
    assert parts[1].startswith("framecheck measures framing in stills and video.")
    assert parts[2].startswith(
        "[![The report"
    )  # a picture, and nothing else before the first heading
    assert parts[3].startswith("## ")


def test_its_test_command_is_what_the_checks_run():
    assert SHELL_LINES[1].endswith("-m pytest")
    assert SHELL_LINES[1] in (ROOT / ".ci" / "run").read_text("utf-8").splitlines()


COMMANDS = [
    "measure", "find", "cuts", "deliver", "lens", "export", "report", "review", "agree",
    "vocabularies", "columns", "models",
]  # fmt: skip


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_in_it_and_has_help(command):
    assert f"framecheck {command}" in README
    assert command in help_of()
    assert len(help_of(command)) > 100


def test_every_option_it_names_exists():
    options = set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", README)) - {"--help"}
    known = help_of() + help_of_bench() + "".join(help_of(command) for command in COMMANDS)
    assert [option for option in options if option not in known] == []


def test_the_vocabularies_it_names_exist():
    names = re.findall(r"(?:--vocabulary|framecheck vocabularies) ([a-z-]+)\b(?!\.toml)", README)
    assert set(names) <= set(packaged_vocabulary_names())


def test_its_table_of_the_ruler_is_the_ruler():
    rows = dict(re.findall(r"^\| ([a-z ]+?) \| (\d\.\d{3}) \|$", README, re.MULTILINE))
    named = {name.removesuffix(" joint").removesuffix("s"): float(x) for name, x in rows.items()}
    assert named == dict(MARK_LEVELS)


def test_its_table_of_sizes_is_the_default_vocabulary():
    rows = re.findall(r"^\| ([A-Z]{2,3}) \| ([a-z -]+?) \|", README, re.MULTILINE)
    assert rows == [(band.abbr, band.name) for band in load_vocabulary("trade").bands]


def test_its_links_lead_somewhere():
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / target).exists(), target


def test_the_top_entry_of_the_changelog_is_this_version():
    entries = re.findall(r"^## (\S+)", (ROOT / "CHANGELOG.md").read_text("utf-8"), re.MULTILINE)
    assert entries[0] == __version__
