"""Lengths and reaches of the search, counted out by hand."""

from fractions import Fraction

from framecheck.shots.boundary_settings import CutSettings, DissolveSettings


def test_a_cut_is_judged_by_a_quarter_of_a_second_and_four_frames_at_least() -> None:
    assert CutSettings().around_frames(Fraction(48)) == 12
    assert CutSettings().around_frames(Fraction(10)) == 4


def test_dissolve_lengths_grow_from_the_shortest_to_the_longest() -> None:
    # 0.2 s and 1 s of 25 frames a second; each a quarter longer than the last, one frame at least.
    lengths = DissolveSettings(length_s=(0.2, 1.0)).lengths(Fraction(25))
    assert lengths == (5, 6, 8, 10, 12, 15, 19, 24, 25)
