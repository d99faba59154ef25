"""What holds for every outline and head: mirrored, moved, scaled, and by counting cells."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from framecheck.geometry.ruler import MARK_LEVELS, ruler_length_px
from framecheck.measure.cuttable import is_inside
from framecheck.measure.posture import FACING_LIMITS_DEG, judge_facing
from framecheck.measure.ruler_fit import ruler_from_points
from framecheck.measure.silhouette import (
    find_touches,
    head_top_y_px,
    mask_box,
    walk_out_px,
)
from framecheck.measure.turn import measure_body_yaw
from framecheck.records.framing import Edge, Facing
from framecheck.records.seen import MaskSeen, PersonSeen
from framecheck.records.values import Box, NotMeasured
from tests.measure.figures import a_body, the_picture
from tests.steady import FEW, STEADY

YAWS = st.integers(-179, 179).map(float)
NAMES = (Facing.TO_LENS, Facing.THREE_QUARTER, Facing.PROFILE, Facing.AWAY)
OTHER = {Edge.LEFT: Edge.RIGHT, Edge.RIGHT: Edge.LEFT, Edge.TOP: Edge.TOP,
         Edge.BOTTOM: Edge.BOTTOM}  # fmt: skip
PICTURE = Box(x_px=0, y_px=0, w_px=64, h_px=48)


@STEADY
@given(YAWS)
def test_facing_counts_the_limits_that_are_passed(yaw) -> None:
    passed = sum(abs(yaw) > limit for limit in FACING_LIMITS_DEG)
    assert judge_facing(yaw) is NAMES[passed]
    assert judge_facing(-yaw) is judge_facing(yaw)


@pytest.mark.parametrize("limit", FACING_LIMITS_DEG)
def test_a_limit_belongs_to_the_nearer_side(limit) -> None:
    place = FACING_LIMITS_DEG.index(limit)
    assert judge_facing(limit) is NAMES[place]
    assert judge_facing(-limit) is NAMES[place]
    assert judge_facing(limit + 1e-9) is NAMES[place + 1]


@STEADY
@given(YAWS)
def test_a_turned_body_reads_its_turn(yaw) -> None:
    body = a_body(yaw_deg=yaw)
    found = measure_body_yaw(PersonSeen(body=body), the_picture())
    assert abs((found - yaw + 180) % 360 - 180) < 1e-6


@STEADY
@given(st.integers(-20, 90), st.integers(-20, 70))
def test_inside_is_what_a_pixel_of_the_picture_is(x, y) -> None:
    assert is_inside((x, y), PICTURE) == (x in range(64) and y in range(48))


@st.composite
def masks(draw) -> MaskSeen:
    """Some boxes of the person's pixels, a cell of the mask to a pixel of the picture."""
    inside = np.zeros((48, 64), np.uint8)
    for _ in range(draw(st.integers(0, 3))):
        x, y = draw(st.integers(0, 60)), draw(st.integers(0, 44))
        w, h = draw(st.integers(1, 64)), draw(st.integers(1, 48))
        inside[y : y + h, x : x + w] = 255
    return MaskSeen(inside=inside, box=PICTURE)


@STEADY
@given(masks())
def test_the_box_of_a_mask_holds_what_was_counted(mask) -> None:
    cells = mask.inside >= 128
    rows = [n for n in range(48) if cells[n].sum() >= 2]
    columns = [n for n in range(64) if cells[:, n].sum() >= 2]
    found = mask_box(mask, PICTURE)
    if not rows or not columns:
        assert found is None
        return
    assert found == Box(
        x_px=columns[0], y_px=rows[0], w_px=columns[-1] + 1 - columns[0],
        h_px=rows[-1] + 1 - rows[0],
    )  # fmt: skip


@STEADY
@given(masks(), st.sampled_from([0.5, 2.0, 4.0]), st.integers(-90, 90), st.integers(-90, 90))
def test_a_mask_read_larger_and_elsewhere(mask, scale, dx, dy) -> None:
    there = Box(x_px=dx, y_px=dy, w_px=64 * scale, h_px=48 * scale)
    other = MaskSeen(inside=mask.inside, box=there)
    one, two = mask_box(mask, PICTURE), mask_box(other, there)
    assert (one is None) == (two is None)
    if one is not None and two is not None:
        assert (two.x_px - dx, two.y_px - dy, two.w_px, two.h_px) == pytest.approx(
            tuple(scale * v for v in (one.x_px, one.y_px, one.w_px, one.h_px))
        )
    here, moved = find_touches(mask, PICTURE), find_touches(other, there)
    assert set(here) == set(moved)


@STEADY
@given(masks())
def test_a_mirrored_mask_touches_the_other_sides(mask) -> None:
    image = MaskSeen(inside=mask.inside[:, ::-1], box=PICTURE)
    here, there = find_touches(mask, PICTURE), find_touches(image, PICTURE)
    assert {OTHER[edge] for edge in here} == set(there)
    for edge, (low, high) in here.items():
        flat = edge in (Edge.TOP, Edge.BOTTOM)
        assert there[OTHER[edge]] == ((64 - high, 64 - low) if flat else (low, high))


@STEADY
@given(st.integers(2, 40), st.integers(2, 30), st.integers(4, 20), st.integers(4, 16))
def test_a_walk_ends_where_the_person_does(x, y, w, h) -> None:
    """From the middle of a box, in each of the four directions, to within half a cell."""
    assume(x + w <= 62)
    assume(y + h <= 46)
    inside = np.zeros((48, 64), np.uint8)
    inside[y : y + h, x : x + w] = 255
    mask = MaskSeen(inside=inside, box=PICTURE)
    middle = (x + w / 2, y + h / 2)
    for direction, length in (((0.0, -1.0), h), ((0.0, 1.0), h), ((-1.0, 0.0), w), ((1.0, 0.0), w)):
        found = walk_out_px(mask, middle, direction, 100.0)
        assert found == pytest.approx(length / 2, abs=0.5)
        assert walk_out_px(mask, middle, direction, 1.0) == 1.0
    assert walk_out_px(mask, (x - 2.0, y - 2.0), (0.0, 1.0), 100.0) == 0.0
    assert head_top_y_px(mask, middle, w / 2 - 1, 100.0) == pytest.approx(y, abs=0.5)
    assert head_top_y_px(mask, (x + w + 3.0, middle[1]), 0.5, 100.0) is None


@FEW
@given(st.lists(st.tuples(*[st.integers(-500, 500).map(float)] * 2), min_size=8, max_size=8))
def test_a_ruler_keeps_its_points_and_is_as_long_as_they_are_apart(points) -> None:
    named = dict(zip(MARK_LEVELS, points, strict=True))
    seen = {name: n % 2 == 0 for n, name in enumerate(MARK_LEVELS)}
    ruler = ruler_from_points(named, seen, 0.02)
    assert [(mark.x_px, mark.y_px) for mark in ruler.marks] == points
    assert [mark.level for mark in ruler.marks] == list(MARK_LEVELS.values())
    assert {mark.name: mark.seen for mark in ruler.marks} == seen
    assert ruler.figure_px == max(ruler_length_px(points), 1e-6)
    assert ruler.error_level == 0.02


def test_no_body_and_no_shoulders_have_no_turn() -> None:
    outline = PersonSeen(outline=a_body().mask)
    assert isinstance(measure_body_yaw(outline, the_picture()), NotMeasured)
    away = Box(x_px=5000, y_px=5000, w_px=10, h_px=10)
    assert isinstance(measure_body_yaw(PersonSeen(body=a_body()), away), NotMeasured)
