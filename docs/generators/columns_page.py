"""The page of all columns, from the definitions that the tables are written by."""

from __future__ import annotations

from docs.generators.markdown import code, page, table
from framecheck.cli.columns import ROW_OF, every_table
from framecheck.export.columns import Column, Kind

_HEAD = """# Columns of the tables

Every table has the columns below, in this order, and `framecheck columns` prints the same in the
terminal. A table that came with a release keeps its columns in later ones: new ones are added at
the right."""

_RULES = """## What holds for all tables

- **x runs to the right and y down**, from the top left corner of the whole file. Pixels are those
  of the file, upright and with square pixels, whatever size was measured at.
- **The picture** is what is left without black bars. `_frac` counts in picture heights, `_wfrac`
  in picture widths.
- **Levels** (`crop_level`, `top_level`, `left_cut`, `right_cut`, `crop_error`) are heights on the
  body: 0 the sole, 1 the crown. [The body ruler](../body-ruler.md) explains them.
- **Angles** are degrees. A yaw is positive when the head turns to the viewer's right, a pitch
  when it looks up, a roll when it leans clockwise in the picture.
- **An empty cell** is a number that could not be measured. Columns marked *may be empty* have a
  second column of the same name with `_why` at its end, at the right of the table, that gives the
  reason.
- **Flags** read `part(edge,distance,severity)`, worst first, with `;` between them; see [flags
  and advice](flags.md).
- **Formats.** CSV is UTF-8 with a comma, a point for decimals and quotes where they are needed.
  JSON Lines and Parquet hold the same values; in them an empty number is `null`."""


def columns_page() -> str:
    """Every table with every column, its unit and its meaning."""
    return page(_HEAD, _RULES, *(_of_table(name) for name in every_table()))


def _of_table(name: str) -> str:
    columns = every_table()[name]
    rows = [_row(column) for column in columns if not column.name.endswith("_why")]
    return f"## {name}\n\nOne row {ROW_OF[name]}.\n\n" + table(
        ["column", "holds", "unit", "meaning"], rows
    )


def _row(column: Column) -> tuple[str, str, str, str]:
    return (code(column.name), _holds(column), column.unit, column.meaning)


def _holds(column: Column) -> str:
    kind = column.kind.value
    if column.kind is Kind.NUMBER:
        kind = f"number, {column.decimals} decimals" if column.decimals else "number, whole"
    return f"{kind}; may be empty" if column.measured else kind
