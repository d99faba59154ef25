"""Measurements in words."""

import pytest

from framecheck.records.framing import Edge
from framecheck.records.values import NotMeasured
from framecheck.report.palette import drawable_text
from framecheck.report.words import cut_words, flag_words, level_place, measure_words
from tests.report.figures import a_flag, a_result


@pytest.mark.parametrize(
    ("level", "place"),
    [
        (0.285, "knee"), (0.30, "knee"), (0.33, "above knee"), (0.2, "above mid-calf"),
        (0.41, "mid-thigh"), (0.53, "hip"), (0.60, "waist"), (0.72, "chest"), (0.844, "neck"),
        (0.87, "chin"), (1.0, "crown"), (-0.1, "clear of the feet"), (1.2, "over the head"),
    ],
)  # fmt: skip
def test_a_level_has_a_place_on_the_body(level, place):
    assert level_place(level) == place


def test_the_cut_in_words():
    assert cut_words(0.412) == "cut 0.41 mid-thigh"
    assert cut_words(-0.25) == "feet clear by 0.25 figure heights"
    assert cut_words(NotMeasured(reason="no ruler")) == "cut not measured: no ruler"


def test_flags_in_words():
    assert flag_words(a_flag("knee", 0.012)) == (
        "knee: bottom edge cuts 1.2 % of body height above it"
    )
    assert flag_words(a_flag("wrist", -0.02, edge=Edge.LEFT)) == (
        "wrist: left edge cuts 2.0 % of body height below it"
    )
    assert flag_words(a_flag("headroom", -0.03, edge=Edge.TOP)) == "headroom: too little"


def test_the_measures_of_a_picture_in_words():
    words = measure_words(
        a_result(people=[{"crown": 0.1, "stature": 2.0, "yaw": -35.0}]).measurement
    )
    assert words[:3] == ["cut 0.55 hip (± 0.02)", "headroom 10 %", "eyes 23 % down"]
    assert words[-2:] == ["three-quarter, head 35° left", "standing"]
    assert measure_words(a_result(people=[]).measurement) == []
    cut = measure_words(a_result(people=[{"crown": -0.04}]).measurement)
    assert "crown 4 % over the edge" in cut


def test_characters_that_the_font_lacks_are_replaced():
    assert drawable_text("mid-thigh · 8 %") == "mid-thigh · 8 %"
    assert drawable_text("a → b") == "a > b"
    assert drawable_text("半身") == "??"
