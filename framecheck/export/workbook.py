"""All tables as one XLSX workbook: a sheet a table, headings that stay in view, filters."""

from __future__ import annotations

import io
import math
from collections.abc import Mapping, Sequence
from datetime import datetime, timezone
from typing import Any

from framecheck.errors import ConfigError, ExportError
from framecheck.export.columns import Column, Kind
from framecheck.export.rows import Cell, Row, rounded_cell

MOST_ROWS = 1_048_575
"""Rows of a sheet under its heading; what the format allows."""
_LONGEST_CELL = 32_767
_WIDEST, _NARROWEST = 48, 7
_LOOKED_AT = 200  # rows whose length decides the width of a column
_LETTER_WIDTH = 1.1
_MADE = datetime(2000, 1, 1, tzinfo=timezone.utc).replace(tzinfo=None)
"""Written as the date of making, so that the same tables give the same bytes."""


def encode_workbook(tables: Mapping[str, tuple[Sequence[Column], Sequence[Row]]]) -> bytes:
    """The bytes of a workbook.

    Args:
        tables: columns and rows of each, by the name of its sheet.

    Raises:
        ConfigError: the library for it is not installed.
        ExportError: a table has more rows than a sheet can hold.

    Note:
        Text is written as text: no formula, no link, whatever it begins with.
    """
    try:
        import xlsxwriter
    except ImportError as error:
        raise ConfigError("XLSX needs xlsxwriter: pip install 'framecheck[xlsx]'") from error
    target = io.BytesIO()
    options = {
        "constant_memory": True,  # rows go to a temporary file as they come
        "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False,
    }  # fmt: skip
    book = xlsxwriter.Workbook(target, options)
    book.set_properties({"created": _MADE, "comments": "Written by framecheck."})
    for name, (columns, rows) in tables.items():
        if len(rows) > MOST_ROWS:
            raise ExportError(
                f"{name} has {len(rows)} rows, and a sheet holds {MOST_ROWS}; export CSV or "
                "Parquet, or fewer files at once"
            )
        _write_sheet(book, name, columns, rows)
    book.close()
    return target.getvalue()


def _write_sheet(book: Any, name: str, columns: Sequence[Column], rows: Sequence[Row]) -> None:  # noqa: ANN401
    sheet = book.add_worksheet(name)
    head = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    styles = [book.add_format({"num_format": _digits(column)}) for column in columns]
    sheet.freeze_panes(1, 1)
    for at, column in enumerate(columns):
        sheet.set_column(at, at, _width(column, rows))
        sheet.write_string(0, at, column.name, head)
        told = f"{column.meaning}{f' [{column.unit}]' if column.unit else ''}"
        sheet.write_comment(0, at, told, {"x_scale": 2})
    for number, row in enumerate(rows, start=1):
        for at, column in enumerate(columns):
            _write_cell(sheet, (number, at), rounded_cell(column, row.get(column.name)), styles[at])
    if columns:
        sheet.autofilter(0, 0, max(1, len(rows)), len(columns) - 1)


def _write_cell(sheet: Any, at: tuple[int, int], value: Cell, style: Any) -> None:  # noqa: ANN401
    if value is None or value == "":
        return
    if isinstance(value, str):
        sheet.write_string(*at, value[:_LONGEST_CELL])
    elif math.isfinite(value):
        sheet.write_number(*at, value, style)
    else:
        raise ExportError(f"row {at[0]} holds {value}, which is no number")


def _digits(column: Column) -> str:
    decimals = column.decimals if column.kind is Kind.NUMBER else 0
    return "0." + "0" * decimals if decimals else "0"


def _width(column: Column, rows: Sequence[Row]) -> float:
    """Room for the longest of the first cells, in characters."""
    shown = (rounded_cell(column, row.get(column.name)) for row in rows[:_LOOKED_AT])
    longest = max([len(str(value)) for value in shown if value is not None], default=0)
    longest = max(longest, len(column.name))
    return min(_WIDEST, max(_NARROWEST, longest * _LETTER_WIDTH + 2))
