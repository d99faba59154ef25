"""The page of all limits that opinions begin at, from the records and data files."""

from __future__ import annotations

import dataclasses
import inspect
import re
from collections.abc import Mapping
from importlib import resources

from docs.generators.markdown import code, number, page, table
from framecheck.classify.room import RoomRanges, parse_room_ranges
from framecheck.classify.thresholds import Thresholds
from framecheck.pipeline.lensing import known_sensors
from framecheck.records.coverage import CutThresholds

_HEAD = """# Limits, ranges and sensor formats

Where opinions begin. Each of these can be replaced by a file of your own: what it leaves out
keeps the value given here, and a name that does not exist is an error that lists the ones that
do.

The numbers are placed on the body ruler and on rules of the trade by common practice, and are
ours where the text names no source; [flags and advice](flags.md) and [cuts](cuts.md) say how they
are used."""

_FLAGS = """## Flags

For `--thresholds FILE` of `framecheck measure` and `framecheck deliver`: a TOML file with lines
such as `knee_to_level = 0.34`. Both ends of a zone belong to it."""

_CUTS = """## Cuts

For `--thresholds FILE` of `framecheck cuts`: lines such as `size_ratio_min = 1.3`."""

_ROOM = """## Headroom and looking room

For `--room FILE`: a TOML file with a `title`, a `source` and a `[[row]]` for each crop level,
with the fields below. Between two rows everything runs linearly; wider than the first row, the
first row holds; tighter than the last row nothing is judged."""

_SENSORS = """## Sensor formats

For `--sensor NAME` of `framecheck lens`; `--sensors` lists them in the terminal. A size such as
`28.0x19.2` (millimetres) does as well."""


def limits_page() -> str:
    """All limits with their values, meanings and sources."""
    return page(
        _HEAD,
        _FLAGS, _of_record(Thresholds()),
        _CUTS, _of_record(CutThresholds()),
        _ROOM, *_room(),
        _SENSORS, _sensors(),
    )  # fmt: skip


def _of_record(record: Thresholds | CutThresholds) -> str:
    meanings = attribute_meanings(inspect.getdoc(record) or "")
    rows = [
        (code(field.name), number(getattr(record, field.name)), meanings[field.name])
        for field in dataclasses.fields(record)
    ]
    return table(["limit", "value", "meaning"], rows)


def attribute_meanings(docstring: str) -> Mapping[str, str]:
    """What the `Attributes:` of a docstring say, by name; names may share a text."""
    lines = docstring.partition("Attributes:\n")[2].splitlines()
    entries: list[str] = []
    for line in lines:
        if re.match(r" {4}\w[\w, ]*: ", line):
            entries.append(line)
        elif entries:
            entries[-1] += f" {line}"
    found: dict[str, str] = {}
    for entry in entries:
        names, _, text = entry.partition(": ")
        found.update({name.strip(): " ".join(text.split()) for name in names.split(",")})
    return found


def _room() -> tuple[str, str]:
    ranges = _room_ranges()
    rows = [
        (row.at, f"{row.crop_level:.3f}", f"{row.headroom_min:.3f}", f"{row.headroom_max:.3f}",
         f"{row.look_ratio_min:.2f}")
        for row in ranges.rows
    ]  # fmt: skip
    heading = ["at", "crop_level", "headroom_min", "headroom_max", "look_ratio_min"]
    return table([heading[0], *map(code, heading[1:])], rows), f"*Source:* {ranges.source}"


def _room_ranges() -> RoomRanges:
    text = (resources.files("framecheck.classify") / "data" / "headroom.toml").read_text("utf-8")
    return parse_room_ranges(text, "headroom.toml")


def _sensors() -> str:
    rows = [
        (code(item.name), f"{item.width_mm:g} x {item.height_mm:g}", item.title, item.source)
        for item in known_sensors()
    ]
    return table(["name", "mm", "what it is", "source"], rows)
