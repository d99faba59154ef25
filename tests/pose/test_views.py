"""Cut-outs: what they show, how large they are, and the way back to the file's pixels."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framecheck.pose.views import cut_view, shrink_view
from framecheck.records.values import Box

HEIGHT, WIDTH = 60, 80
WHOLE = Box(x_px=0, y_px=0, w_px=WIDTH, h_px=HEIGHT)


def a_map() -> np.ndarray:
    """Every pixel carries its own place: red is x, green is y."""
    rgb = np.zeros((HEIGHT, WIDTH, 3), np.uint8)
    rgb[:, :, 0] = np.arange(WIDTH)
    rgb[:, :, 1] = np.arange(HEIGHT)[:, None]
    return rgb


def test_the_whole_picture_is_itself() -> None:
    view = cut_view(a_map(), WHOLE, WHOLE, 500)
    assert np.array_equal(view.rgb, a_map())
    assert view.box == WHOLE


def test_a_cutout_shows_its_part_at_full_size() -> None:
    view = cut_view(a_map(), WHOLE, Box(x_px=10, y_px=20, w_px=30, h_px=25), 500)
    assert view.rgb.shape == (25, 30, 3)
    assert tuple(view.rgb[0, 0, :2]) == (10, 20)
    assert tuple(view.rgb[-1, -1, :2]) == (39, 44)


def test_fractions_of_pixels_are_widened_to_whole_ones_and_told() -> None:
    view = cut_view(a_map(), WHOLE, Box(x_px=10.6, y_px=20.2, w_px=29.0, h_px=24.0), 500)
    assert view.box == Box(x_px=10, y_px=20, w_px=30, h_px=25)


def test_beyond_the_picture_the_border_is_repeated() -> None:
    view = cut_view(a_map(), WHOLE, Box(x_px=-5, y_px=-4, w_px=20, h_px=20), 500)
    assert view.rgb.shape == (20, 20, 3)
    assert tuple(view.rgb[0, 0, :2]) == (0, 0)
    assert tuple(view.rgb[4, 5, :2]) == (0, 0)
    assert tuple(view.rgb[-1, -1, :2]) == (14, 15)


def test_nothing_outside_the_active_picture_is_shown() -> None:
    """With bars of 10 px at the sides, the bar is replaced by the picture's own border."""
    active = Box(x_px=10, y_px=0, w_px=60, h_px=HEIGHT)
    view = cut_view(a_map(), active, WHOLE, 500)
    assert view.rgb.shape == (HEIGHT, WIDTH, 3)
    assert set(np.unique(view.rgb[:, :11, 0])) == {10}
    assert set(np.unique(view.rgb[:, 69:, 0])) == {69}


@pytest.mark.parametrize(("longest_px", "shape"), [(40, (30, 40, 3)), (20, (15, 20, 3))])
def test_large_cutouts_are_shrunk_to_the_bound(longest_px, shape) -> None:
    view = cut_view(a_map(), WHOLE, WHOLE, longest_px)
    assert view.rgb.shape == shape
    assert view.box == WHOLE


def test_small_cutouts_are_never_enlarged() -> None:
    assert cut_view(a_map(), WHOLE, Box(x_px=0, y_px=0, w_px=8, h_px=6), 500).rgb.shape == (6, 8, 3)


def test_the_bound_counts_the_border_too() -> None:
    box = Box(x_px=-40, y_px=-30, w_px=160, h_px=120)
    view = cut_view(a_map(), WHOLE, box, 80)
    assert max(view.rgb.shape[:2]) == pytest.approx(80, abs=1)


def test_the_way_back() -> None:
    view = cut_view(a_map(), WHOLE, Box(x_px=10, y_px=20, w_px=40, h_px=30), 20)
    back = view.to_file_px(np.array([[0.0, 0.0], [1.0, 1.0], [0.5, 0.5], [1.5, -0.5]]))
    assert back.tolist() == [[10, 20], [50, 50], [30, 35], [70, 5]]


@pytest.mark.parametrize(
    ("box", "pixel"),
    [
        (Box(x_px=10, y_px=-30, w_px=12, h_px=12), (10, 0)),
        (Box(x_px=-40, y_px=10, w_px=12, h_px=12), (0, 10)),
        (Box(x_px=200, y_px=300, w_px=12, h_px=12), (79, 59)),
    ],
    ids=["above", "to the left", "below and to the right"],
)
def test_wholly_outside_the_nearest_border_is_repeated(box, pixel) -> None:
    view = cut_view(a_map(), WHOLE, box, 500)
    assert view.rgb.shape == (12, 12, 3)
    assert view.box == box
    assert tuple(view.rgb[0, 0, :2]) == pixel


@settings(max_examples=40, deadline=None)
@given(
    st.floats(-30, 60), st.floats(-30, 40), st.floats(12, 90), st.floats(12, 90),
    st.integers(16, 200),
)  # fmt: skip
def test_a_pixel_finds_its_way_back(x_px, y_px, w_px, h_px, longest_px) -> None:
    """Whatever the cut, the pixel shown at a place of the view is the one the way back names."""
    box = Box(x_px=x_px, y_px=y_px, w_px=w_px, h_px=h_px)
    view = cut_view(a_map(), WHOLE, box, longest_px)
    rows, columns = view.rgb.shape[:2]
    i, j = rows // 2, columns // 2
    (back,) = view.to_file_px(np.array([[(j + 0.5) / columns, (i + 0.5) / rows]]))
    step_px = max(view.box.w_px / columns, view.box.h_px / rows)
    shown = view.rgb[i, j, :2].astype(float)
    expected = np.clip(back - 0.5, 0, [WIDTH - 1, HEIGHT - 1])
    assert shown == pytest.approx(expected, abs=1.0 + step_px)


def test_the_picture_is_not_touched() -> None:
    rgb = a_map()
    view = cut_view(rgb, WHOLE, Box(x_px=-5, y_px=0, w_px=30, h_px=30), 500)
    view.rgb[:] = 255
    assert np.array_equal(rgb, a_map())


def test_four_times_too_large_is_the_mean_of_sixteen_pixels() -> None:
    rng = np.random.default_rng(3)
    rgb = rng.integers(0, 256, (HEIGHT, WIDTH, 3), dtype=np.uint8)
    means = rgb.reshape(HEIGHT // 4, 4, WIDTH // 4, 4, 3).mean(axis=(1, 3))
    assert cut_view(rgb, WHOLE, WHOLE, WIDTH // 4).rgb == pytest.approx(means, abs=1.0)


@pytest.mark.parametrize("longest_px", [13, 21, 39])
def test_what_is_too_fine_to_show_is_grey(longest_px) -> None:
    """A chequered picture has no pattern left when its pixels are taken together."""
    rgb = np.zeros((HEIGHT, WIDTH, 3), np.uint8)
    rgb[::2, ::2] = rgb[1::2, 1::2] = 200
    view = cut_view(rgb, WHOLE, WHOLE, longest_px)
    assert np.ptp(view.rgb) <= 2


def test_a_cutout_is_widened_to_whole_cells_and_told() -> None:
    """41 x 25 px, more than four times too large: eleven by seven cells of four pixels."""
    view = cut_view(a_map(), WHOLE, Box(x_px=20, y_px=10, w_px=41, h_px=25), 10)
    assert view.box == Box(x_px=20, y_px=10, w_px=44, h_px=28)
    assert view.rgb.shape == (6, 10, 3)


def test_a_smaller_view_shows_the_same() -> None:
    view = cut_view(a_map(), WHOLE, Box(x_px=10, y_px=20, w_px=41, h_px=31), 500)
    small = shrink_view(view, 20)
    assert small.box == Box(x_px=10, y_px=20, w_px=42, h_px=32)
    assert tuple(small.rgb[0, 0, :2]) == pytest.approx((10.5, 20.5), abs=1)
    assert np.array_equal(shrink_view(view, 41).rgb, view.rgb)
