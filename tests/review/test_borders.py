"""Borders fitted to a user's naming: known shifts come back, noise moves nothing."""

from dataclasses import replace

import numpy as np
import pytest

from framecheck.classify.vocabulary import find_band, parse_vocabulary
from framecheck.classify.vocabulary_text import vocabulary_toml
from framecheck.pipeline.settings import load_vocabulary, packaged_vocabulary_names
from framecheck.review.borders import (
    NamedReading,
    count_right,
    crop_borders,
    move_border,
    propose_borders,
)

TRADE = load_vocabulary("trade")


def named_by(vocabulary, levels, figure=0.9):
    return [
        NamedReading(
            crop_level=level, figure_frac=figure, extent=1 - max(level, 0),
            name=find_band(vocabulary, (level, figure, 1 - max(level, 0))).name,
        )
        for level in levels
    ]  # fmt: skip


def test_the_borders_of_the_default_vocabulary():
    assert crop_borders(TRADE) == (0.1425, 0.3475, 0.47, 0.661, 0.769, 0.844, 0.903)


def test_names_that_fit_move_nothing():
    readings = named_by(TRADE, np.linspace(0.0, 0.95, 60))
    found = propose_borders(TRADE, readings)
    assert found.moves == ()
    assert found.vocabulary == TRADE
    assert (found.right_before, found.right_after, found.held_out) == (60, 60, None)


@pytest.mark.parametrize(("border", "own"), [(0.661, 0.63), (0.47, 0.50), (0.3475, 0.31)])
def test_a_shifted_border_comes_back(border, own):
    """A person who names by another border: the fit finds it to the spacing of the frames."""
    theirs = move_border(TRADE, border, own)
    levels = np.arange(0.2, 0.75, 0.006)
    readings = named_by(theirs, levels)
    found = propose_borders(TRADE, readings)
    (move,) = found.moves
    assert move.before == border
    assert move.after == pytest.approx(own, abs=0.006)
    assert (move.wrong_before > 0, move.wrong_after) == (True, 0)
    assert found.right_before < found.right_after == len(readings)
    assert found.held_out >= len(readings) - 1
    moved = find_band(found.vocabulary, ((border + own) / 2, 0.9, 0.4)).name
    assert moved == find_band(theirs, ((border + own) / 2, 0.9, 0.4)).name


def test_a_few_frames_move_nothing():
    theirs = move_border(TRADE, 0.661, 0.60)
    assert propose_borders(TRADE, named_by(theirs, [0.62, 0.64, 0.70])).moves == ()


def test_names_at_random_are_not_told_to_gain():
    """Names that nothing explains: whatever is fitted, the held-out count must not promise much."""
    rng = np.random.default_rng(42)
    levels = rng.uniform(0.48, 0.76, 40)
    readings = [
        replace(reading, name=str(rng.choice(["medium", "medium close-up"])))
        for reading in named_by(TRADE, levels)
    ]
    found = propose_borders(TRADE, readings)
    assert found.held_out is None or found.held_out < found.right_after
    assert count_right(found.vocabulary, readings) == found.right_after


@pytest.mark.parametrize("name", packaged_vocabulary_names())
def test_what_is_proposed_is_a_vocabulary(name):
    """Every reading still has exactly one name: the parser proves it."""
    vocabulary = load_vocabulary(name)
    rng = np.random.default_rng(7)
    readings = []
    for level in np.linspace(-0.1, 0.97, 90):
        figure = float(rng.uniform(0.1, 1.5))
        near = float(np.clip(level + rng.normal(0, 0.05), -0.2, 0.99))
        band = find_band(vocabulary, (near, figure, 1 - max(near, 0)))
        readings.append(
            NamedReading(
                crop_level=level, figure_frac=figure, extent=1 - max(level, 0), name=band.name
            )
        )
    found = propose_borders(vocabulary, readings)
    assert parse_vocabulary(vocabulary_toml(found.vocabulary), name) == found.vocabulary
    assert found.right_after >= found.right_before
    borders = crop_borders(found.vocabulary)
    assert list(borders) == sorted(borders)
