"""From errors to one line on stderr and an exit code."""

from __future__ import annotations

import functools
import sys
from collections.abc import Callable
from typing import ParamSpec

import typer

from framecheck.errors import ConfigError, FramecheckError

EXIT_FLAGS = 1
EXIT_USAGE = 2
EXIT_FAILED = 3
EXIT_INTERRUPTED = 130

Arguments = ParamSpec("Arguments")


def guarded(command: Callable[Arguments, int]) -> Callable[Arguments, None]:
    """A command whose return value becomes the exit code, and whose errors become one line."""

    @functools.wraps(command)
    def wrapper(*args: Arguments.args, **kwargs: Arguments.kwargs) -> None:
        try:
            code = command(*args, **kwargs)
        except FramecheckError as error:
            complain(str(error))
            code = EXIT_USAGE if isinstance(error, ConfigError) else EXIT_FAILED
        except KeyboardInterrupt:
            complain("interrupted")
            code = EXIT_INTERRUPTED
        except BrokenPipeError:
            # The reader of a pipe (head, less) has enough. Python would complain once more when
            # it flushes stdout at exit.
            sys.stderr.close()
            code = 0
        raise typer.Exit(code)

    return wrapper


def complain(message: str) -> None:
    """One line on stderr."""
    typer.echo(f"framecheck: {' '.join(message.split())}", err=True)
