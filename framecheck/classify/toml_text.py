"""TOML text to checked values: every complaint says where it is and what to do."""

from __future__ import annotations

import math
import sys
from collections.abc import Iterable, Mapping
from typing import Any

from framecheck.errors import ConfigError

if sys.version_info >= (3, 11):
    import tomllib
else:  # pragma: no cover - the standard library has no TOML reader before 3.11
    import tomli as tomllib

Table = Mapping[str, Any]


def parse_toml(text: str, where: str) -> dict[str, Any]:
    """The table that a TOML text holds.

    Args:
        text: the whole file.
        where: the file as the user named it, for messages.

    Raises:
        ConfigError: the text is not TOML.
    """
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ConfigError(f"{where}: not valid TOML ({error}); mend that line", where=where) from (
            error
        )


def check_keys(table: Table, allowed: Iterable[str], where: str) -> None:
    """Refuse keys that mean nothing, as a misspelt key would silently change nothing.

    Raises:
        ConfigError: a key is not among the allowed ones.
    """
    known = sorted(allowed)
    for key in table:
        if key not in known:
            raise ConfigError(
                f"{where}: unknown key {key!r}; the keys here are {', '.join(known)}", where=where
            )


def read_text(table: Table, key: str, where: str, default: str | None = None) -> str:
    """A text that is not empty, or the default when the key is missing.

    Raises:
        ConfigError: missing without a default, empty, or not a text.
    """
    value = table.get(key, default)
    if not isinstance(value, str) or (not value.strip() and key in table):
        raise ConfigError(
            f"{where}: {key} must be a text that is not empty, got {value!r}", where=where
        )
    return value


def read_number(table: Table, key: str, where: str, default: float | None = None) -> float:
    """A finite number, or the default when the key is missing.

    Raises:
        ConfigError: missing without a default, not a number, or not finite.
    """
    if key not in table and default is not None:
        return default
    value = table.get(key)
    # bool is a kind of int in Python, but "crop_from = true" is a slip of the user.
    if isinstance(value, bool) or not isinstance(value, int | float) or not math.isfinite(value):
        raise ConfigError(f"{where}: {key} must be a finite number, got {value!r}", where=where)
    return float(value)


def read_tables(table: Table, key: str, where: str) -> list[dict[str, Any]]:
    """A list of one or more tables.

    Raises:
        ConfigError: missing, empty, or not a list of tables.
    """
    value = table.get(key)
    if not isinstance(value, list) or not value or not all(isinstance(row, dict) for row in value):
        raise ConfigError(
            f"{where}: {key} must be a list of one or more tables, got {value!r}", where=where
        )
    return value
