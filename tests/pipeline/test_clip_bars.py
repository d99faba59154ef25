"""The black bars of a clip: one picture for all its frames, whatever single shots look like."""

from fractions import Fraction

import numpy as np
import pytest

from framecheck.media.bars import find_active_picture
from framecheck.pipeline.clip_bars import OTHER_NOTE, ClipBars, is_lit, shows_outside, vote
from framecheck.records.clips import SampledFrame, ShotSpan, ShotTake, Transition
from framecheck.records.picture import Picture
from framecheck.records.values import Box

WHOLE = Box(x_px=0, y_px=0, w_px=320, h_px=180)
WIDE = Box(x_px=0, y_px=23, w_px=320, h_px=134)  # 2.39 : 1


def a_frame(seed, *, bar=0, light=140):
    """A lively picture with bars above and below."""
    rng = np.random.default_rng(seed)
    rgb = np.full((180, 320, 3), 16, dtype=np.uint8)
    inner = rng.integers(light // 2, light + 1, size=(180 - 2 * bar, 320, 3))
    rgb[bar : 180 - bar] = inner
    return rgb


def a_take(shot, *frames):
    samples = tuple(
        SampledFrame(
            frame=24 * shot + n, time_s=Fraction(24 * shot + n, 24),
            picture=Picture(rgb=rgb, active=WHOLE),
        )
        for n, rgb in enumerate(frames)
    )  # fmt: skip
    span = ShotSpan(
        shot=shot, start_frame=24 * shot, end_frame=24 * shot + 24, start_s=Fraction(shot),
        end_s=Fraction(shot + 1), transition=Transition.CUT, clean_from_frame=24 * shot,
        clean_to_frame=24 * shot + 24,
    )  # fmt: skip
    return ShotTake(span=span, samples=samples)


def lively(shot, **options):
    return a_take(shot, *(a_frame(10 * shot + n, **options) for n in range(3)))


def dark(shot):
    return a_take(shot, *(np.full((180, 320, 3), 17, dtype=np.uint8) for _ in range(3)))


def boxes_of(takes):
    return [{sample.picture.active for sample in take.samples} for take in takes]


def run(*takes):
    bars = ClipBars(find_active_picture)
    return [[*bars.push(take)] for take in takes], bars.finish()


def test_shots_are_held_until_two_have_told_the_bars():
    pushed, left = run(lively(0, bar=23), lively(1, bar=23), lively(2, bar=23))
    assert [len(takes) for takes in pushed] == [0, 2, 1]
    assert left == []
    assert [take.span.shot for takes in pushed for take in takes] == [0, 1, 2]
    assert boxes_of([take for takes in pushed for take in takes]) == [{WIDE}] * 3


def test_a_clip_of_one_shot_gives_it_at_the_end():
    pushed, left = run(lively(0, bar=23))
    assert pushed == [[]]
    assert boxes_of(left) == [{WIDE}]


def test_a_clip_without_bars_stays_whole():
    take = lively(0)
    _, left = run(take)
    assert left == [take]


def test_dark_shots_tell_nothing_and_no_more_than_three_are_held():
    pushed, left = run(dark(0), lively(1, bar=23), lively(2, bar=23))
    assert [len(takes) for takes in pushed] == [0, 0, 3]
    assert boxes_of(pushed[2]) == [{WIDE}] * 3
    pushed, left = run(dark(0), dark(1), dark(2), lively(3, bar=23))
    assert boxes_of(pushed[2]) == [{WHOLE}] * 3
    assert boxes_of(pushed[3]) == [{WHOLE}]
    assert left == []


def test_a_shot_that_fills_the_bars_has_its_own_picture_and_says_so():
    pushed, _ = run(lively(0, bar=23), lively(1, bar=23), lively(2), lively(3, bar=23))
    assert boxes_of(pushed[2]) == [{WHOLE}]
    assert {sample.picture.notes for sample in pushed[2][0].samples} == {(OTHER_NOTE,)}
    assert boxes_of(pushed[3]) == [{WIDE}]
    assert {sample.picture.notes for sample in pushed[3][0].samples} == {()}


def test_words_in_a_bar_do_not_make_it_a_picture():
    frames = [a_frame(n, bar=23) for n in range(3)]
    for rgb in frames:
        rgb[163:173, 100:220:2] = 235  # a line of text
        assert not shows_outside(rgb, WIDE)
    pushed, _ = run(lively(0, bar=23), lively(1, bar=23), a_take(2, *frames))
    assert boxes_of(pushed[2]) == [{WIDE}]


@pytest.mark.parametrize("side", ["top", "bottom", "left", "right"])
def test_a_picture_in_any_bar_is_seen(side):
    box = Box(x_px=40, y_px=30, w_px=240, h_px=120)
    rgb = np.full((180, 320, 3), 16, dtype=np.uint8)
    part = {
        "top": np.s_[:28], "bottom": np.s_[152:], "left": np.s_[:, :38], "right": np.s_[:, 282:],
    }[side]  # fmt: skip
    assert not shows_outside(rgb, box)
    rgb[part] = 120
    assert shows_outside(rgb, box)


def test_the_vote_goes_to_most_and_of_equals_to_the_larger():
    near = Box(x_px=0, y_px=22, w_px=320, h_px=136)
    assert vote([]) is None
    assert vote([WHOLE, WIDE, WIDE]) == WIDE
    assert vote([WHOLE, WIDE]) == WHOLE
    assert vote([WHOLE, WIDE, near]) == near  # alike; nothing of the picture is cut


def test_a_frame_is_lit_by_more_than_a_few_lamps():
    rgb = np.full((180, 320, 3), 17, dtype=np.uint8)
    assert not is_lit(rgb)
    rgb[:16, :16] = 255
    assert not is_lit(rgb)
    rgb[:90] = 80
    assert is_lit(rgb)
