"""The JSON Schema of the JSON Lines tables (draft 2020-12): one a table, from its columns."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from framecheck.export.columns import Column, Kind

_TYPES: Mapping[Kind, Sequence[str]] = {
    Kind.PATH: ("string",),
    Kind.TEXT: ("string",),
    Kind.WHOLE: ("integer", "null"),
    Kind.NUMBER: ("number", "null"),
}


def table_schema(table: str, columns: Sequence[Column]) -> dict[str, Any]:
    """The schema of one line of a table; further columns are allowed, missing ones are not."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:framecheck:{table}:1",
        "title": f"One line of {table}.jsonl",
        "type": "object",
        "properties": {column.name: _property(column) for column in columns},
        "required": [column.name for column in columns],
        "additionalProperties": {"type": ["string", "number", "null"]},
    }


def encode_schema(table: str, columns: Sequence[Column]) -> bytes:
    """The same as a file."""
    return (json.dumps(table_schema(table, columns), indent=2, ensure_ascii=False) + "\n").encode()


def _property(column: Column) -> dict[str, Any]:
    types = list(_TYPES[column.kind])
    unit = f" [{column.unit}]" if column.unit else ""
    return {
        "type": types[0] if len(types) == 1 else types,
        "description": f"{column.meaning}{unit}",
    }
