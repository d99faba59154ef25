"""Table writers: rows to bytes, and bytes to a file that is either whole or not there.

Rows are written as they come, so that a table may be longer than the memory.
"""

from __future__ import annotations

import contextlib
import io
import json
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, Protocol

from framecheck.errors import ConfigError, ExportError
from framecheck.export.atomic import open_atomically
from framecheck.export.columns import Column, Kind
from framecheck.export.rows import Cell, Row, rounded_cell

if TYPE_CHECKING:
    import pandas as pd

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_ROW_GROUP = 20_000  # rows of Parquet that are held in memory


class Sink(Protocol):
    """A table that is being written."""

    def add(self, rows: Iterable[Row]) -> None:
        """Write further rows."""
        ...

    def close(self) -> None:
        """Write what is held back; the file itself stays open."""
        ...


@dataclass(frozen=True, slots=True, kw_only=True)
class TableWriter:
    """One table format.

    Attributes:
        suffix: of the file name, without the dot.
        open: begins a table of these columns in a file.
    """

    suffix: str
    open: Callable[[IO[bytes], Sequence[Column]], Sink]

    def encode(self, columns: Sequence[Column], rows: Iterable[Row]) -> bytes:
        """The bytes of a whole table."""
        buffer = io.BytesIO()
        sink = self.open(buffer, columns)
        sink.add(rows)
        sink.close()
        return buffer.getvalue()


@contextlib.contextmanager
def open_tables(
    folder: Path, tables: Mapping[str, Sequence[Column]], format_name: str
) -> Iterator[Mapping[str, Sink]]:
    """Tables that appear in the folder together, when the block ends well.

    Args:
        folder: made when it is not there.
        tables: the columns of each, by its name.
        format_name: see `WRITERS`.

    Raises:
        ConfigError: the format is not known, or the extra that it needs is not installed.
        ExportError: they could not be written; the ones of before are then still there.
    """
    paths = {name: table_path(folder, name, format_name) for name in tables}
    writer = find_writer(format_name)
    with open_atomically([*paths.values()]) as files:
        sinks = {name: writer.open(files[paths[name]], tables[name]) for name in tables}
        yield sinks
        for sink in sinks.values():
            sink.close()


def write_table(
    folder: Path, name: str, columns: Sequence[Column], rows: Iterable[Row], format_name: str
) -> Path:
    """Write one table into the folder, and return its path.

    Raises:
        ConfigError: the format is not known, or the extra that it needs is not installed.
        ExportError: the file could not be written.
    """
    with open_tables(folder, {name: columns}, format_name) as sinks:
        sinks[name].add(rows)
    return table_path(folder, name, format_name)


def table_path(folder: Path, name: str, format_name: str) -> Path:
    """Where a table of that name lies.

    Raises:
        ConfigError: the format is not known.
    """
    return folder / f"{name}.{find_writer(format_name).suffix}"


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


def encode_csv(columns: Sequence[Column], rows: Iterable[Row]) -> bytes:
    """UTF-8 without a mark, comma between cells, one line feed after each row.

    Note:
        A spreadsheet program takes a cell that begins with one of `= + - @` for a formula. File
        names are made safe by `./` in front, which still names the same file; other text by an
        apostrophe. Numbers are never touched.
    """
    return WRITERS["csv"].encode(columns, rows)


def encode_jsonl(columns: Sequence[Column], rows: Iterable[Row]) -> bytes:
    """One JSON object a line, keys in the order of the columns, null for an empty number."""
    return WRITERS["jsonl"].encode(columns, rows)


def encode_parquet(columns: Sequence[Column], rows: Iterable[Row]) -> bytes:
    """Parquet through pandas and pyarrow, with types that do not depend on the values."""
    return WRITERS["parquet"].encode(columns, rows)


def table_to_pandas(columns: Sequence[Column], rows: Sequence[Row]) -> pd.DataFrame:
    """The table as a data frame, empty numbers as missing values."""
    import pandas as pd

    dtypes = {Kind.WHOLE: "Int64", Kind.NUMBER: "Float64"}
    series: Mapping[str, pd.Series] = {
        column.name: pd.Series(
            [rounded_cell(column, row.get(column.name)) for row in rows],
            dtype=dtypes.get(column.kind, "string"),
        )
        for column in columns
    }
    return pd.DataFrame(series)


class _LineSink:
    """A format with a line for each row."""

    def __init__(self, file: IO[bytes], columns: Sequence[Column], head: str, line: _Line) -> None:
        self._file, self._columns, self._line = file, columns, line
        file.write(head.encode())

    def add(self, rows: Iterable[Row]) -> None:
        for row in rows:
            self._file.write(f"{self._line(self._columns, row)}\n".encode())

    def close(self) -> None:
        """Nothing is held back."""


_Line = Callable[[Sequence[Column], Row], str]


class _ParquetSink:
    """Row groups, the last one as long as it comes."""

    def __init__(self, file: IO[bytes], columns: Sequence[Column]) -> None:
        try:
            from pyarrow import parquet
        except ImportError as error:
            message = "parquet needs pyarrow: pip install 'framecheck[parquet]'"
            raise ConfigError(message) from error
        self._columns = columns
        self._waiting: list[Row] = []
        self._writer = parquet.ParquetWriter(file, self._table([]).schema)

    def add(self, rows: Iterable[Row]) -> None:
        for row in rows:
            self._waiting.append(row)
            if len(self._waiting) == _ROW_GROUP:
                self._write()

    def close(self) -> None:
        self._write()
        self._writer.close()

    def _write(self) -> None:
        rows, self._waiting = self._waiting, []
        self._writer.write_table(self._table(rows))

    def _table(self, rows: list[Row]) -> Any:  # noqa: ANN401  # pyarrow has no types
        import pyarrow as pa

        return pa.Table.from_pandas(table_to_pandas(self._columns, rows), preserve_index=False)


def _open_csv(file: IO[bytes], columns: Sequence[Column]) -> Sink:
    head = ",".join(column.name for column in columns)
    return _LineSink(file, columns, f"{head}\n", _csv_line)


def _open_jsonl(file: IO[bytes], columns: Sequence[Column]) -> Sink:
    return _LineSink(file, columns, "", _json_line)


WRITERS: Mapping[str, TableWriter] = {
    "csv": TableWriter(suffix="csv", open=_open_csv),
    "jsonl": TableWriter(suffix="jsonl", open=_open_jsonl),
    "parquet": TableWriter(suffix="parquet", open=_ParquetSink),
}


def _json_line(columns: Sequence[Column], row: Row) -> str:
    cells = {column.name: rounded_cell(column, row.get(column.name)) for column in columns}
    return json.dumps(cells, ensure_ascii=False)


def _csv_line(columns: Sequence[Column], row: Row) -> str:
    return ",".join(
        _csv_cell(column, rounded_cell(column, row.get(column.name))) for column in columns
    )


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
