"""Masks drawn by hand: the reading is the drawing, within one mask pixel."""

import numpy as np
import pytest

from framecheck.measure.silhouette import (
    head_top_y_px,
    mask_box,
    mask_scale_px,
    touches_edge,
    walk_out_px,
)
from framecheck.records.framing import Edge
from framecheck.records.seen import MaskSeen
from framecheck.records.values import Box
from tests.measure.figures import drawn_mask, the_picture

PICTURE = the_picture(400, 300)
BLOCK = Box(x_px=100, y_px=60, w_px=80, h_px=120)
HALF_PX = 0.5  # the mask's border lies between two pixels


def test_the_box_is_the_drawn_one() -> None:
    assert mask_box(drawn_mask(PICTURE, [BLOCK]), PICTURE) == BLOCK


def test_the_box_is_cut_at_the_active_picture() -> None:
    inner = Box(x_px=120, y_px=0, w_px=200, h_px=100)
    found = mask_box(drawn_mask(PICTURE, [BLOCK]), inner)
    assert found == Box(x_px=120, y_px=60, w_px=60, h_px=40)


def test_a_box_of_a_mask_elsewhere_keeps_its_place_and_scale() -> None:
    mask = MaskSeen(
        inside=np.pad(np.full((4, 4), 255, np.uint8), 2),
        box=Box(x_px=50, y_px=20, w_px=80, h_px=80),
    )
    assert mask_scale_px(mask) == 10.0
    assert mask_box(mask, PICTURE) == Box(x_px=70, y_px=40, w_px=40, h_px=40)


@pytest.mark.parametrize(
    "mask",
    [
        drawn_mask(PICTURE, []),
        drawn_mask(PICTURE, [Box(x_px=10, y_px=10, w_px=1, h_px=1)]),
        MaskSeen(inside=np.full((4, 4), 127, np.uint8), box=PICTURE),
        MaskSeen(inside=np.full((4, 4), 255, np.uint8), box=Box(x_px=900, y_px=0, w_px=9, h_px=9)),
    ],
    ids=["empty", "one stray pixel", "too faint", "outside the picture"],
)
def test_no_box_where_nobody_is(mask) -> None:
    assert mask_box(mask, PICTURE) is None


@pytest.mark.parametrize(
    ("direction", "expected_px"),
    [((0.0, -1.0), 60.0), ((0.0, 1.0), 60.0), ((-1.0, 0.0), 40.0), ((1.0, 0.0), 40.0)],
    ids=["up", "down", "left", "right"],
)
def test_walking_out_of_a_block(direction, expected_px) -> None:
    mask = drawn_mask(PICTURE, [BLOCK])
    assert walk_out_px(mask, (140.0, 120.0), direction, 200.0) == pytest.approx(
        expected_px, abs=HALF_PX
    )


def test_walking_out_of_a_soft_border_ends_where_it_is_half() -> None:
    column = np.array([0, 0, 64, 192, 255, 255, 255, 255, 255, 255], np.uint8)
    mask = MaskSeen(inside=np.tile(column[:, None], (1, 10)), box=the_picture(10, 10))
    # pixel middles 2.5 and 3.5 hold 64 and 192: 128 lies half way between them
    assert walk_out_px(mask, (5.0, 8.5), (0.0, -1.0), 20.0) == pytest.approx(5.5, abs=1e-6)


def test_a_walk_from_outside_is_nothing_and_a_long_one_is_bounded() -> None:
    mask = drawn_mask(PICTURE, [BLOCK])
    assert walk_out_px(mask, (20.0, 20.0), (0.0, -1.0), 50.0) == 0.0
    assert walk_out_px(mask, (140.0, 120.0), (0.0, -1.0), 30.0) == 30.0


def test_a_walk_ends_where_the_mask_does() -> None:
    mask = drawn_mask(PICTURE, [Box(x_px=100, y_px=0, w_px=80, h_px=120)])
    assert walk_out_px(mask, (140.0, 100.0), (0.0, -1.0), 500.0) == pytest.approx(100.0, abs=1.0)


def test_the_top_of_a_head_is_its_highest_row() -> None:
    mask = drawn_mask(PICTURE, [BLOCK])
    assert head_top_y_px(mask, (140.0, 120.0), 30.0, 200.0) == pytest.approx(60.0, abs=HALF_PX)


def test_a_stray_hair_does_not_raise_the_head() -> None:
    hair = Box(x_px=139, y_px=20, w_px=2, h_px=60)
    mask = drawn_mask(PICTURE, [BLOCK, hair])
    assert head_top_y_px(mask, (140.0, 120.0), 30.0, 200.0) == pytest.approx(60.0, abs=HALF_PX)


def test_a_raised_arm_beside_the_head_does_not_raise_it() -> None:
    arm = Box(x_px=185, y_px=5, w_px=25, h_px=200)
    mask = drawn_mask(PICTURE, [BLOCK, arm])
    assert head_top_y_px(mask, (140.0, 120.0), 30.0, 200.0) == pytest.approx(60.0, abs=HALF_PX)


def test_a_tall_hat_counts() -> None:
    hat = Box(x_px=115, y_px=25, w_px=50, h_px=60)
    mask = drawn_mask(PICTURE, [BLOCK, hat])
    assert head_top_y_px(mask, (140.0, 120.0), 30.0, 200.0) == pytest.approx(25.0, abs=HALF_PX)


def test_no_top_where_the_head_is_not_in_the_mask() -> None:
    assert head_top_y_px(drawn_mask(PICTURE, [BLOCK]), (320.0, 250.0), 20.0, 100.0) is None


@pytest.mark.parametrize(
    ("box", "edge", "stretch_px"),
    [
        (Box(x_px=0, y_px=100, w_px=60, h_px=80), Edge.LEFT, (100.0, 180.0)),
        (Box(x_px=350, y_px=100, w_px=50, h_px=80), Edge.RIGHT, (100.0, 180.0)),
        (Box(x_px=150, y_px=0, w_px=70, h_px=80), Edge.TOP, (150.0, 220.0)),
        (Box(x_px=150, y_px=200, w_px=70, h_px=100), Edge.BOTTOM, (150.0, 220.0)),
    ],
    ids=lambda value: value.value if isinstance(value, Edge) else "",
)
def test_a_cut_tells_the_stretch_of_the_edge(box, edge, stretch_px) -> None:
    mask = drawn_mask(PICTURE, [box])
    assert touches_edge(mask, PICTURE, edge) == pytest.approx(stretch_px)
    assert [e for e in Edge if touches_edge(mask, PICTURE, e) is not None] == [edge]


def test_near_an_edge_is_not_at_it() -> None:
    """12 px of air in 300: four in a hundred, seen by anybody."""
    assert touches_edge(drawn_mask(PICTURE, [BLOCK]), PICTURE, Edge.LEFT) is None
    near = Box(x_px=12, y_px=100, w_px=60, h_px=80)
    assert touches_edge(drawn_mask(PICTURE, [near]), PICTURE, Edge.LEFT) is None


def test_the_edge_is_the_active_pictures() -> None:
    """With black bars of 100 px at the sides, a block from x = 100 on is cut by the left edge."""
    active = Box(x_px=100, y_px=0, w_px=200, h_px=300)
    assert touches_edge(drawn_mask(PICTURE, [BLOCK]), active, Edge.LEFT) == pytest.approx(
        (60.0, 180.0)
    )
    assert touches_edge(drawn_mask(PICTURE, [BLOCK]), active, Edge.RIGHT) is None


def test_a_cutout_that_stops_short_of_an_edge_says_nothing_of_it() -> None:
    view = Box(x_px=90, y_px=50, w_px=100, h_px=150)
    full = MaskSeen(inside=np.full((150, 100), 255, np.uint8), box=view)
    assert all(touches_edge(full, PICTURE, edge) is None for edge in Edge)


def a_mask(*rows: str, values: tuple[int, int] = (0, 255), box: Box | None = None) -> MaskSeen:
    """A mask drawn with "#" for the person, one letter a cell of 10 px."""
    cells = np.array([[values[char == "#"] for char in row] for row in rows], np.uint8)
    size = Box(x_px=0, y_px=0, w_px=10 * cells.shape[1], h_px=10 * cells.shape[0])
    return MaskSeen(inside=cells, box=box or size)


def test_a_cell_counts_from_half_sure_on() -> None:
    rows = ("......", ".##...", ".##...", "......")
    picture = Box(x_px=0, y_px=0, w_px=60, h_px=40)
    assert mask_box(a_mask(*rows, values=(127, 128)), picture) == Box(
        x_px=10, y_px=10, w_px=20, h_px=20
    )
    assert mask_box(a_mask(*rows, values=(0, 127)), picture) is None


def test_a_row_or_column_needs_two_cells() -> None:
    picture = Box(x_px=0, y_px=0, w_px=60, h_px=60)
    rows = ("...#..", "..##..", "..##..", "......", "......", "......")
    assert mask_box(a_mask(*rows), picture) == Box(x_px=20, y_px=10, w_px=20, h_px=20)
    assert mask_box(a_mask("#.....", "......"), picture) is None
    assert mask_box(a_mask("##....", "......"), picture) is None


def test_what_lies_beside_the_picture_has_no_box() -> None:
    mask = a_mask("##..", "##..", "....", "....")
    for beside in (Box(x_px=20, y_px=0, w_px=20, h_px=40), Box(x_px=0, y_px=20, w_px=40, h_px=20)):
        assert mask_box(mask, beside) is None
    assert mask_box(mask, Box(x_px=19, y_px=0, w_px=20, h_px=40)) == Box(
        x_px=19, y_px=0, w_px=1, h_px=20
    )


@pytest.mark.parametrize("at", [(0.0, 0.0), (70.0, 30.0)])
def test_touches_are_told_in_pixels_of_the_file(at) -> None:
    """Twelve cells by ten, the person in the columns 2 to 4 from the top down to the bottom."""
    x, y = at
    rows = ["..###......."] * 10
    box = Box(x_px=x, y_px=y, w_px=120, h_px=100)
    mask = a_mask(*rows, box=box)
    assert touches_edge(mask, box, Edge.TOP) == (x + 20, x + 50)
    assert touches_edge(mask, box, Edge.BOTTOM) == (x + 20, x + 50)
    assert touches_edge(mask, box, Edge.LEFT) is None
    assert touches_edge(mask, box, Edge.RIGHT) is None
    inner = Box(x_px=x + 20, y_px=y, w_px=30, h_px=100)
    assert touches_edge(mask, inner, Edge.LEFT) == (y, y + 100)
    assert touches_edge(mask, inner, Edge.RIGHT) == (y, y + 100)


def test_a_wide_cell_and_a_high_one_reach_as_far() -> None:
    """Cells 40 px wide and 10 high: one of them is enough at the sides, two at top and bottom."""
    rows = ["....", *["####"] * 18, "...."]
    box = Box(x_px=0, y_px=0, w_px=160, h_px=200)
    touching = a_mask(*rows, box=box)
    assert touches_edge(touching, box, Edge.LEFT) == (10.0, 190.0)
    assert touches_edge(touching, box, Edge.TOP) is None


def test_too_few_columns_make_no_head() -> None:
    """A band of 25 columns, 4 px apart: those that start inside the person count."""
    for width, found in ((14.0, None), (20.0, 100.0)):
        mask = drawn_mask(PICTURE, [Box(x_px=200 - width / 2, y_px=100, w_px=width, h_px=60)])
        top = head_top_y_px(mask, (200.0, 130.0), 48.0, 200.0)
        if found is None:
            assert top is None
        else:
            assert top == pytest.approx(found, abs=HALF_PX)
