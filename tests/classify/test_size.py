from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from framecheck.classify.size import SizeReading, name_size, read_size
from framecheck.classify.vocabulary import Vocabulary
from framecheck.records.judged import SizeName
from framecheck.records.values import NotMeasured

KNEE, MID_THIGH, HIP, WAIST, CHEST, SHOULDER, CHIN = 0.285, 0.41, 0.53, 0.602, 0.72, 0.818, 0.87


def a_reading(
    crop: float, *, top: float = 1.05, figure: float | None = None, error: float = 0.01
) -> SizeReading:
    height = figure if figure is not None else 1.0 / max(1.1 - crop, 0.05)
    return SizeReading(crop_level=crop, top_level=top, figure_frac=height, error_level=error)


def name_of(
    vocabularies: dict[str, Vocabulary], vocabulary: str, reading: SizeReading
) -> str | None:
    size = name_size(reading, vocabularies[vocabulary])
    return None if size is None else size.name


@pytest.mark.parametrize(
    ("reading", "name"),
    [
        pytest.param(a_reading(-5.0, figure=0.1), "extreme wide", id="a tenth of the height"),
        pytest.param(a_reading(-0.5, figure=0.4), "wide", id="two fifths of the height"),
        pytest.param(a_reading(-0.05, figure=0.85), "full", id="head to toe"),
        pytest.param(a_reading(-0.001), "full", id="just below the feet"),
        pytest.param(a_reading(0.039), "full", id="ankle"),
        pytest.param(a_reading(KNEE), "medium full", id="knee"),
        pytest.param(a_reading(KNEE - 0.03), "medium full", id="just below the knee"),
        pytest.param(a_reading(KNEE + 0.03), "medium full", id="just above the knee"),
        pytest.param(a_reading(MID_THIGH), "cowboy", id="mid-thigh"),
        pytest.param(a_reading(HIP), "medium", id="hip"),
        pytest.param(a_reading(WAIST), "medium", id="waist"),
        pytest.param(a_reading(CHEST), "medium close-up", id="chest"),
        pytest.param(a_reading(SHOULDER), "close-up", id="shoulder"),
        pytest.param(a_reading(SHOULDER, top=0.95), "close-up", id="shoulder, hair cut"),
        pytest.param(a_reading(CHIN, top=0.98), "big close-up", id="chin to hair line"),
        pytest.param(a_reading(CHIN, top=0.945), "extreme close-up", id="chin to eyes"),
        pytest.param(a_reading(0.92, top=0.95), "extreme close-up", id="eyes alone"),
        pytest.param(a_reading(0.82, top=0.89), "extreme close-up", id="neck and chin"),
    ],
)
def test_trade_names_common_practice(
    vocabularies: dict[str, Vocabulary], reading: SizeReading, name: str
) -> None:
    assert name_of(vocabularies, "trade", reading) == name


@pytest.mark.parametrize(
    ("vocabulary", "crop", "name"),
    [
        # Bordwell & Thompson 1997, glossary.
        pytest.param("textbook-glossary", -0.02, "long shot", id="textbook: standing figure"),
        pytest.param("textbook-glossary", 0.162, "plan americain", id="textbook: shins to head"),
        pytest.param("textbook-glossary", 0.30, "medium long shot", id="textbook: 1.22 of 1.75 m"),
        pytest.param("textbook-glossary", WAIST, "medium shot", id="textbook: waist up"),
        pytest.param("textbook-glossary", CHEST, "medium close-up", id="textbook: chest up"),
        pytest.param("textbook-glossary", 0.844, "close-up", id="textbook: neck up"),
        # Salt, from memory of the source.
        pytest.param("style-statistics", -0.02, "long shot", id="statistics: full height"),
        pytest.param("style-statistics", KNEE, "medium long shot", id="statistics: knee"),
        pytest.param("style-statistics", 0.49, "medium shot", id="statistics: below the hip"),
        pytest.param("style-statistics", WAIST, "medium close-up", id="statistics: waist up"),
        pytest.param("style-statistics", 0.79, "close-up", id="statistics: head and shoulders"),
        pytest.param("style-statistics", CHIN, "big close-up", id="statistics: head only"),
        # Rao et al. 2020.
        pytest.param("five-class", 0.0, "full shot", id="five: whole body"),
        pytest.param("five-class", KNEE, "medium shot", id="five: knees"),
        pytest.param("five-class", WAIST, "medium shot", id="five: waist"),
        pytest.param("five-class", CHIN, "close-up shot", id="five: face"),
        # Thompson & Bowen 2009, cuts from memory.
        pytest.param("nine-class", KNEE, "medium long shot", id="nine: knee"),
        pytest.param("nine-class", WAIST, "medium shot", id="nine: waist"),
        pytest.param("nine-class", CHEST, "medium close-up", id="nine: chest"),
        pytest.param("nine-class", 0.83, "close-up", id="nine: top of shoulders"),
        # Camera manual; IPTC scene codes.
        pytest.param("knee-waist-bust", KNEE, "knee shot", id="manual: knees and above"),
        pytest.param("knee-waist-bust", 0.604, "waist shot", id="manual: upper hips and above"),
        pytest.param("knee-waist-bust", CHEST, "bust shot", id="manual: chest and above"),
        pytest.param("scene-codes", -0.02, "full-length", id="codes: head to toe"),
        pytest.param("scene-codes", 0.162, "half-length", id="codes: no toes, so not head to toe"),
        pytest.param("scene-codes", HIP, "half-length", id="codes: torso and head"),
        pytest.param("scene-codes", 0.72, "half-length", id="codes: the chest is no head"),
        pytest.param("scene-codes", CHIN, "headshot", id="codes: head only"),
    ],
)
def test_published_definitions(
    vocabularies: dict[str, Vocabulary], vocabulary: str, crop: float, name: str
) -> None:
    assert name_of(vocabularies, vocabulary, a_reading(crop)) == name


@pytest.mark.parametrize("name", ["textbook-glossary", "five-class", "nine-class"])
def test_eyes_alone_are_an_extreme_close_up_in_all_schemes_that_have_one(
    vocabularies: dict[str, Vocabulary], name: str
) -> None:
    eyes = name_of(vocabularies, name, a_reading(0.91, top=0.96))
    assert eyes is not None
    assert eyes.startswith("extreme close-up")


def test_confidence_and_second_name_beside_a_border(vocabularies: dict[str, Vocabulary]) -> None:
    # The border of cowboy and medium lies at 0.47, a standard deviation above the reading: of the
    # usual errors 0.8413 lie below it, of the one in ten that is three times as large 0.6306. The
    # far border and that of the extent take another half per cent.
    size = name_size(a_reading(0.45, error=0.02), vocabularies["trade"])
    assert size is not None
    assert size.name == "cowboy"
    assert size.confidence == pytest.approx(0.9 * 0.8413 + 0.1 * 0.6306, abs=0.006)
    assert size.second == "medium"


def test_no_second_name_far_from_every_border(vocabularies: dict[str, Vocabulary]) -> None:
    size = name_size(a_reading(MID_THIGH, error=0.02), vocabularies["trade"])
    assert size is not None
    assert size.second == ""
    assert size.confidence > 0.96


def test_wide_sizes_share_their_doubt_by_the_figure_height(
    vocabularies: dict[str, Vocabulary],
) -> None:
    size = name_size(a_reading(-0.3, figure=0.60), vocabularies["trade"])
    assert size is not None
    assert (size.name, size.second) == ("full", "wide")
    assert size.confidence == pytest.approx(0.5)


def test_a_vocabulary_of_one_band_never_has_a_second_name(
    vocabularies: dict[str, Vocabulary],
) -> None:
    trade = vocabularies["trade"]
    every = replace(trade.bands[0], regions=(type(trade.bands[0].regions[0])(),))
    size = name_size(a_reading(0.47), replace(trade, bands=(every,)))
    assert size == SizeName(
        vocabulary="trade", name="extreme wide", abbr="EWS", confidence=1.0, second=""
    )


@pytest.mark.parametrize(
    "reading",
    [
        pytest.param(a_reading(0.4, top=0.6), id="hands only"),
        pytest.param(a_reading(1.02, top=1.3), id="bottom edge above the crown"),
    ],
)
def test_no_size_without_a_head_in_the_picture(
    vocabularies: dict[str, Vocabulary], reading: SizeReading
) -> None:
    assert name_size(reading, vocabularies["trade"]) is None


@given(
    crop=st.floats(-2, 0.99), top=st.floats(0.87, 1.5), figure=st.floats(0.01, 10),
    error=st.floats(0, 0.2),
)  # fmt: skip
def test_confidences_are_shares_and_name_is_the_readings_own_band(
    vocabularies: dict[str, Vocabulary], crop: float, top: float, figure: float, error: float
) -> None:
    reading = a_reading(crop, top=top, figure=figure, error=error)
    assume(reading.extent > 0)
    for vocabulary in vocabularies.values():
        size = name_size(reading, vocabulary)
        assert size is not None
        assert 0 <= size.confidence <= 1
        assert size.second != size.name
        exact = name_size(replace(reading, error_level=0.0), vocabulary)
        assert exact is not None
        assert exact.name == size.name


@pytest.mark.parametrize(
    "change",
    [{"figure_frac": 0.0}, {"error_level": -0.1}, {"crop_level": math.nan}],
    ids=lambda change: next(iter(change)),
)
def test_a_reading_refuses_nonsense(change: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"must be|finite"):
        replace(a_reading(0.5), **change)


def test_read_size_takes_the_persons_numbers(a_person, a_picture) -> None:
    reading = read_size(a_person(a_picture(0.6), error=0.03))
    assert isinstance(reading, SizeReading)
    # Picture from y = 0 to 500: crown 100 px = 0.1 figure under the top edge.
    assert reading.crop_level == pytest.approx(0.6)
    assert reading.top_level == pytest.approx(1.1)
    assert reading.figure_frac == pytest.approx(2.0)
    assert reading.error_level == 0.03


def test_read_size_says_why_there_is_none(a_person, a_picture) -> None:
    person = a_person(a_picture())
    hidden = NotMeasured(reason="only a hand seen")
    assert read_size(replace(person, ruler=None)) == NotMeasured(reason="no ruler")
    assert read_size(replace(person, top_level=hidden)) == hidden
