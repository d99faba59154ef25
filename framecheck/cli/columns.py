"""`framecheck columns`: what every column of the tables means."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Annotated

import typer

from framecheck.cli.completions import offer_tables
from framecheck.cli.guard import guarded
from framecheck.cli.text import table_lines, terminal_width, wrapped
from framecheck.errors import ConfigError

if TYPE_CHECKING:
    from framecheck.export.columns import Column


@guarded
def columns(
    table: Annotated[
        str,
        typer.Argument(
            metavar="TABLE", help="One alone, as people or cuts.", autocompletion=offer_tables
        ),
    ] = "",
) -> int:
    """Explain every column of the tables.

    Example: framecheck columns people
    """
    tables = every_table()
    if table and table not in tables:
        raise ConfigError(f"no table {table!r}; choose from {', '.join(tables)}")
    width = terminal_width()
    for name in [table] if table else tables:
        typer.echo(f"{name}: one row {ROW_OF[name]}")
        rows = [
            (column.name, f"{column.meaning} [{column.unit}]" if column.unit else column.meaning)
            for column in tables[name]
            if not column.name.endswith("_why")
        ]
        typer.echo("\n".join(table_lines(rows, width)) + "\n")
    typer.echo("\n".join(wrapped(_WHY, width, "")))
    return 0


def every_table() -> Mapping[str, Sequence[Column]]:
    """All tables with their columns, in the order in which they are explained."""
    from framecheck.export.columns import describe_columns
    from framecheck.export.cut_columns import CUT_COLUMNS, PAIR_COLUMNS, SCENE_COLUMNS
    from framecheck.export.delivery_rows import DELIVERY_COLUMNS, DELIVERY_SHOT_COLUMNS

    studied = {"cuts": CUT_COLUMNS, "pairs": PAIR_COLUMNS, "scene": SCENE_COLUMNS}
    delivered = {"deliveries": DELIVERY_COLUMNS, "delivery_shots": DELIVERY_SHOT_COLUMNS}
    return {**describe_columns(), **studied, **delivered}


ROW_OF = {
    "frames": "a still or measured frame of a clip",
    "people": "a person",
    "shots": "a shot of a clip",
    "files": "an input",
    "cuts": "a cut of a studied sequence",
    "pairs": "two set-ups that are cut to and fro",
    "scene": "a shot of a studied sequence",
    "deliveries": "a picture in a delivery frame",
    "delivery_shots": "a shot in a delivery frame",
}
_WHY = (
    "A number that could not be measured is an empty cell, and the column of the same name "
    "with _why at its end, at the right of the table, says why."
)
