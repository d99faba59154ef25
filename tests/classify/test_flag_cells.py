"""The parts in a flags cell, read back."""

import pytest

from framecheck.classify.flag_cells import flagged_parts


@pytest.mark.parametrize(
    ("cell", "parts"),
    [
        ("", ()),
        ("knee(bottom,+0.012,high)", ("knee",)),
        ("knee(bottom,+0.012,high); p1:chin(bottom,-0.010,low)", ("knee", "chin")),
        ("mid-calf(bottom,-0.01,medium);p12:mid-calf(bottom,0,low)", ("mid-calf",)),
        ("looking room; headroom", ("looking room", "headroom")),
        (" ankle ", ("ankle",)),
        ("ankle (left,0,low);", ("ankle",)),
        ("knee(bottom", ()),
        ("KNEE; knee", ("KNEE", "knee")),
    ],
)
def test_parts_are_told_each_once_in_their_order(cell, parts) -> None:
    assert flagged_parts(cell) == parts
