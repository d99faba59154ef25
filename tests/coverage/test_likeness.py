"""Colours of people, and how alike they are."""

import math
from dataclasses import replace

import numpy as np
import pytest

from framecheck.coverage.likeness import (
    log_odds,
    look_array,
    part_distances,
    probability,
    side_of,
)
from framecheck.records.looks import ColourShare, PartLook, PersonLook
from tests.coverage.builders import ANNE, BERT, CARL, RED, a_look, a_part, shown


def odds(one, other):
    looks = look_array([one, other])
    return float(log_odds(part_distances(looks[0], looks[1])))


def plain(light, red=0.0):
    colour = ColourShare(light=light, green_red=red, blue_yellow=0.0, share=0.5)
    return PersonLook(parts=(PartLook(part="chest", colours=(colour, colour)),))


@pytest.mark.parametrize(
    ("one", "other", "gap"),
    [
        (plain(44.0), plain(44.0, 12.0), 8.0),  # a cast of 4 is taken out
        # L* + 16 is 60 and 80, a ratio of 1.33: another strength of light on one grey
        (plain(44.0), plain(64.0), 0.0),
        # 60 and 100 is more than light can do: each goes half the way, then lightness counts 0.8
        (plain(44.0), plain(84.0), 0.8 * (100 / math.exp(0.15) - 60 * math.exp(0.15))),
    ],
)
def test_distance_of_one_colour_to_another_by_hand(one, other, gap) -> None:
    looks = look_array([one, other])
    gaps = part_distances(looks[0], looks[1])
    assert gaps[2] == pytest.approx(gap, abs=1e-9)
    assert np.isnan(gaps[[0, 1, 3, 4]]).all()


def test_the_order_of_two_colours_does_not_matter() -> None:
    red = ColourShare(light=40, green_red=60, blue_yellow=30, share=0.5)
    white = ColourShare(light=95, green_red=0, blue_yellow=0, share=0.5)
    stripes = [
        PersonLook(parts=(PartLook(part="chest", colours=pair),))
        for pair in ((red, white), (white, red))
    ]
    looks = look_array(stripes)
    assert part_distances(looks[0], looks[1])[2] == pytest.approx(0.0)


def test_distance_moves_the_share_that_differs() -> None:
    """By hand: the cast of 4 moves one by +2 and the other by -2.

    Half of one colour and a quarter of the other move by 4, a quarter turns from 2 to 38: that is
    2 + 1 + 9.
    The main colours lie 4 apart. Half of 12 and half of 4 make 8.
    """

    def mixed(share):
        one = ColourShare(light=50, green_red=0, blue_yellow=0, share=share)
        other = ColourShare(light=50, green_red=40, blue_yellow=0, share=1 - share)
        return PersonLook(parts=(PartLook(part="waist", colours=(one, other)),))

    looks = look_array([mixed(0.75), mixed(0.5)])
    assert part_distances(looks[0], looks[1])[3] == pytest.approx(8.0)


def test_the_same_clothes_speak_for_one_person_and_others_against() -> None:
    assert odds(ANNE, ANNE) > 2
    assert odds(ANNE, BERT) < -2
    assert odds(BERT, CARL) < -2
    assert odds(ANNE, BERT) == pytest.approx(odds(BERT, ANNE))


def test_a_darker_light_changes_less_than_another_coat() -> None:
    darker = a_look((RED[0] - 15, RED[1] * 0.8, RED[2] * 0.8))
    assert odds(ANNE, darker) > 0


def test_nothing_seen_in_both_says_nothing() -> None:
    chest = PersonLook(parts=(a_part("chest", RED),))
    legs = PersonLook(parts=(a_part("legs", RED),))
    assert odds(chest, legs) == 0
    assert odds(chest, None) == 0
    assert probability(0.0) == 0.5
    assert probability(1e9) == pytest.approx(probability(9.0))


@pytest.mark.parametrize(
    ("yaw", "side"),
    [(None, 0.0), (8.0, 0.0), (-8.0, 0.0), (8.1, 1.0), (-8.1, -1.0), (171.9, 1.0), (172.0, 0.0),
     (-172.0, 0.0), (-171.9, -1.0)],
)  # fmt: skip
def test_a_side_is_between_the_lens_and_the_back(yaw, side) -> None:
    assert side_of(replace(shown(), head_yaw_deg=yaw)) == side
