"""A vocabulary written out and read back."""

from dataclasses import replace

import pytest

from framecheck.classify.vocabulary import parse_vocabulary
from framecheck.classify.vocabulary_text import vocabulary_toml
from framecheck.pipeline.settings import load_vocabulary, packaged_vocabulary_names


@pytest.mark.parametrize("name", packaged_vocabulary_names())
def test_every_packaged_vocabulary_reads_back_as_itself(name):
    vocabulary = load_vocabulary(name)
    assert parse_vocabulary(vocabulary_toml(vocabulary), name) == vocabulary


def test_quotes_and_controls_survive():
    vocabulary = load_vocabulary("trade")
    odd = replace(vocabulary, title='a "quoted" \\ title\nand \x07 more', source="é 日本")
    assert parse_vocabulary(vocabulary_toml(odd), "odd") == odd
