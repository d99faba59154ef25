"""Boundaries in drawn sequences whose cuts, dissolves, fades and flashes are known."""

from fractions import Fraction

import cv2
import numpy as np
import pytest

from framecheck.records.clips import Boundary, Transition
from framecheck.shots.finder import BoundaryFinder

RATES = [Fraction(24000, 1001), Fraction(25), Fraction(30), Fraction(50), Fraction(60000, 1001)]


def a_scene(seed: int, level: float = 110.0) -> np.ndarray:
    """A picture of soft blobs with colours, larger than a frame so that it can be panned over."""
    rng = np.random.default_rng(seed)
    noise = rng.normal(size=(160, 260, 3)).astype(np.float32)
    soft = cv2.GaussianBlur(noise, (0, 0), 4) * 6 + cv2.GaussianBlur(noise, (0, 0), 1.2) * 1.5
    return np.clip(level + 22 * soft * (1, 0.5, 0.5) + (0, 128 - level, 128 - level), 0, 255)


def shot(
    seed: int, frames: int, *, pan_px: float = 0.0, jitter_px: float = 0.4
) -> list[np.ndarray]:
    """Frames of one scene: a pan, or a hand that is not quite still, and a little grain."""
    scene, rng = a_scene(seed), np.random.default_rng([seed, 1])
    out = []
    for i in range(frames):
        x, y = 20 + pan_px * i + rng.normal() * jitter_px, 40 + rng.normal() * jitter_px
        place = np.array([[1, 0, -x], [0, 1, -y]], dtype=np.float32)
        moved = cv2.warpAffine(scene, place, (128, 72), borderMode=cv2.BORDER_REFLECT)
        out.append(moved + rng.normal(size=moved.shape) * 1.2)
    return out


def mixed(first: list[np.ndarray], second: list[np.ndarray]) -> list[np.ndarray]:
    shares = [(i + 1) / (len(first) + 1) for i in range(len(first))]
    return [a * (1 - w) + b * w for a, b, w in zip(first, second, shares, strict=True)]


def black(frames: int) -> list[np.ndarray]:
    return [np.full((72, 128, 3), (0.0, 128.0, 128.0)) for _ in range(frames)]


def find(frames: list[np.ndarray], rate: Fraction = Fraction(25)) -> list[Boundary]:
    finder = BoundaryFinder(rate)
    found = []
    for index, frame in enumerate(frames):
        for boundary in finder.push(index, np.clip(frame, 0, 255).astype(np.uint8)):
            assert index - boundary.to_frame <= finder.lag_frames + 1
            found.append(boundary)
    return found + finder.finish()


@pytest.mark.parametrize("rate", RATES)
def test_cuts_are_found_to_the_frame_at_every_rate(rate) -> None:
    second = round(rate)
    found = find(shot(1, second) + shot(2, second) + shot(3, second // 2) + shot(4, second), rate)
    assert [b.frame for b in found] == [second, 2 * second, 2 * second + second // 2]
    assert {b.transition for b in found} == {Transition.CUT}
    assert all(b.from_frame == b.to_frame == b.frame for b in found)


@pytest.mark.parametrize("length", [10, 16, 24, 40, 60])
def test_a_dissolve_is_found_with_its_span(length) -> None:
    first, second = shot(5, 50 + length, jitter_px=0.1), shot(6, length + 50, jitter_px=0.1)
    frames = first[:50] + mixed(first[50:], second[:length]) + second[length:]
    (found,) = find(frames)
    assert found.transition is Transition.DISSOLVE
    assert found.frame == pytest.approx(50 + length / 2, abs=2 + length / 6)
    assert 50 - length / 3 <= found.from_frame <= 50 + length / 3
    assert 50 + 2 * length / 3 <= found.to_frame <= 50 + 4 * length / 3


def test_a_fade_through_black_is_one_boundary_at_the_first_sight_of_the_new_shot() -> None:
    first, second = shot(7, 70), shot(8, 80)
    fall, rise = mixed(first[50:], black(20)), mixed(black(20), second[:20])
    (found,) = find(first[:50] + fall + black(10) + rise + second[20:])
    assert found.transition is Transition.FADE
    # In the first quarter of the rise there is less contrast than the settings call a picture.
    assert 80 <= found.frame <= 85
    assert found.from_frame == pytest.approx(50, abs=4)
    assert found.to_frame == pytest.approx(100, abs=4)


def test_a_black_leader_ends_with_a_cut() -> None:
    (found,) = find(black(30) + shot(9, 60))
    assert (found.frame, found.transition) == (30, Transition.CUT)


def test_a_flash_is_no_boundary() -> None:
    frames = shot(10, 100)
    for i in (40, 41, 42):
        frames[i] = frames[i] * 0.1 + np.array([240.0, 116.0, 116.0])
    assert find(frames) == []


@pytest.mark.parametrize("pan_px", [0.0, 1.0, 3.0, -2.0])
def test_a_pan_is_no_boundary(pan_px) -> None:
    assert find(shot(11, 60, pan_px=pan_px)) == []


def test_a_change_of_light_is_no_boundary() -> None:
    frames = shot(12, 100)
    for i in range(100):
        frames[i][..., 0] *= 0.5 + 0.5 * min(1.0, max(0.0, (i - 40) / 15))
    assert find(frames) == []


@pytest.mark.parametrize("first_field", [0, 1])
def test_a_cut_between_two_fields_is_found_at_the_woven_frame(first_field) -> None:
    # Film on interlaced video: one frame has a field of either shot. Shrunk over an even number of
    # lines, that is the mean of the two.
    old, new = shot(16, 41), shot(17, 40)
    tall = [np.repeat(frame, 4, axis=0) for frame in (old[40], new[0])]
    woven = tall[0].copy()
    woven[first_field::2] = tall[1][first_field::2]
    shrunk = woven.reshape(72, 4, 128, 3).mean(axis=1)
    (found,) = find([*old[:40], shrunk, *new])
    assert (found.frame, found.transition) == (40, Transition.CUT)


@pytest.mark.parametrize("times", [2, 3])
def test_repeated_frames_hide_no_cut_and_make_none(times) -> None:
    panned = shot(18, 30, pan_px=1.5) + shot(19, 30, pan_px=-1.5)
    found = find([frame for frame in panned for _ in range(times)])
    assert [b.frame for b in found] == [30 * times]


def test_a_pulldown_of_whole_frames_leaves_each_cut_where_it_is() -> None:
    frames = shot(20, 40, pan_px=1.0) + shot(21, 40)
    order = [k for k in range(80) for _ in range(2 if k % 4 == 3 else 1)]
    found = find([frames[k] for k in order], Fraction(30))
    assert [b.frame for b in found] == [order.index(40)]


@pytest.mark.parametrize("gain", [0.45, 0.7])
def test_a_lamp_switched_on_or_off_is_no_boundary(gain) -> None:
    frames = shot(22, 100)
    for i in range(30, 70):
        frames[i][..., 0] *= gain
    assert find(frames) == []


def test_a_cut_into_a_fast_pan_is_found() -> None:
    (found,) = find(shot(23, 40, jitter_px=0.1) + shot(24, 25, pan_px=2.0))
    assert (found.frame, found.transition) == (40, Transition.CUT)


def test_a_fast_pan_that_stops_at_once_is_no_boundary() -> None:
    scene = shot(25, 24, pan_px=4.0)
    assert find(scene + [scene[-1]] * 30) == []


def test_what_came_before_does_not_change_what_is_found() -> None:
    tail = shot(13, 60) + shot(14, 60)
    alone = [b.frame for b in find(tail)]
    after = [b.frame - 300 for b in find(shot(15, 300) + tail) if b.frame > 300]
    assert alone == after == [60]


def test_a_left_out_frame_is_refused() -> None:
    finder = BoundaryFinder(Fraction(25))
    finder.push(0, np.zeros((72, 128, 3), np.uint8))
    with pytest.raises(ValueError, match="frame 1 is next, got 2"):
        finder.push(2, np.zeros((72, 128, 3), np.uint8))


def test_no_frames_give_no_boundaries() -> None:
    assert BoundaryFinder(Fraction(25)).finish() == []
