"""The thresholds of a study from a file of the user's own."""

from __future__ import annotations

import dataclasses
from pathlib import Path

from framecheck.classify.toml_text import check_keys, parse_toml, read_number
from framecheck.errors import ConfigError
from framecheck.records.coverage import CutThresholds


def load_cut_thresholds(path: Path | None, **changes: float | None) -> CutThresholds:
    """The thresholds that a TOML file asks for, and single ones on top of it.

    Args:
        path: lines such as `angle_min_deg = 25`, keys as in `CutThresholds`; None for the defaults.
        changes: by the same names; None leaves one as it is.

    Raises:
        ConfigError: the file cannot be read, or a value makes no sense.
    """
    values = {} if path is None else _read(path)
    values |= {name: value for name, value in changes.items() if value is not None}
    where = "" if path is None else str(path)
    try:
        return CutThresholds(**values)
    except ValueError as error:
        said = f"{where}: {error}" if where else str(error)
        raise ConfigError(f"{said}; correct the value", where=where) from error


def _read(path: Path) -> dict[str, float]:
    where = str(path)
    try:
        text = path.read_text("utf-8")
    except (OSError, UnicodeDecodeError) as error:
        reason = getattr(error, "strerror", None) or "not a UTF-8 text"
        raise ConfigError(f"cannot read {path}: {reason}", where=where) from error
    table = parse_toml(text, where)
    check_keys(table, [field.name for field in dataclasses.fields(CutThresholds)], where)
    return {key: read_number(table, key, where) for key in table}
