"""Names of film apertures and sensor formats, read from a data file."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from framecheck.classify.toml_text import (
    Table,
    check_keys,
    parse_toml,
    read_number,
    read_tables,
    read_text,
)
from framecheck.errors import ConfigError
from framecheck.records.lens import SensorFormat

_SIZE = re.compile(r"([0-9]+(?:\.[0-9]+)?) *[x×] *([0-9]+(?:\.[0-9]+)?)", re.ASCII)
_LEAST_MM, _MOST_MM = 1.0, 500.0


def parse_sensor_formats(text: str, where: str) -> tuple[SensorFormat, ...]:
    """The formats that a TOML text describes.

    Args:
        text: the whole file, `[[format]]` tables with the fields of `SensorFormat`.
        where: the file as the user named it, for messages.

    Raises:
        ConfigError: not TOML, unknown or missing keys, a name used twice, or a size outside
            1 to 500 mm.
    """
    table = parse_toml(text, where)
    check_keys(table, ("title", "format"), where)
    formats = tuple(
        _read_format(row, f"{where}, format {number}")
        for number, row in enumerate(read_tables(table, "format", where), start=1)
    )
    names = [item.name for item in formats]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        raise ConfigError(f"{where}: the name {twice[0]!r} is used twice", where=where)
    return formats


def choose_sensor(words: str, formats: Sequence[SensorFormat]) -> tuple[float, float]:
    """Width and height in millimetres of a format by its name, or of a size as `36x24`.

    Raises:
        ConfigError: neither.
    """
    for item in formats:
        if item.name == words.strip().lower():
            return (item.width_mm, item.height_mm)
    match = _SIZE.fullmatch(words.strip())
    if match is None:
        names = ", ".join(item.name for item in formats)
        raise ConfigError(f"no sensor {words!r}; give a size in mm as 36x24, or one of {names}")
    size = (float(match[1]), float(match[2]))
    if not all(_LEAST_MM <= side <= _MOST_MM for side in size):
        raise ConfigError(f"a sensor has sides from 1 to 500 mm, got {words!r}")
    return size


def _read_format(row: Table, where: str) -> SensorFormat:
    check_keys(row, ("name", "width_mm", "height_mm", "title", "source"), where)
    sides = {name: read_number(row, name, where) for name in ("width_mm", "height_mm")}
    if not all(_LEAST_MM <= side <= _MOST_MM and math.isfinite(side) for side in sides.values()):
        raise ConfigError(f"{where}: sides must lie between 1 and 500 mm; mend them", where=where)
    return SensorFormat(
        name=read_text(row, "name", where),
        title=read_text(row, "title", where),
        source=read_text(row, "source", where),
        **sides,
    )
