"""The command line. Nothing heavy is imported before a command needs it."""

from __future__ import annotations

from typing import Annotated

import typer

from framecheck.cli.agree import agree
from framecheck.cli.columns import columns
from framecheck.cli.cuts import cuts
from framecheck.cli.deliver import deliver
from framecheck.cli.export import export
from framecheck.cli.find import find
from framecheck.cli.lens import lens
from framecheck.cli.measure import measure
from framecheck.cli.models import models_app
from framecheck.cli.report import report
from framecheck.cli.review import review
from framecheck.cli.vocabularies import vocabularies

app = typer.Typer(
    name="framecheck",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.command()(measure)
app.command()(find)
app.command()(cuts)
app.command()(lens)
app.command()(deliver)
app.command()(export)
app.command()(report)
app.command()(review)
app.command()(agree)
app.add_typer(models_app)
app.command()(vocabularies)
app.command()(columns)


def _show_version(wanted: bool) -> None:
    if wanted:
        from framecheck.pipeline.settings import own_version

        typer.echo(f"framecheck {own_version()}")
        raise typer.Exit


@app.callback()
def framecheck(
    version: Annotated[  # its callback answers
        bool,
        typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version."),
    ] = False,
) -> None:
    """Measure framing: where the frame edge cuts the body, shot size, headroom, looking room.

    Example: framecheck measure stills --out measured --overlay
    """


def main() -> None:
    """Run the command line."""
    app()
