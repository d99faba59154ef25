"""The page of the command line, from the commands themselves."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import typer

from docs.generators.markdown import block, code, page, table
from framecheck.bench.__main__ import bench
from framecheck.cli.app import app

_NAME = "framecheck"
_OF_THE_LIBRARY = {"--install-completion", "--show-completion"}
"""Options whose words come with the library and change with it; they are told in `_HEAD`."""

_HEAD = f"""# Command line

`{_NAME} --help` and `{_NAME} COMMAND --help` say the same in the terminal. `{_NAME} --version`
shows the version. Options may stand before or after the paths; an option that may be repeated is
marked so.

`{_NAME} --install-completion` lets the shell complete commands, options and names:
[completion in the shell](../guides/shell-completion.md).

| exit code | meaning |
| --- | --- |
| 0 | fine |
| 1 | flags, or cuts, were found, and `--fail-on-flags` or `--fail-on-cuts` asked for this |
| 2 | wrong usage: an option, a name, a file of your own; one line on stderr says which |
| 3 | something failed; the row of the file in `files` says what |
| 130 | interrupted; the same command goes on where it stopped |"""


def commands_page() -> str:
    """Every command with its words, arguments and options."""
    return page(_HEAD, *(_of_command(words, command) for words, command in every_command()))


def every_command() -> Iterator[tuple[tuple[str, ...], Any]]:
    """Every command with the words that call it."""
    yield from walk(typer.main.get_command(app), (_NAME,))
    measured = typer.Typer(add_completion=False, rich_markup_mode=None)
    measured.command()(bench)
    yield ("python", "-m", "framecheck.bench"), typer.main.get_command(measured)


def walk(command: Any, words: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Any]]:  # noqa: ANN401  # typer brings click's classes along, or its own, by its version
    """Every command below one, with the words that call it."""
    for name, sub in getattr(command, "commands", {}).items():
        yield (*words, name), sub
        yield from walk(sub, (*words, name))


def _of_command(words: tuple[str, ...], command: Any) -> str:  # noqa: ANN401
    arguments = [item for item in command.params if item.param_type_name == "argument"]
    options = [
        item
        for item in command.params
        if item.param_type_name == "option"
        and not item.hidden
        and not _OF_THE_LIBRARY & set(item.opts)
        and "--help" not in item.opts
    ]
    parts = [f"## {' '.join(words)}", block([_usage(words, arguments, bool(options))], "text")]
    parts += list(_prose(command.help or ""))
    if arguments:
        parts.append(table(["argument", "meaning"], [_argument(item) for item in arguments]))
    if options:
        parts.append(table(["option", "meaning", "by default"], [_option(o) for o in options]))
    return "\n\n".join(parts)


def _usage(words: tuple[str, ...], arguments: list[Any], has_options: bool) -> str:
    named = [
        f"{'' if item.required else '['}{item.metavar}{'' if item.required else ']'}"
        f"{' ...' if item.nargs == -1 else ''}"
        for item in arguments
    ]
    return " ".join([*words, *(["[OPTIONS]"] if has_options else []), *named])


def _prose(text: str) -> Iterator[str]:
    """Paragraphs; examples become code that can be copied."""
    examples: list[str] = []
    for paragraph in re.split(r"\n\s*\n", text.replace("\b", "").strip()):
        words = " ".join(paragraph.split())
        if words.startswith("Example: "):
            examples.append(words.removeprefix("Example: "))
            continue
        if examples:
            yield block(examples, "sh")
            examples = []
        yield words
    if examples:
        yield block(examples, "sh")


def _argument(item: Any) -> tuple[str, str]:  # noqa: ANN401
    return (code(item.metavar), item.help or "")


def _option(item: Any) -> tuple[str, str, str]:  # noqa: ANN401
    names = ", ".join(code(name) for name in sorted(item.opts, key=len))
    if item.secondary_opts:
        names += " / " + ", ".join(map(code, item.secondary_opts))
    if not item.is_flag and item.metavar:
        names += f" {code(item.metavar)}"
    meaning = (item.help or "") + (" May be repeated." if item.multiple else "")
    return (names, meaning, _default(item))


def _default(item: Any) -> str:  # noqa: ANN401
    if item.required:
        return "must be given"
    if item.is_flag:
        return "on" if item.default is True else ""
    shown = isinstance(item.default, (str, int, float)) and item.default != ""
    return (
        code(f"{item.default:g}" if isinstance(item.default, float) else str(item.default))
        if shown
        else ""
    )
