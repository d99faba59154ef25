"""Labels find room: inside, clear of each other, near their anchor, off the faces."""

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framecheck.records.values import Box
from framecheck.report.placement import (
    Avoid,
    LabelWish,
    overlap_px2,
    place_labels,
    stack_heights,
)

BOUNDS = Box(x_px=0, y_px=0, w_px=400, h_px=300)


def a_wish(x, y, *, needed=True, towards=(1.0, 0.0), size=(60, 16)):
    return LabelWish(anchor=(x, y), size=size, towards=towards, needed=needed, gap_px=6)


def test_a_lone_label_stands_beside_its_anchor_on_the_wished_side():
    (box,) = place_labels([a_wish(200, 150)], BOUNDS, [])
    assert (box.x_px, box.centre_px[1]) == (206, 150)
    (box,) = place_labels([a_wish(200, 150, towards=(-1.0, 0.0))], BOUNDS, [])
    assert (box.right_px, box.centre_px[1]) == (194, 150)


def test_a_label_at_the_rim_stays_inside():
    (box,) = place_labels([a_wish(399, 2)], BOUNDS, [])
    assert box.right_px <= 400
    assert box.y_px >= 0


def test_a_face_is_avoided():
    face = Box(x_px=200, y_px=100, w_px=80, h_px=100)
    (box,) = place_labels([a_wish(200, 150)], BOUNDS, [Avoid(box=face, cost=14.0)])
    assert overlap_px2(box, face) == 0


def test_a_taken_place_is_never_covered():
    taken = Box(x_px=204, y_px=130, w_px=80, h_px=40)
    (box,) = place_labels([a_wish(200, 150)], BOUNDS, [], [taken])
    assert overlap_px2(box, taken) == 0


def test_a_label_that_is_not_needed_is_left_out_when_there_is_no_room():
    full = [Box(x_px=0, y_px=0, w_px=400, h_px=300)]
    assert place_labels([a_wish(200, 150, needed=False)], BOUNDS, [], full) == (None,)


def test_a_needed_label_goes_far_rather_than_missing():
    taken = [Box(x_px=0, y_px=0, w_px=400, h_px=280)]
    small = Box(x_px=0, y_px=0, w_px=400, h_px=300)
    (box,) = place_labels([a_wish(200, 20)], small, [], taken)
    assert box.y_px >= 280


def test_a_label_larger_than_the_picture_is_left_out():
    assert place_labels([a_wish(10, 10, size=(900, 16))], BOUNDS, []) == (None,)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(-50, 450), st.floats(-50, 350), st.booleans()), min_size=1, max_size=12
    )
)
def test_labels_never_overlap_and_never_leave(anchors):
    wishes = [a_wish(x, y, needed=needed) for x, y, needed in anchors]
    boxes = [box for box in place_labels(wishes, BOUNDS, []) if box is not None]
    assert all(overlap_px2(a, b) == 0 for a, b in itertools.combinations(boxes, 2))
    for box in boxes:
        assert box.x_px >= 0
        assert box.y_px >= 0
        assert box.right_px <= 400 + 1e-6
        assert box.bottom_px <= 300 + 1e-6


@pytest.mark.parametrize(
    ("wanted", "tops"),
    [
        ([10, 50], [10, 50]),
        ([10, 12, 14], [10, 30, 50]),
        ([70, 72, 74], [40, 60, 80]),
        ([-30, 10], [0, 20]),
    ],
    ids=["free", "pushed down", "pushed up from the bottom", "kept under the top"],
)
def test_a_stack_keeps_its_order_and_its_room(wanted, tops):
    assert stack_heights(wanted, 20, (0, 100)) == tops
