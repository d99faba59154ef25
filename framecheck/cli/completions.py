"""What the shell may offer for an option's value. Light: names and small data files alone.

Whatever begins as none of the names does is left to the shell, which then offers files. Names of
two words ("to lens") are not offered: the shells' scripts would write them without their quotes.
"""

from __future__ import annotations

import sys
from importlib import resources

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

DEFAULT_VOCABULARY = "trade"
TABLES = (
    "frames", "people", "shots", "files", "cuts", "pairs", "scene", "deliveries", "delivery_shots",
)  # fmt: skip
TABLE_FORMATS = ("csv", "parquet", "jsonl")
LIST_FORMATS = ("table", "csv", "json")
EXPORT_FORMATS = ("otio", "edl", "vtt", "xmp", "csv", "jsonl", "parquet", "xlsx", "md")
SHOT_TYPES = ("single", "two", "three", "group", "over-the-shoulder", "insert")
FACINGS = ("three-quarter", "profile", "away")
FLAGGED_PARTS = (
    "any", "none", "ankle", "mid-calf", "knee", "wrist", "elbow", "fingertips", "chin", "crown",
    "headroom",
)  # fmt: skip


def offer_vocabularies(incomplete: str) -> list[str]:
    """Names of the packaged vocabularies, the default first."""
    return _fitting(_vocabulary_names(), incomplete)


def offer_sizes(incomplete: str) -> list[str]:
    """Abbreviations of the default vocabulary's sizes."""
    bands = tomllib.loads(_data(f"vocabularies/{DEFAULT_VOCABULARY}.toml"))["band"]
    return _fitting([band["abbr"] for band in bands], incomplete)


def offer_sensors(incomplete: str) -> list[str]:
    """Names of the sensor formats and film apertures."""
    formats = tomllib.loads(_data("sensor_formats.toml"))["format"]
    return _fitting([item["name"] for item in formats], incomplete)


def offer_tables(incomplete: str) -> list[str]:
    """Names of the tables."""
    return _fitting(TABLES, incomplete)


def offer_table_formats(incomplete: str) -> list[str]:
    """Formats that tables are written in."""
    return _fitting(TABLE_FORMATS, incomplete)


def offer_list_formats(incomplete: str) -> list[str]:
    """Formats of what is listed on the terminal."""
    return _fitting(LIST_FORMATS, incomplete)


def offer_export_formats(incomplete: str) -> list[str]:
    """Formats of `framecheck export`."""
    return _fitting(EXPORT_FORMATS, incomplete)


def offer_shot_types(incomplete: str) -> list[str]:
    """Shot types that can be searched for."""
    return _fitting(SHOT_TYPES, incomplete)


def offer_facings(incomplete: str) -> list[str]:
    """Ways that the main subject may face."""
    return _fitting(FACINGS, incomplete)


def offer_flagged_parts(incomplete: str) -> list[str]:
    """Parts that a flag may name."""
    return _fitting(FLAGGED_PARTS, incomplete)


def _fitting(names: list[str] | tuple[str, ...], incomplete: str) -> list[str]:
    return [name for name in names if name.lower().startswith(incomplete.lower())]


def _vocabulary_names() -> list[str]:
    folder = resources.files("framecheck.classify") / "data" / "vocabularies"
    names = [item.name.removesuffix(".toml") for item in folder.iterdir()]
    return sorted(names, key=lambda name: (name != DEFAULT_VOCABULARY, name))


def _data(name: str) -> str:
    return (resources.files("framecheck.classify") / "data" / name).read_text("utf-8")
