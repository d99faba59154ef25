"""What the pose stage hands on: checked shapes, read-only copies."""

import numpy as np
import pytest

from framecheck.records.framing import BodyRuler, RulerMark
from framecheck.records.picture import Picture
from framecheck.records.seen import (
    JOINT_INDEX,
    JOINTS,
    BodySeen,
    FaceSeen,
    MarksSeen,
    MaskSeen,
    PersonSeen,
)
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


def a_face(**changed: object) -> FaceSeen:
    parts: dict[str, object] = {
        "box": BOX, "score": 1.0, "points_px": np.ones((468, 3), np.float32),
        "keypoints_px": np.ones((6, 2), np.float32), "found_by": "a test",
    }  # fmt: skip
    return FaceSeen(**{**parts, **changed})  # type: ignore[arg-type]


def some_marks(**changed: object) -> MarksSeen:
    parts: dict[str, object] = {
        "points_px": np.ones((5, 2), np.float32), "errors_px": np.ones(5, np.float32),
        "head_top_px": 1.0,
    }  # fmt: skip
    return MarksSeen(**{**parts, **changed})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("build", "name", "dtype"),
    [
        (lambda **changed: MaskSeen(box=BOX, **changed), "inside", np.uint8),
        (a_face, "points_px", np.float64),
        (a_face, "keypoints_px", np.float64),
        (a_body, "joints_px", np.float64),
        (a_body, "joints_m", np.float64),
        (a_body, "presence", np.float64),
        (some_marks, "points_px", np.float64),
        (some_marks, "errors_px", np.float64),
    ],
)
def test_every_array_is_a_locked_copy_of_its_own_kind(build, name, dtype) -> None:
    shape = {"inside": (4, 4), "keypoints_px": (6, 2), "joints_px": (33, 2), "joints_m": (33, 3),
             "presence": (33,), "errors_px": (5,)}.get(name)  # fmt: skip
    shape = shape or ((5, 2) if build is some_marks else (468, 3))
    given = np.ones(shape, np.float32)
    kept = getattr(build(**{name: given}), name)
    assert kept.dtype == dtype
    assert (kept == given).all()
    given[:] = 7
    assert (kept == 1).all()
    assert not kept.flags.writeable


@pytest.mark.parametrize("shape", [(468, 2), (468, 4), (3,), (3, 3, 3)])
def test_what_is_no_mesh_is_refused_with_its_shape(shape) -> None:
    with pytest.raises(ValueError, match=rf"points_px needs shape \(N, 3\), got \({shape[0]}"):
        a_face(points_px=np.zeros(shape))


@pytest.mark.parametrize(
    ("name", "shape"), [("points_px", (5, 3)), ("points_px", (4, 2)), ("errors_px", (5, 1))]
)
def test_marks_of_a_wrong_shape_are_refused(name, shape) -> None:
    wanted = {"points_px": r"\(5, 2\)", "errors_px": r"\(5,\)"}[name]
    with pytest.raises(ValueError, match=rf"^{name} needs shape {wanted}, got \({shape[0]}"):
        some_marks(**{name: np.zeros(shape)})


@pytest.mark.parametrize("part", ["body", "face", "outline"])
def test_one_part_makes_a_person(part) -> None:
    parts = {"body": a_body(), "face": a_face(), "outline": MASK}
    assert getattr(PersonSeen(**{part: parts[part]}), part) is parts[part]  # type: ignore[arg-type]


def test_marks_alone_are_nobody() -> None:
    with pytest.raises(
        ValueError, match=r"^a person needs a body, a face or an outline, got none$"
    ):
        PersonSeen(marks=some_marks(), head_px=(1.0, 1.0))


def test_a_ruler_of_a_fraction_of_a_pixel_is_one() -> None:
    assert BodyRuler(marks=marks(1.0, 0.0), figure_px=0.5, error_level=0.01).figure_px == 0.5
    with pytest.raises(ValueError, match=r"figure_px must be > 0, got -1\.0"):
        BodyRuler(marks=marks(1.0, 0.0), figure_px=-1.0, error_level=0.01)


@pytest.mark.parametrize(
    "array",
    [
        np.zeros((4, 4, 2), np.uint8), np.zeros((4, 3), np.uint8),
        np.zeros((2, 4, 4, 3), np.uint8), np.zeros((4, 4, 3), np.int8),
    ],
    ids=["two channels", "flat", "a stack", "signed"],
)  # fmt: skip
def test_what_is_no_picture_is_refused_with_what_it_is(array) -> None:
    shape = ", ".join(map(str, array.shape))
    told = rf"^rgb needs shape \(height, width, 3\) and uint8, got \({shape}\) {array.dtype}$"
    with pytest.raises(ValueError, match=told):
        Picture(rgb=array, active=BOX)
