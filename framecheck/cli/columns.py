"""`framecheck columns`: what every column of the tables means."""

from __future__ import annotations

from typing import Annotated

import typer

from framecheck.cli.guard import guarded
from framecheck.cli.text import table_lines, terminal_width, wrapped
from framecheck.errors import ConfigError


@guarded
def columns(
    table: Annotated[
        str, typer.Argument(metavar="TABLE", help="One alone: frames, people, shots or files.")
    ] = "",
) -> int:
    """Explain every column of the tables.

    Example: framecheck columns people
    """
    from framecheck.export.columns import describe_columns

    tables = describe_columns()
    if table and table not in tables:
        raise ConfigError(f"no table {table!r}; choose from {', '.join(tables)}")
    width = terminal_width()
    for name in [table] if table else tables:
        typer.echo(f"{name}: one row {_ROW_OF[name]}")
        rows = [
            (column.name, f"{column.meaning} [{column.unit}]" if column.unit else column.meaning)
            for column in tables[name]
        ]
        typer.echo("\n".join(table_lines(rows, width)) + "\n")
    typer.echo("\n".join(wrapped(_WHY, width, "")))
    return 0


_ROW_OF = {
    "frames": "a still or measured frame of a clip",
    "people": "a person",
    "shots": "a shot of a clip",
    "files": "an input",
}
_WHY = (
    "A number that could not be measured is an empty cell, and the column of the same name "
    "with _why at its end, at the right of the table, says why."
)
