from __future__ import annotations

import pytest

from framecheck.classify.toml_text import (
    check_keys,
    parse_toml,
    read_number,
    read_tables,
    read_text,
)
from framecheck.errors import ConfigError


def test_broken_toml_names_the_file_and_the_line() -> None:
    with pytest.raises(ConfigError, match=r"mine\.toml: not valid TOML .*line 2") as caught:
        parse_toml("a = 1\nb = \nc = 2", "mine.toml")
    assert caught.value.where == "mine.toml"


def test_an_unknown_key_is_refused_with_the_known_ones() -> None:
    with pytest.raises(ConfigError, match=r"unknown key 'nam'; the keys here are abbr, name"):
        check_keys({"nam": 1}, ("name", "abbr"), "mine.toml")


@pytest.mark.parametrize("value", ["", "  ", 3, ["a"]])
def test_text_must_be_text_that_is_not_empty(value: object) -> None:
    with pytest.raises(ConfigError, match="name must be a text"):
        read_text({"name": value}, "name", "mine.toml", default="x")


def test_a_missing_text_needs_a_default() -> None:
    assert read_text({}, "note", "mine.toml", default="") == ""
    with pytest.raises(ConfigError, match="note must be a text"):
        read_text({}, "note", "mine.toml")


@pytest.mark.parametrize("value", [True, "3", float("inf"), float("nan"), [1]])
def test_a_number_must_be_finite_and_no_truth_value(value: object) -> None:
    with pytest.raises(ConfigError, match="level must be a finite number"):
        read_number({"level": value}, "level", "mine.toml", default=1.0)


def test_a_missing_number_needs_a_default() -> None:
    assert read_number({"level": 2}, "level", "mine.toml") == 2.0
    assert read_number({}, "level", "mine.toml", default=0.5) == 0.5
    with pytest.raises(ConfigError, match="got None"):
        read_number({}, "level", "mine.toml")


@pytest.mark.parametrize("value", [None, [], {"a": 1}, [1]])
def test_tables_must_be_a_list_of_tables(value: object) -> None:
    with pytest.raises(ConfigError, match="band must be a list of one or more tables"):
        read_tables({"band": value}, "band", "mine.toml")
