"""The corrector sees the pose free of the picture's scale and place, and moves what it is told."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framecheck.measure.corrector import (
    CHAIN,
    FEATURES,
    Corrector,
    correct_marks,
    features_of,
    middles_px,
    run_corrector,
    stature_px,
)
from framecheck.measure.head import head_from_body
from tests.measure.figures import a_body, null_corrector, the_picture


def features(*, scale: float = 1.0, dx_px: float = 0.0, dy_px: float = 0.0) -> np.ndarray:
    picture = the_picture(960 * scale, 400 * scale, dx_px, dy_px)
    crown_px = (400 * scale + dx_px, 60 * scale + dy_px)
    body = a_body(crown_px=crown_px, stature_px=500 * scale, picture=the_picture(10, 10))
    return features_of(head_from_body(body), body, picture)


def test_the_vector_has_the_stated_length_and_is_finite() -> None:
    vector = features()
    assert vector.shape == (FEATURES,)
    assert np.isfinite(vector).all()


@settings(max_examples=25, deadline=None)
@given(st.floats(0.1, 8.0), st.floats(-2000, 2000), st.floats(-2000, 2000))
def test_scale_and_place_change_nothing(scale, dx_px, dy_px) -> None:
    assert features(scale=scale, dx_px=dx_px, dy_px=dy_px) == pytest.approx(features(), abs=1e-6)


def test_the_edge_is_seen() -> None:
    """The same body cut elsewhere is another case."""
    body = a_body()
    head = head_from_body(body)
    near = features_of(head, body, the_picture(960, 350))
    far = features_of(head, body, the_picture(960, 450))
    assert not np.allclose(near, far)


def test_the_chain_is_the_middle_of_both_sides() -> None:
    """Crown at (480, 100), stature 500: hips at level 0.530, soles at 0."""
    marks = middles_px(a_body())
    assert set(marks) == set(CHAIN)
    assert marks["hip"] == pytest.approx((480.0, 335.0))
    assert marks["sole"] == pytest.approx((480.0, 600.0))


def test_the_rough_stature_is_the_handbooks() -> None:
    body = a_body()
    assert stature_px(head_from_body(body), middles_px(body)) == pytest.approx(500.0)


def test_a_tiny_face_on_a_long_torso_does_not_shrink_the_stature() -> None:
    small = head_from_body(a_body(stature_px=100.0))
    assert stature_px(small, middles_px(a_body())) > 300.0


def test_no_weights_move_nothing() -> None:
    body = a_body()
    head = head_from_body(body)
    found = correct_marks(null_corrector(error_level=0.03), head, body, the_picture())
    for name, point in middles_px(body).items():
        assert found.points_px[name] == pytest.approx(point)
        assert found.errors_px[name] == pytest.approx(15.0)


def test_shifts_are_in_statures() -> None:
    body = a_body()
    found = correct_marks(null_corrector(shift_down=0.1), head_from_body(body), body, the_picture())
    assert found.points_px["knee"] == pytest.approx((480.0, 100 + 0.715 * 500 + 50))


def test_wild_inputs_are_held() -> None:
    """Nothing beyond four spreads of what training saw reaches the layers."""
    weights = np.zeros((FEATURES, 15))
    weights[0, 0] = 1.0
    corrector = Corrector(
        mean=np.zeros(FEATURES), scale=np.ones(FEATURES),
        layers=((weights, np.zeros(15)),), version="t",
    )  # fmt: skip
    shifts, errors = run_corrector(corrector, np.full(FEATURES, 1e9))
    assert shifts[0] == 4.0
    assert errors == pytest.approx(1.0)


def test_wrong_shapes_are_refused() -> None:
    with pytest.raises(ValueError, match="inputs"):
        Corrector(
            mean=np.zeros(3), scale=np.ones(3), layers=((np.zeros((3, 15)), np.zeros(15)),),
            version="t",
        )  # fmt: skip
    with pytest.raises(ValueError, match="outputs"):
        Corrector(
            mean=np.zeros(FEATURES), scale=np.ones(FEATURES),
            layers=((np.zeros((FEATURES, 4)), np.zeros(4)),), version="t",
        )  # fmt: skip


def test_loaded_weights_cannot_be_changed() -> None:
    weights, _ = null_corrector().layers[0]
    with pytest.raises(ValueError, match="read-only"):
        weights[0, 0] = 1.0
