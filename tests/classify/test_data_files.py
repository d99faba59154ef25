"""The files that users may write: every complaint in full, with the place where it is."""

from __future__ import annotations

import pytest

from framecheck.classify.room import parse_room_ranges
from framecheck.classify.sensor_formats import choose_sensor, parse_sensor_formats
from framecheck.classify.thresholds import parse_thresholds
from framecheck.classify.toml_text import (
    check_keys,
    parse_toml,
    read_number,
    read_tables,
    read_text,
)
from framecheck.classify.vocabulary import Band, Region, Span, parse_vocabulary
from framecheck.classify.vocabulary_text import vocabulary_toml
from framecheck.errors import ConfigError

HEAD = 'title = "T"\nsource = "S"\n'
ROW = (
    'at = "{at}"\ncrop_level = {crop}\nheadroom_min = {low}\nheadroom_max = {high}\n'
    "look_ratio_min = {look}\n"
)


def a_row(**changes):
    values = {"at": "knee", "crop": 0.3, "low": 0.1, "high": 0.2, "look": 1.0, **changes}
    return "[[row]]\n" + ROW.format(**values)


def a_format(**changes):
    rows = {"name": '"f"', "width_mm": 36, "height_mm": 24, "title": '"t"', "source": '"s"'}
    text = "".join(
        f"{key} = {value}\n" for key, value in {**rows, **changes}.items() if value != ""
    )
    return "[[format]]\n" + text


def a_band(name="one", abbr="O", region="{}", more=""):
    return f'[[band]]\nname = "{name}"\nabbr = "{abbr}"\n{more}region = [{region}]\n'


VOCABULARY = 'name = "v"\n' + HEAD


@pytest.mark.parametrize(
    ("parse", "text", "told", "where"),
    [
        (parse_room_ranges, HEAD + a_row(low=0.3),
         "f, row 1: headroom_min is above headroom_max; swap them", "f, row 1"),
        (parse_room_ranges, HEAD + a_row() + a_row(crop=0.4, look=-0.5),
         "f, row 2: look_ratio_min must be >= 0; raise it", "f, row 2"),
        (parse_room_ranges, HEAD + a_row() + a_row(),
         "f: crop_level must rise from row to row, got 0.3 before 0.3; sort the rows", "f"),
        (parse_room_ranges, HEAD + a_row(low='"x"'),
         "f, row 1: headroom_min must be a finite number, got 'x'", "f, row 1"),
        (parse_room_ranges, HEAD + a_row(at=""),
         "f, row 1: at must be a text that is not empty, got ''", "f, row 1"),
        (parse_room_ranges, HEAD + a_row() + "more = 1\n",
         "f, row 1: unknown key 'more'; the keys here are at, crop_level, headroom_max, "
         "headroom_min, look_ratio_min", "f, row 1"),
        (parse_room_ranges, 'source = "S"\n' + a_row(),
         "f: title must be a text that is not empty, got None", "f"),
        (parse_room_ranges, 'title = "S"\n' + a_row(),
         "f: source must be a text that is not empty, got None", "f"),
        (parse_room_ranges, HEAD + "row = 3\n",
         "f: row must be a list of one or more tables, got 3", "f"),
        (parse_room_ranges, HEAD + a_row() + "[more]\n",
         "f: unknown key 'more'; the keys here are row, source, title", "f"),
        (parse_sensor_formats, 'title = "T"\n' + a_format() + a_format(),
         "f: the name 'f' is used twice", "f"),
        (parse_sensor_formats, 'title = "T"\n' + a_format() + a_format(name='"g"', width_mm=0.9),
         "f, format 2: sides must lie between 1 and 500 mm; mend them", "f, format 2"),
        (parse_sensor_formats, 'title = "T"\n' + a_format(height_mm=501),
         "f, format 1: sides must lie between 1 and 500 mm; mend them", "f, format 1"),
        (parse_sensor_formats, 'title = "T"\n' + a_format(height_mm='"x"'),
         "f, format 1: height_mm must be a finite number, got 'x'", "f, format 1"),
        (parse_sensor_formats, a_format(name=""),
         "f, format 1: name must be a text that is not empty, got None", "f, format 1"),
        (parse_sensor_formats, a_format(title=""),
         "f, format 1: title must be a text that is not empty, got None", "f, format 1"),
        (parse_sensor_formats, a_format(source=""),
         "f, format 1: source must be a text that is not empty, got None", "f, format 1"),
        (parse_sensor_formats, a_format(more=1),
         "f, format 1: unknown key 'more'; the keys here are height_mm, name, source, title, "
         "width_mm", "f, format 1"),
        (parse_sensor_formats, "formats = 1",
         "f: unknown key 'formats'; the keys here are format, title", "f"),
        (parse_sensor_formats, "", "f: format must be a list of one or more tables, got None", "f"),
        (parse_thresholds, "knee_to_level = true",
         "f: knee_to_level must be a finite number, got True", "f"),
        (parse_thresholds, "advice_max_frac = 1.0",
         "f: advice_max_frac must be below 1, got 1.0; correct the value", "f"),
        (parse_thresholds, "chin_to_level = 0.1",
         "f: chin_from_level must not be above chin_to_level, got 0.86 and 0.1; correct the value",
         "f"),
        (parse_thresholds, "look_aspect_min = -1.0",
         "f: look_aspect_min must be a finite number >= 0, got -1.0; correct the value", "f"),
        (parse_vocabulary, VOCABULARY + a_band() + a_band(name="two"),
         "f: abbr 'O' is used by more than one band; give a band several regions instead", "f"),
        (parse_vocabulary, VOCABULARY + a_band() + a_band(abbr="P"),
         "f: name 'one' is used by more than one band; give a band several regions instead", "f"),
        (parse_vocabulary, VOCABULARY + a_band(region="{crop_from = 1, crop_to = 1}"),
         "f, band 1 (one): crop_from must be below crop_to, got 1 and 1", "f, band 1 (one)"),
        (parse_vocabulary, VOCABULARY + a_band(region="{figure_to = 'x'}"),
         "f, band 1 (one): figure_to must be a finite number, got 'x'", "f, band 1 (one)"),
        (parse_vocabulary, VOCABULARY + a_band(region="{extent_from = 'x'}"),
         "f, band 1 (one): extent_from must be a finite number, got 'x'", "f, band 1 (one)"),
        (parse_vocabulary, VOCABULARY + a_band(region="{crops = 1}"),
         "f, band 1 (one): unknown key 'crops'; the keys here are crop_from, crop_to, extent_from, "
         "extent_to, figure_from, figure_to", "f, band 1 (one)"),
        (parse_vocabulary, VOCABULARY + a_band(name=""),
         "f, band 1: name must be a text that is not empty, got ''", "f, band 1"),
        (parse_vocabulary, VOCABULARY + a_band(abbr=""),
         "f, band 1 (one): abbr must be a text that is not empty, got ''", "f, band 1 (one)"),
        (parse_vocabulary, VOCABULARY + a_band(more="note = 1\n"),
         "f, band 1 (one): note must be a text that is not empty, got 1", "f, band 1 (one)"),
        (parse_vocabulary, VOCABULARY + '[[band]]\nname = "one"\nabbr = "O"\n',
         "f, band 1 (one): region must be a list of one or more tables, got None",
         "f, band 1 (one)"),
        (parse_vocabulary, VOCABULARY + a_band() + a_band("two", "P", more="x = 1\n"),
         "f, band 2: unknown key 'x'; the keys here are abbr, name, note, region", "f, band 2"),
        (parse_vocabulary, VOCABULARY + a_band(region="{crop_to = 0.5}"),
         "f: gap: no band covers crop 0.5 to inf, figure 0 to inf, extent 0 to inf; widen a "
         "neighbour", "f"),
        (parse_vocabulary, VOCABULARY + a_band() + a_band("two", "P", "{extent_from = 0.5}"),
         "f: overlap: one and two both cover crop -inf to inf, figure 0 to inf, extent 0.5 to "
         "inf; move a border", "f"),
        (parse_vocabulary,
         VOCABULARY + a_band(region="{crop_from = 0.5}") + a_band("two", "P", "{crop_to = 0.5}"),
         "f: bands go from wide to tight, but 'one' stands before 'two'; swap them", "f"),
        (parse_vocabulary, VOCABULARY, "f: band must be a list of one or more tables, got None",
         "f"),
        (parse_vocabulary, VOCABULARY + "x = 1\n" + a_band(),
         "f: unknown key 'x'; the keys here are band, name, source, title", "f"),
        (parse_vocabulary, HEAD + a_band(),
         "f: name must be a text that is not empty, got None", "f"),
        (parse_vocabulary, 'name = "v"\nsource = "s"\n' + a_band(),
         "f: title must be a text that is not empty, got None", "f"),
        (parse_vocabulary, 'name = "v"\ntitle = "s"\n' + a_band(),
         "f: source must be a text that is not empty, got None", "f"),
    ],
)  # fmt: skip
def test_a_faulty_file_is_refused_with_what_is_wrong_and_where(parse, text, told, where) -> None:
    with pytest.raises(ConfigError) as caught:
        parse(text, "f")
    assert (str(caught.value), caught.value.where) == (told, where)


@pytest.mark.parametrize(
    "parse",
    [parse_room_ranges, parse_sensor_formats, parse_thresholds, parse_vocabulary, parse_toml],
)
def test_what_is_no_toml_is_refused_with_its_line(parse) -> None:
    with pytest.raises(
        ConfigError, match=r"^f: not valid TOML \(.*line 2.*\); mend that line$"
    ) as caught:
        parse("\nx = = 1\n", "f")
    assert caught.value.where == "f"
    assert caught.value.__cause__ is not None


def test_everything_in_a_file_is_kept() -> None:
    ranges = parse_room_ranges(HEAD + a_row() + a_row(at="hip", crop=0.5, look=0), "f")
    assert (ranges.title, ranges.source) == ("T", "S")
    assert [(row.at, row.crop_level, row.look_ratio_min) for row in ranges.rows] == [
        ("knee", 0.3, 1.0), ("hip", 0.5, 0.0),
    ]  # fmt: skip
    assert (ranges.rows[0].headroom_min, ranges.rows[0].headroom_max) == (0.1, 0.2)
    equal = parse_room_ranges(HEAD + a_row(low=0.2, high=0.2), "f")
    assert equal.rows[0].headroom_min == equal.rows[0].headroom_max == 0.2
    text = (
        VOCABULARY
        + a_band("far", "F", "{crop_to = 0.5}", 'note = "n"\n')
        + a_band("near", "N", "{crop_from = 0.5}")
    )
    vocabulary = parse_vocabulary(text, "f")
    assert (vocabulary.name, vocabulary.title, vocabulary.source) == ("v", "T", "S")
    far, near = vocabulary.bands
    assert far == Band(name="far", abbr="F", note="n", regions=(Region(crop=Span(stop=0.5)),))
    assert near == Band(name="near", abbr="N", note="", regions=(Region(crop=Span(start=0.5)),))
    assert parse_vocabulary(vocabulary_toml(vocabulary), "f") == vocabulary


@pytest.mark.parametrize(("width", "height"), [(1, 500), (500, 1)])
def test_sides_of_a_sensor_reach_from_1_to_500(width, height) -> None:
    (found,) = parse_sensor_formats(a_format(width_mm=width, height_mm=height), "f")
    assert (found.width_mm, found.height_mm) == (width, height)
    assert (found.name, found.title, found.source) == ("f", "t", "s")
    assert choose_sensor(f" {width}x{height} ", ()) == (width, height)
    assert choose_sensor(" F ", (found,)) == (width, height)


@pytest.mark.parametrize("words", ["0.9x10", "10x501", "501x10", "10x0.5"])
def test_other_sides_are_refused(words) -> None:
    with pytest.raises(ConfigError, match=rf"^a sensor has sides from 1 to 500 mm, got '{words}'$"):
        choose_sensor(words, ())


def test_an_unknown_sensor_is_answered_with_those_that_there_are() -> None:
    formats = parse_sensor_formats(a_format() + a_format(name='"g"'), "f")
    told = r"^no sensor 'h'; give a size in mm as 36x24, or one of f, g$"
    with pytest.raises(ConfigError, match=told):
        choose_sensor("h", formats)


def test_the_text_of_a_vocabulary_is_plain() -> None:
    text = VOCABULARY.replace('"T"', '"a b\\u007f\x80"') + a_band(more='note = "n"\n')
    assert vocabulary_toml(parse_vocabulary(text, "f")) == (
        'name = "v"\ntitle = "a b\\u007f\x80"\nsource = "S"\n\n[[band]]\nname = "one"\nabbr = "O"\n'
        'note = "n"\nregion = [{}]\n'
    )


def test_values_are_read_as_what_they_are() -> None:
    table = {"n": 3, "t": " x ", "rows": [{"a": 1}]}
    assert read_number(table, "n", "f") == 3.0
    assert isinstance(read_number(table, "n", "f"), float)
    assert read_number(table, "m", "f", default=0.5) == 0.5
    assert read_text(table, "t", "f") == " x "
    assert read_text(table, "u", "f", default="") == ""
    assert read_tables(table, "rows", "f") == [{"a": 1}]
    check_keys(table, ("rows", "t", "n", "more"), "f")


@pytest.mark.parametrize(
    ("read", "table", "told"),
    [
        (read_number, {}, "f: n must be a finite number, got None"),
        (read_number, {"n": float("nan")}, "f: n must be a finite number, got nan"),
        (read_number, {"n": False}, "f: n must be a finite number, got False"),
        (read_text, {"n": "  "}, "f: n must be a text that is not empty, got '  '"),
        (read_text, {"n": 1}, "f: n must be a text that is not empty, got 1"),
        (read_tables, {"n": []}, "f: n must be a list of one or more tables, got []"),
        (read_tables, {"n": [1]}, "f: n must be a list of one or more tables, got [1]"),
        (read_tables, {"n": {"a": 1}}, "f: n must be a list of one or more tables, got {'a': 1}"),
    ],
)
def test_values_of_another_kind_are_refused(read, table, told) -> None:
    with pytest.raises(ConfigError) as caught:
        read(table, "n", "f")
    assert (str(caught.value), caught.value.where) == (told, "f")
