"""What the pose stage hands on: checked shapes, read-only copies."""

import numpy as np
import pytest

from framecheck.records.framing import BodyRuler, RulerMark
from framecheck.records.picture import Picture
from framecheck.records.seen import JOINT_INDEX, JOINTS, BodySeen, FaceSeen, MaskSeen, PersonSeen
from framecheck.records.values import Box

BOX = Box(x_px=0, y_px=0, w_px=10, h_px=10)
MASK = MaskSeen(inside=np.zeros((4, 4), np.uint8), box=BOX)


def a_body(**changed: object) -> BodySeen:
    parts: dict[str, object] = {
        "joints_px": np.zeros((33, 2)), "joints_m": np.zeros((33, 3)), "presence": np.zeros(33),
        "mask": MASK, "score": 1.0, "found_by": "a test",
    }  # fmt: skip
    return BodySeen(**{**parts, **changed})  # type: ignore[arg-type]


def test_joints_are_33_and_each_named_once() -> None:
    assert len(JOINTS) == len(set(JOINTS)) == len(JOINT_INDEX) == 33


def test_every_left_has_its_right() -> None:
    lefts = {name.replace("left", "") for name in JOINTS if "left" in name}
    assert lefts == {name.replace("right", "") for name in JOINTS if "right" in name}


@pytest.mark.parametrize(
    ("name", "shape"), [("joints_px", (33, 3)), ("joints_m", (33, 2)), ("presence", (32,))]
)
def test_wrong_shapes_are_refused_with_both_shapes_named(name, shape) -> None:
    with pytest.raises(ValueError, match=rf"{name} needs shape .* got \({shape[0]}"):
        a_body(**{name: np.zeros(shape)})


def test_arrays_are_copied_and_locked() -> None:
    joints = np.zeros((33, 2))
    body = a_body(joints_px=joints)
    joints[0] = 7.0
    assert body.joints_px[0, 0] == 0.0
    with pytest.raises(ValueError, match="read-only"):
        body.joints_px[0] = 1.0


def test_a_mask_is_flat() -> None:
    with pytest.raises(ValueError, match="2 axes"):
        MaskSeen(inside=np.zeros((4, 4, 3), np.uint8), box=BOX)


def test_a_mesh_has_three_axes() -> None:
    with pytest.raises(ValueError, match="points_px needs"):
        FaceSeen(
            box=BOX, score=1, points_px=np.zeros((468, 2)), keypoints_px=np.zeros((0, 2)),
            found_by="a test",
        )  # fmt: skip


def test_a_person_is_something() -> None:
    with pytest.raises(ValueError, match="got none"):
        PersonSeen()
    assert PersonSeen(outline=MASK).body is None


@pytest.mark.parametrize(
    "array",
    [np.zeros((4, 4), np.uint8), np.zeros((4, 4, 4), np.uint8), np.zeros((4, 4, 3), np.float32)],
    ids=["grey", "with alpha", "not 8 bit"],
)
def test_a_picture_is_8_bit_rgb(array) -> None:
    with pytest.raises(ValueError, match="rgb needs"):
        Picture(rgb=array, active=BOX)


def test_a_picture_locks_its_view_and_not_the_callers_array() -> None:
    array = np.zeros((4, 4, 3), np.uint8)
    picture = Picture(rgb=array, active=BOX)
    with pytest.raises(ValueError, match="read-only"):
        picture.rgb[0, 0] = 1
    array[0, 0] = 1


def marks(*levels: float) -> tuple[RulerMark, ...]:
    return tuple(
        RulerMark(name=str(i), level=level, x_px=0, y_px=i, seen=True)
        for i, level in enumerate(levels)
    )


@pytest.mark.parametrize("levels", [(1.0,), (0.5, 0.5), (0.0, 1.0)], ids=["one", "equal", "rising"])
def test_a_ruler_falls(levels) -> None:
    with pytest.raises(ValueError, match="must fall"):
        BodyRuler(marks=marks(*levels), figure_px=1.0, error_level=0.01)


def test_a_ruler_has_a_length() -> None:
    with pytest.raises(ValueError, match="figure_px must be > 0"):
        BodyRuler(marks=marks(1.0, 0.0), figure_px=0.0, error_level=0.01)
