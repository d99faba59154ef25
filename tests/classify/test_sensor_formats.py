"""The data file of sensor formats against published sizes, and what users may type."""

import math
from importlib import resources

import pytest

from framecheck.classify.sensor_formats import choose_sensor, parse_sensor_formats
from framecheck.errors import ConfigError

TEXT = (resources.files("framecheck.classify") / "data" / "sensor_formats.toml").read_text("utf-8")
FORMATS = parse_sensor_formats(TEXT, "sensor_formats.toml")
BY_NAME = {item.name: item for item in FORMATS}


@pytest.mark.parametrize(
    ("name", "inches"),
    [
        # liquisearch.com, "35 mm film": apertures in inches
        ("super-35", (0.980, 0.735)), ("academy-projected", (0.825, 0.602)),
        ("anamorphic-35", (0.864, 0.732)), ("academy", (0.864, 0.630)),
    ],
)  # fmt: skip
def test_film_apertures_in_inches(name, inches) -> None:
    found = BY_NAME[name]
    assert (found.width_mm, found.height_mm) == pytest.approx(
        [side * 25.4 for side in inches], abs=0.02
    )


@pytest.mark.parametrize(
    ("name", "diagonal_mm"),
    [
        # sizes.com, "Focal length", and simple.wikipedia.org, "Normal lens"
        ("full-frame", 43.27), ("16mm", 12.7), ("super-16", 14.5), ("2/3-inch", 11.0),
        ("2/3-inch-4x3", 11.0), ("four-thirds", 21.6),
        # ASC Framing Decision List, sample canvas
        ("large-format-open-gate", 44.71),
    ],
)  # fmt: skip
def test_published_diagonals(name, diagonal_mm) -> None:
    found = BY_NAME[name]
    assert math.hypot(found.width_mm, found.height_mm) == pytest.approx(diagonal_mm, abs=0.06)


def test_every_format_names_a_source() -> None:
    assert len(FORMATS) >= 20
    assert all(len(item.source) > 10 and len(item.title) > 10 for item in FORMATS)


def test_a_name_or_a_size() -> None:
    assert choose_sensor("Super-35", FORMATS) == (24.89, 18.66)
    assert choose_sensor(" 36x24 ", FORMATS) == (36.0, 24.0)
    assert choose_sensor("23.5 × 15.6", FORMATS) == (23.5, 15.6)


@pytest.mark.parametrize("words", ["", "huge", "36", "0x24", "36x9999", "-36x24", "9x9x9", "nanx1"])
def test_what_is_no_sensor(words) -> None:
    with pytest.raises(ConfigError, match="sensor"):
        choose_sensor(words, FORMATS)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("format = 1", "must be a list"),
        (
            "[[format]]\nname = 'a'\nwidth_mm = 0\nheight_mm = 1\ntitle = 'b'\nsource = 'c'",
            "1 and 500",
        ),
        ("[[format]]\nname = 'a'\nwide = 1", "unknown key"),
        (TEXT + "\n" + TEXT[TEXT.index("[[format]]") :], "used twice"),
        ("[[", "not valid TOML"),
    ],
)
def test_mistakes_in_a_file_of_formats(text, told) -> None:
    with pytest.raises(ConfigError, match=told):
        parse_sensor_formats(text, "mine.toml")
