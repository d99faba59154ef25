"""Table writers: rows to bytes, and bytes to a file that is either whole or not there."""

from __future__ import annotations

import io
import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from framecheck.errors import ConfigError, ExportError
from framecheck.export.atomic import write_atomically
from framecheck.export.columns import Column, Kind
from framecheck.export.rows import Cell, Row

if TYPE_CHECKING:
    import pandas as pd

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True, slots=True, kw_only=True)
class TableWriter:
    """One table format.

    Attributes:
        suffix: of the file name, without the dot.
        encode: columns and rows to the bytes of the file.
    """

    suffix: str
    encode: Callable[[Sequence[Column], Sequence[Row]], bytes]


def write_table(
    folder: Path, name: str, columns: Sequence[Column], rows: Sequence[Row], format_name: str
) -> Path:
    """Write one table into the folder, and return its path.

    Raises:
        ConfigError: the format is not known, or the extra that it needs is not installed.
        ExportError: the file could not be written.
    """
    writer = find_writer(format_name)
    return write_atomically(folder / f"{name}.{writer.suffix}", writer.encode(columns, rows))


def find_writer(format_name: str) -> TableWriter:
    """The writer of that name.

    Raises:
        ConfigError: there is none.
    """
    if format_name not in WRITERS:
        raise ConfigError(f"unknown format {format_name!r}; choose from {', '.join(WRITERS)}")
    return WRITERS[format_name]


def check_writer(format_name: str) -> None:
    """Raise now what writing would raise after hours of measuring.

    Raises:
        ConfigError: the format is not known, or the extra that it needs is not installed.
    """
    find_writer(format_name).encode((), ())


def encode_csv(columns: Sequence[Column], rows: Sequence[Row]) -> bytes:
    """UTF-8 without a mark, comma between cells, one line feed after each row.

    Note:
        A spreadsheet program takes a cell that begins with one of `= + - @` for a formula. File
        names are made safe by `./` in front, which still names the same file; other text by an
        apostrophe. Numbers are never touched.
    """
    lines = [",".join(column.name for column in columns)]
    lines += [",".join(_csv_cell(column, row.get(column.name)) for column in columns)
              for row in rows]  # fmt: skip
    return "".join(f"{line}\n" for line in lines).encode()


def encode_jsonl(columns: Sequence[Column], rows: Sequence[Row]) -> bytes:
    """One JSON object a line, keys in the order of the columns, null for an empty number."""
    lines = (
        json.dumps({column.name: row.get(column.name) for column in columns}, ensure_ascii=False)
        for row in rows
    )
    return "".join(f"{line}\n" for line in lines).encode()


def encode_parquet(columns: Sequence[Column], rows: Sequence[Row]) -> bytes:
    """Parquet through pandas and pyarrow, with types that do not depend on the values."""
    try:
        import pyarrow  # noqa: F401  # asked first, for a message that names the extra
    except ImportError as error:
        message = "parquet needs pyarrow: pip install 'framecheck[parquet]'"
        raise ConfigError(message) from error
    buffer = io.BytesIO()
    table_to_pandas(columns, rows).to_parquet(buffer, engine="pyarrow", index=False)
    return buffer.getvalue()


def table_to_pandas(columns: Sequence[Column], rows: Sequence[Row]) -> pd.DataFrame:
    """The table as a data frame, empty numbers as missing values."""
    import pandas as pd

    dtypes = {Kind.WHOLE: "Int64", Kind.NUMBER: "Float64"}
    series: Mapping[str, pd.Series] = {
        column.name: pd.Series(
            [row.get(column.name) for row in rows], dtype=dtypes.get(column.kind, "string")
        )
        for column in columns
    }
    return pd.DataFrame(series)


WRITERS: Mapping[str, TableWriter] = {
    "csv": TableWriter(suffix="csv", encode=encode_csv),
    "jsonl": TableWriter(suffix="jsonl", encode=encode_jsonl),
    "parquet": TableWriter(suffix="parquet", encode=encode_parquet),
}


def _csv_cell(column: Column, value: Cell) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return _quoted(_harmless(value, "./" if column.kind is Kind.PATH else "'"))
    if isinstance(value, int) or column.kind is Kind.WHOLE:
        return str(int(value))
    if not math.isfinite(value):
        raise ExportError(f"column {column.name} holds {value}, which is no number")
    return f"{value:.{column.decimals}f}"


def _harmless(text: str, prefix: str) -> str:
    return prefix + text if text.startswith(_FORMULA_STARTS) else text


def _quoted(text: str) -> str:
    needs_quotes = any(char in text for char in ',"\r\n') or text != text.strip()
    return '"' + text.replace('"', '""') + '"' if needs_quotes else text
