"""From the words back to a picture height."""

from itertools import pairwise

import pytest

from framecheck.classify.room import room_at
from framecheck.classify.size_fields import crop_level_of_field, size_fields, translate_size
from framecheck.classify.vocabulary import parse_vocabulary
from framecheck.pipeline.settings import Settings, load_judging, packaged_vocabulary_names

RANGES = load_judging(Settings()).ranges


def test_a_picture_as_high_as_the_figure_and_its_room() -> None:
    # cut at the knee (0.285) the range table lets pass a headroom of 0.040 to 0.214, middle 0.127:
    # 1 - 0.285 statures of body are 1 - 0.127 of the picture
    field = (1 - 0.285) / (1 - 0.127)
    assert crop_level_of_field(field, RANGES) == pytest.approx(0.285, abs=1e-6)


def test_wider_pictures_cut_lower() -> None:
    levels = [crop_level_of_field(field, RANGES) for field in (0.1, 0.3, 0.5, 1.0, 2.0, 5.0)]
    assert levels == sorted(levels, reverse=True)
    assert levels[-1] < 0


@pytest.mark.parametrize("name", packaged_vocabulary_names())
def test_every_size_of_every_vocabulary_has_its_field(name) -> None:
    vocabulary = load_judging(Settings(vocabularies=(name,))).vocabularies[0]
    fields = size_fields(vocabulary, RANGES)
    assert [field.name for field in fields] == [band.name for band in vocabulary.bands]
    for wider, tighter in pairwise(fields):
        assert wider.low > tighter.high
        assert wider.middle > tighter.middle
    for field in fields:
        assert field.low <= field.middle <= field.high


def test_the_fields_of_common_trade_usage() -> None:
    fields = {
        field.abbr: field for field in size_fields(load_judging(Settings()).vocabularies[0], RANGES)
    }
    # WS in this vocabulary: the figure a fifth to three fifths of the picture height
    assert fields["WS"].low == pytest.approx(1 / 0.6, rel=0.03)
    assert fields["WS"].high == pytest.approx(5, rel=0.03)


@pytest.mark.parametrize(
    ("abbr", "other"),
    [("EWS", "EWS"), ("WS", "WS"), ("FS", "WS"), ("MFS", "MWS"), ("CS", "MWS"), ("MS", "MS"),
     ("MCU", "MCU"), ("CU", "CU"), ("BCU", "CU"), ("ECU", "ECU")],
)  # fmt: skip
def test_a_size_in_the_words_of_the_metadata_standard(abbr, other) -> None:
    # the list of xmpDM:shotSize is the standard's, which size is which follows from the ruler
    trade, closed = (
        load_judging(Settings(vocabularies=(name,))).vocabularies[0]
        for name in ("trade", "metadata-sizes")
    )
    name = next(band.name for band in trade.bands if band.abbr == abbr)
    found = translate_size(name, trade, closed, RANGES)
    assert found is not None
    assert found.abbr == other
    assert translate_size("no such size", trade, closed, RANGES) is None


@pytest.mark.parametrize("field", [0.2, 0.35, 0.6, 0.9, 1.1, 1.6, 3.0, 12.0])
def test_what_the_bottom_edge_cuts_leaves_the_usual_headroom(field) -> None:
    """The picture holds the body above the cut and the middle of the headroom that passes."""
    crop = crop_level_of_field(field, RANGES)
    row = room_at(RANGES, min(crop, RANGES.rows[-1].crop_level))
    assert row is not None
    headroom = (row.headroom_min + row.headroom_max) / 2
    assert 1 - crop == pytest.approx(field * (1 - headroom), abs=1e-6)


def test_pictures_tighter_than_the_table_keep_its_last_headroom() -> None:
    last = RANGES.rows[-1]
    field = 0.05
    expected = 1 - field * (1 - (last.headroom_min + last.headroom_max) / 2)
    assert expected > last.crop_level
    assert crop_level_of_field(field, RANGES) == pytest.approx(expected, abs=1e-6)


def test_tight_pictures_show_as_much_of_the_body_as_they_are_high() -> None:
    """Crown and bottom cut: what is seen is the whole height of the picture, in statures."""
    text = """name = "v"
title = "t"
source = "s"
[[band]]
name = "more"
abbr = "M"
region = [{ extent_from = 0.1 }]
[[band]]
name = "less"
abbr = "L"
region = [{ extent_to = 0.1 }]
"""
    more, less = size_fields(parse_vocabulary(text, "v"), RANGES)
    assert less.high < 0.1 < more.low * 1.0001
    assert more.low / less.high == pytest.approx(2 ** (1 / 30), rel=0.01)
