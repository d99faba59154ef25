"""Tables as bytes: csv, jsonl and parquet, and files that are whole or not there."""

import csv
import io
import json
import os
import stat
import sys
from pathlib import Path

import pandas as pd
import pytest

from framecheck.errors import ConfigError, ExportError
from framecheck.export import atomic
from framecheck.export.atomic import open_atomically, write_atomically
from framecheck.export.columns import Column, Kind, file_columns, frame_columns, people_columns
from framecheck.export.rows import rounded_cell, rows_of_frame
from framecheck.export.writers import (
    WRITERS,
    check_writer,
    encode_csv,
    encode_jsonl,
    encode_parquet,
    open_tables,
    table_to_pandas,
    write_table,
)
from tests.report.figures import a_flag, a_result

PATH = Column(name="file", kind=Kind.PATH, unit="", meaning="")
TEXT = Column(name="notes", kind=Kind.TEXT, unit="", meaning="")
LEVEL = Column(name="level", kind=Kind.NUMBER, unit="", meaning="", decimals=3)


def read_csv(data):
    return list(csv.DictReader(io.StringIO(data.decode("utf-8"), newline="")))


@pytest.mark.parametrize(
    "name",
    ["plain.jpg", "two words.jpg", "a,b.jpg", 'say "cut".jpg', "line\nbreak.jpg", "r\r.jpg",
     " lead.jpg", "trail ", "café 写真.jpg", "semi;colon.jpg"],
)  # fmt: skip
def test_any_name_comes_back_as_it_was(name):
    rows = read_csv(encode_csv([PATH, TEXT], [{"file": name, "notes": "x"}]))
    assert [dict(row) for row in rows] == [{"file": name, "notes": "x"}]


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t", "\r"])
def test_no_cell_starts_a_formula_and_the_file_is_still_named(start, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    name = f"{start}1+1.jpg"
    (tmp_path / name).touch()
    row = read_csv(encode_csv([PATH, TEXT], [{"file": name, "notes": f"{start}x"}]))[0]
    assert Path(row["file"]).samefile(name)
    assert row["file"].startswith("./")
    assert row["notes"] == f"'{start}x"


def test_numbers_have_fixed_decimals_and_are_never_made_safe():
    rows = [{"level": -0.5}, {"level": 0.41}, {"level": None}, {"level": 1.0}]
    assert encode_csv([LEVEL], rows).decode() == "level\n-0.500\n0.410\n\n1.000\n"


def test_a_number_that_is_none_is_refused():
    with pytest.raises(ExportError, match="level holds nan"):
        encode_csv([LEVEL], [{"level": float("nan")}])


def result_rows():
    results = [
        a_result(file="b,1.jpg", flags=[a_flag()]),
        a_result(file="=a.jpg", people=[{}, {"x": 0.8}]),
        a_result(file="none.jpg", people=[]),
    ]
    pairs = [rows_of_frame(result) for result in results]
    return [frame for frame, _ in pairs], [row for _, people in pairs for row in people]


@pytest.mark.parametrize("name", list(WRITERS))
def test_the_same_rows_give_the_same_bytes(name):
    frames, people = result_rows()
    encode = WRITERS[name].encode
    assert encode(frame_columns(), frames) == encode(frame_columns(), result_rows()[0])
    assert encode(people_columns(), people) == encode(people_columns(), result_rows()[1])


def test_csv_read_by_pandas_gives_the_numbers_back():
    frames, people = result_rows()
    table = pd.read_csv(io.BytesIO(encode_csv(people_columns(), people)))
    levels = [round(row["crop_level"], 3) for row in people]
    assert table["crop_level"].tolist() == levels
    assert pd.read_csv(io.BytesIO(encode_csv(frame_columns(), frames))).shape[0] == 3


def test_jsonl_keeps_names_numbers_and_empty_cells():
    frames, _ = result_rows()
    rows = [json.loads(line) for line in encode_jsonl(frame_columns(), frames).splitlines()]
    shown = [
        {column.name: rounded_cell(column, row[column.name]) for column in frame_columns()}
        for row in frames
    ]
    assert rows == shown


def test_parquet_keeps_names_numbers_and_empty_cells():
    pytest.importorskip("pyarrow")
    frames, _ = result_rows()
    table = pd.read_parquet(io.BytesIO(encode_parquet(frame_columns(), frames)))
    assert table["file"].tolist() == ["b,1.jpg", "=a.jpg", "none.jpg"]
    assert table["crop_level"][0] == frames[0]["crop_level"]
    assert table["crop_level"].isna().tolist() == [False, False, True]
    assert table["people"].tolist() == [1, 2, 0]


def test_types_do_not_depend_on_the_values():
    frames, _ = result_rows()
    full = table_to_pandas(frame_columns(), frames).dtypes
    assert full.equals(table_to_pandas(frame_columns(), []).dtypes)


def test_parquet_without_pyarrow_names_the_extra(monkeypatch):
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(ConfigError, match=r"framecheck\[parquet\]"):
        check_writer("parquet")


def test_an_unknown_format_names_the_known_ones():
    with pytest.raises(ConfigError, match="csv, jsonl, parquet"):
        check_writer("xls")


def test_a_table_without_rows_has_its_header(tmp_path):
    path = write_table(tmp_path, "files", file_columns(), [], "csv")
    header = ",".join(column.name for column in file_columns())
    assert path.read_text("utf-8") == f"{header}\n"


def test_a_file_is_replaced_whole_and_nothing_is_left_beside_it(tmp_path):
    path = tmp_path / "new" / "frames.csv"
    write_atomically(path, b"one")
    write_atomically(path, b"two")
    assert path.read_bytes() == b"two"
    assert [item.name for item in path.parent.iterdir()] == ["frames.csv"]


@pytest.mark.parametrize("call", ["fsync", "fdopen"])
def test_a_full_disk_leaves_the_old_file_and_no_temporary_one(tmp_path, monkeypatch, call):
    path = write_atomically(tmp_path / "frames.csv", b"old")

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(atomic.os, call, full)
    with pytest.raises(ExportError, match=r"cannot write .*frames.csv: No space left") as caught:
        write_atomically(path, b"new")
    assert caught.value.where == str(path)
    assert path.read_bytes() == b"old"
    assert [item.name for item in tmp_path.iterdir()] == ["frames.csv"]


@pytest.mark.skipif(os.name != "posix", reason="modes are a POSIX matter")
def test_the_file_may_be_read_by_whom_the_umask_lets(tmp_path):
    before = os.umask(0o027)
    try:
        path = write_atomically(tmp_path / "frames.csv", b"x")
    finally:
        os.umask(before)
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


@pytest.mark.parametrize("name", list(WRITERS))
def test_rows_may_come_a_few_at_a_time(tmp_path, name, monkeypatch):
    monkeypatch.setattr("framecheck.export.writers._ROW_GROUP", 2)
    frames, people = result_rows()
    tables = {"frames": frame_columns(), "people": people_columns()}
    with open_tables(tmp_path, tables, name) as sinks:
        for row in frames:
            sinks["frames"].add([row])
            sinks["people"].add([])
        sinks["people"].add(iter(people))
    path = tmp_path / f"frames.{WRITERS[name].suffix}"
    assert path.read_bytes() == WRITERS[name].encode(frame_columns(), frames)
    if name == "parquet":
        assert pd.read_parquet(path)["file"].tolist() == [row["file"] for row in frames]
        monkeypatch.undo()
        whole = io.BytesIO(encode_parquet(frame_columns(), frames))
        assert pd.read_parquet(whole).equals(pd.read_parquet(path))


def test_tables_appear_together_or_not_at_all(tmp_path, monkeypatch):
    tables = {"one": [TEXT], "two": [TEXT]}
    with open_tables(tmp_path, tables, "csv") as sinks:
        sinks["one"].add([{"notes": "old"}])
    before = {path.name: path.read_bytes() for path in tmp_path.iterdir()}
    flushed, sync = [], os.fsync

    def full(descriptor):
        flushed.append(descriptor)
        if len(flushed) == 2:
            raise OSError(28, "No space left on device")
        sync(descriptor)

    monkeypatch.setattr(atomic.os, "fsync", full)
    with (
        pytest.raises(ExportError, match="No space left"),
        open_tables(tmp_path, tables, "csv") as sinks,
    ):
        sinks["one"].add([{"notes": "new"}])
    assert len(flushed) == 2
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_an_error_of_the_caller_leaves_what_was_there(tmp_path):
    path = write_atomically(tmp_path / "frames.csv", b"old")

    def fail_half_way():
        with open_atomically([path]) as files:
            files[path].write(b"new")
            raise KeyError

    with pytest.raises(KeyError):
        fail_half_way()
    assert path.read_bytes() == b"old"
    assert [item.name for item in tmp_path.iterdir()] == ["frames.csv"]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_disk_that_fills_while_rows_are_written_is_told(tmp_path, monkeypatch):
    def open_full(descriptor, mode):
        os.close(descriptor)
        return Path("/dev/full").open(mode, buffering=16)

    monkeypatch.setattr(atomic.os, "fdopen", open_full)
    with (
        pytest.raises(ExportError, match="No space left"),
        open_tables(tmp_path, {"one": [TEXT]}, "csv") as sinks,
    ):
        sinks["one"].add([{"notes": "x" * 100}])
    assert list(tmp_path.iterdir()) == []
