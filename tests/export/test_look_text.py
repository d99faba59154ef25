"""Looks as one cell, and back."""

import pytest

from framecheck.export.look_text import look_text, parse_look
from tests.coverage.builders import ANNE


def test_a_look_as_text() -> None:
    text = look_text(ANNE)
    assert text.startswith("1: hair 15/2/3/70 11/2/3/30; face 60/14/18/70 56/14/18/30; chest ")
    assert parse_look(text) == ANNE


@pytest.mark.parametrize(
    "text",
    ["", "1: ", "2: hair 1/2/3/4 1/2/3/4", "1: nose 1/2/3/4 1/2/3/4", "1: hair 1/2/3/4", "hair",
     "1: hair a/2/3/4 1/2/3/4", "1: hair 1/2/3/4 1/2/3/4; ", "'1: hair"],
)  # fmt: skip
def test_any_other_text_is_no_look(text) -> None:
    assert parse_look(text) is None


def test_no_look_is_an_empty_cell() -> None:
    assert look_text(None) == ""
