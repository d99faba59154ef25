"""Workbook, JSON Schema, summary and the tables read back: all equal to what was written."""

import io
import json

import jsonschema
import openpyxl
import pytest

from framecheck.errors import ConfigError, ExportError
from framecheck.export.columns import (
    describe_columns,
    file_columns,
    frame_columns,
    people_columns,
    shot_columns,
)
from framecheck.export.json_schema import encode_schema, table_schema
from framecheck.export.read_tables import find_tables, read_table
from framecheck.export.rows import rounded_cell
from framecheck.export.summary_page import encode_summary, escaped
from framecheck.export.workbook import encode_workbook
from framecheck.export.writers import encode_jsonl, write_table

COLUMNS = {
    "frames": frame_columns(), "people": people_columns(), "shots": shot_columns(),
    "files": file_columns(),
}  # fmt: skip
TRAPS = ("=1+1", "+x", "-y", "@z", "http://a.b", 'a,b\n"c"', "  blanks ", "0012", "é 映像", "<b>&")


def a_row(table, **values):
    empty = {column.name: "" if column.kind.value in {"path", "text"} else None
             for column in COLUMNS[table]}  # fmt: skip
    return {**empty, **values}


ROWS = {
    "frames": [
        a_row("frames", file=f"{trap}.jpg", people=1, size=trap, crop_level=0.71349, notes=trap)
        for trap in TRAPS
    ],
    "people": [a_row("people", file="=a.jpg", person=0, left_cut_why="not cut by this edge")],
    "shots": [a_row("shots", file="a.mov", shot=0, start_frame=0, end_frame=48, duration_s=2.0)],
    "files": [a_row("files", file="=a.jpg", status="measured"),
              a_row("files", file="b.jpg", status="failed", why="broken | <i>")],
}  # fmt: skip


def shown(table, row):
    """The row as every table shows it."""
    return {c.name: rounded_cell(c, row[c.name]) for c in COLUMNS[table]}


@pytest.mark.parametrize("format_name", ["csv", "jsonl", "parquet"])
def test_tables_come_back_as_they_were(tmp_path, format_name) -> None:
    for table, rows in ROWS.items():
        write_table(tmp_path, table, COLUMNS[table], rows, format_name)
    paths = find_tables(tmp_path)
    for table, rows in ROWS.items():
        found = read_table(paths[table], table)
        assert found == [shown(table, row) for row in rows]


def test_the_workbook_is_read_back_equal() -> None:
    content = encode_workbook({name: (COLUMNS[name], ROWS[name]) for name in COLUMNS})
    book = openpyxl.load_workbook(io.BytesIO(content))
    assert book.sheetnames == list(COLUMNS)
    for table, rows in ROWS.items():
        sheet = book[table]
        assert sheet.freeze_panes == "B2"
        assert sheet.auto_filter.ref is not None
        head, *cells = [[cell.value for cell in line] for line in sheet.iter_rows()]
        assert head == [column.name for column in COLUMNS[table]]
        expected = [
            [None if value == "" else value for value in shown(table, row).values()] for row in rows
        ]
        assert cells == expected
        assert {cell.data_type for line in sheet.iter_rows() for cell in line} <= {"s", "n"}
        assert all(cell.hyperlink is None for line in sheet.iter_rows() for cell in line)


def test_the_same_tables_give_the_same_workbook() -> None:
    tables = {"frames": (COLUMNS["frames"], ROWS["frames"])}
    assert encode_workbook(tables) == encode_workbook(tables)


def test_numbers_that_are_none_are_refused() -> None:
    row = a_row("frames", file="a", crop_level=float("inf"))
    with pytest.raises(ExportError, match="inf, which is no number"):
        encode_workbook({"frames": (COLUMNS["frames"], [row])})


def test_json_lines_follow_their_published_schema() -> None:
    for table, rows in ROWS.items():
        schema = json.loads(encode_schema(table, COLUMNS[table]))
        jsonschema.Draft202012Validator.check_schema(schema)
        lines = encode_jsonl(COLUMNS[table], rows).decode().splitlines()
        for line in lines:
            jsonschema.validate(json.loads(line), schema)
        wrong = json.loads(lines[0]) | {"file": 7}
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(wrong, schema)
        del wrong["file"]
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(wrong, schema)


def test_every_documented_column_is_in_its_schema() -> None:
    for table, columns in describe_columns().items():
        schema = table_schema(table, columns)
        for column in columns:
            assert column.meaning in schema["properties"][column.name]["description"]


def test_the_summary_counts_and_escapes() -> None:
    rows = {
        "frames": [
            a_row("frames", file="a|b.jpg", size="wide", shot_type="two",
                  flags="knee(bottom,-0.041,high)", advice="Move <b> it"),
            a_row("frames", file="c.jpg", size="wide", shot_type="single", confirmed="size"),
            a_row("frames", file="d.mov", shot=0, frame=0, size="full", shot_type="single"),
        ],
        "shots": [a_row("shots", file="d.mov", shot=0, size="full", shot_type="single",
                        duration_s=90.0)],
        "files": ROWS["files"],
    }  # fmt: skip
    text = encode_summary("A *title*", rows).decode()
    assert text.startswith("# A \\*title\\*\n")
    assert "2 stills and 1 shots (1.5 minutes)." in text
    assert "1 of them confirmed or corrected by a person." in text
    assert "| wide | 2 | 67 % |" in text
    assert "| full | 1 | 33 % |" in text
    assert "| a\\|b.jpg |" in text
    assert "Move \\<b\\> it" in text
    assert "| b.jpg | failed | broken \\| \\<i\\> |" in text


def test_markdown_takes_names_for_nothing_but_names() -> None:
    assert escaped("a\nb  [x](y) `c`") == "a b \\[x\\](y) \\`c\\`"


@pytest.mark.parametrize(
    "content",
    [
        b"file\n" + b"x" * 2_000_000 + b"\n", b"file,shot\na\n", b"\xff\xfe\x00", b"file\na\n",
        b"file,shot,frame,people,size\na,x,0,0,b\n", b'file\n"unclosed',
    ],
    ids=range(6),
)  # fmt: skip
def test_tables_nobody_vouches_for(tmp_path, content) -> None:
    path = tmp_path / "frames.csv"
    path.write_bytes(content)
    with pytest.raises(ExportError, match=r"frames\.csv") as caught:
        read_table(path, "frames")
    assert len(str(caught.value)) < 500


@pytest.mark.parametrize("line", ["[]", "7", "{", '{"file": "a", "shot": "x"}', "[" * 50_000])
def test_json_lines_nobody_vouches_for(tmp_path, line) -> None:
    path = tmp_path / "frames.jsonl"
    path.write_text(line)
    with pytest.raises(ExportError, match=r"frames\.jsonl"):
        read_table(path, "frames")


@pytest.mark.parametrize(
    ("column", "cell"),
    [
        ("crop_level", "nan"), ("crop_level", "inf"), ("crop_level", "1e308"),
        ("people", "999999999999999999999"), ("people", "9" * 5000),
    ],
)  # fmt: skip
def test_numbers_of_no_measurement(tmp_path, column, cell) -> None:
    row = {"file": "a", "shot": "", "frame": "", "people": "1", "size": "b", "crop_level": "0.5"}
    path = tmp_path / "frames.csv"
    path.write_text(f"{','.join(row)}\n{','.join({**row, column: cell}.values())}\n")
    with pytest.raises(ExportError, match="is no table of framecheck") as caught:
        read_table(path, "frames")
    assert len(str(caught.value)) < 500
    lines = tmp_path / "frames.jsonl"
    number = cell.replace("nan", "NaN").replace("inf", "Infinity")
    lines.write_text(f'{{"file": "a", "{column}": {number}}}')
    with pytest.raises(ExportError, match="is no table of framecheck"):
        read_table(lines, "frames")


def test_a_parquet_that_is_none(tmp_path) -> None:
    path = tmp_path / "frames.parquet"
    path.write_bytes(b"PAR1" * 9)
    with pytest.raises(ExportError, match=r"frames\.parquet"):
        read_table(path, "frames")


def test_a_folder_without_tables(tmp_path) -> None:
    with pytest.raises(ConfigError, match="holds no tables"):
        find_tables(tmp_path)
