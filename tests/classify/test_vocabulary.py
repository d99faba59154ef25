from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.classify.vocabulary import Vocabulary, find_band, parse_vocabulary, region_holds
from framecheck.errors import ConfigError

HEAD = 'name = "mine"\ntitle = "Mine"\nsource = "me"\n'
SHIPPED = (
    "five-class",
    "knee-waist-bust",
    "metadata-sizes",
    "nine-class",
    "scene-codes",
    "style-statistics",
    "textbook-glossary",
    "trade",
)


def a_text(*bands: tuple[str, str]) -> str:
    rows = (f'[[band]]\nname = "{n}"\nabbr = "{n[0]}"\nregion = [{r}]\n' for n, r in bands)
    return HEAD + "".join(rows)


def test_the_default_and_every_published_scheme_is_shipped(
    vocabularies: dict[str, Vocabulary],
) -> None:
    assert tuple(vocabularies) == SHIPPED
    assert all(name == vocabulary.name for name, vocabulary in vocabularies.items())


def test_the_default_has_the_trade_names_in_order(vocabularies: dict[str, Vocabulary]) -> None:
    assert [band.name for band in vocabularies["trade"].bands] == [
        "extreme wide", "wide", "full", "medium full", "cowboy", "medium", "medium close-up",
        "close-up", "big close-up", "extreme close-up",
    ]  # fmt: skip


@given(
    crop=st.floats(-3, 2), figure=st.floats(0.001, 20), extent=st.floats(0, 1.3),
    name=st.sampled_from(SHIPPED),
)  # fmt: skip
def test_every_reading_has_exactly_one_band(
    vocabularies: dict[str, Vocabulary], crop: float, figure: float, extent: float, name: str
) -> None:
    cell = (crop, figure, extent)
    owners = [
        band
        for band in vocabularies[name].bands
        for region in band.regions
        if region_holds(region, cell)
    ]
    assert owners == [find_band(vocabularies[name], cell)]


def test_a_border_belongs_to_the_tighter_band() -> None:
    vocabulary = parse_vocabulary(
        a_text(("wide", "{ crop_to = 0.5 }"), ("tight", "{ crop_from = 0.5 }")), "mine.toml"
    )
    assert find_band(vocabulary, (0.5, 1, 1)).name == "tight"
    assert find_band(vocabulary, (math.nextafter(0.5, 0), 1, 1)).name == "wide"


def test_one_band_may_cover_everything() -> None:
    vocabulary = parse_vocabulary(a_text(("any", "{}")), "mine.toml")
    assert find_band(vocabulary, (-9, 9, 0)).name == "any"


@pytest.mark.parametrize(
    ("bands", "message"),
    [
        pytest.param(
            [("wide", "{ crop_to = 0.4 }"), ("tight", "{ crop_from = 0.5 }")],
            "gap: no band covers crop 0.4 to 0.5",
            id="gap",
        ),
        pytest.param(
            [("wide", "{ crop_to = 0.6 }"), ("tight", "{ crop_from = 0.5 }")],
            "overlap: wide and tight both cover crop 0.5 to 0.6",
            id="overlap",
        ),
        pytest.param(
            [("wide", "{ crop_to = 0.5, figure_from = 0.2 }"), ("tight", "{ crop_from = 0.5 }")],
            "gap: no band covers crop -inf to 0.5, figure 0 to 0.2",
            id="gap of figure heights",
        ),
        pytest.param(
            [("tight", "{ crop_from = 0.5 }"), ("wide", "{ crop_to = 0.5 }")],
            "'tight' stands before 'wide'",
            id="order",
        ),
        pytest.param(
            [("wide", "{ crop_from = 0.5, crop_to = 0.5 }")],
            "band 1 .wide.: crop_from must be below crop_to, got 0.5 and 0.5",
            id="empty range",
        ),
        pytest.param(
            [("wide", "{ crop_to = 0.5 }"), ("wide", "{ crop_from = 0.5 }")],
            "name 'wide' is used by more than one band",
            id="name twice",
        ),
        pytest.param(
            [("wide", "{ crop_to = 0.5 }"), ("wider", "{ crop_from = 0.5 }")],
            "abbr 'w' is used by more than one band",
            id="abbreviation twice",
        ),
        pytest.param(
            [("wide", "{ crop_till = 0.5 }")], "unknown key 'crop_till'", id="misspelt key"
        ),
        pytest.param([("wide", '{ crop_to = "a" }')], "crop_to must be a finite number", id="type"),
    ],
)
def test_a_faulty_vocabulary_is_refused_with_its_place(
    bands: list[tuple[str, str]], message: str
) -> None:
    with pytest.raises(ConfigError, match=message) as caught:
        parse_vocabulary(a_text(*bands), "mine.toml")
    assert str(caught.value).startswith("mine.toml")
