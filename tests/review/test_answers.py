"""What the page sends is checked before anything is kept."""

import pytest

from framecheck.catalog.confirmed import Field
from framecheck.report.page.entries import gather_entries
from framecheck.review.answers import BadAnswerError, read_answer
from tests.report.catalogs import judging, open_catalog, some_catalog

TRADE = judging().vocabularies[0]


@pytest.fixture(scope="module")
def entries(tmp_path_factory):
    with open_catalog(some_catalog(tmp_path_factory.mktemp("answers"), clip=False)) as catalog:
        return {entry.source.place.name: entry for entry in gather_entries(catalog)}


def test_all_fields_at_once(entries):
    body = {
        "size": "cowboy",
        "people": 2,
        "shot_type": "two",
        "subject": 1,
        "flags": ["knee", "p1:chin", "knee"],
    }
    entry = entries["03 two.png"]
    values = read_answer(body, entry, TRADE)
    assert values[Field.SIZE] == {"size": "cowboy", "size_abbr": "CS", "vocabulary": "trade"}
    assert values[Field.PEOPLE] == {"people": 2}
    assert values[Field.SHOT_TYPE] == {"shot_type": "two"}
    assert values[Field.FLAGS] == {"flags": ["knee", "p1:chin"]}
    other = entry.people[1]
    assert values[Field.SUBJECT]["x"] == other["nose_x_px"]
    # The other figure is 1.9 picture heights tall from 0.12 down: cut at 1 - 0.88 / 1.9 = 0.537.
    assert values[Field.SUBJECT]["size"] == "medium"


def test_a_still_without_people_is_named_in_the_vocabulary_of_the_page(entries):
    values = read_answer({"size": "wide"}, entries["06 nobody.jpg"], TRADE)
    assert values[Field.SIZE]["vocabulary"] == "trade"


@pytest.mark.parametrize(
    "body",
    [
        None, [], "size", {}, {"size": "gigantic"}, {"size": 3}, {"size": None}, {"people": -1},
        {"people": 1.5}, {"people": True}, {"people": "2"}, {"people": 10**9}, {"shot_type": "odd"},
        {"shot_type": ["two"]}, {"subject": 9}, {"subject": True}, {"subject": "0"},
        {"flags": "knee"}, {"flags": [1]}, {"flags": ["nose"]}, {"flags": ["pp:knee"]},
        {"flags": ["p1x:knee"]}, {"size": "wide", "advice": "x"}, {"flags": ["knee(bottom)"]},
    ],
)  # fmt: skip
def test_anything_else_is_refused(entries, body):
    with pytest.raises(BadAnswerError):
        read_answer(body, entries["03 two.png"], TRADE)
