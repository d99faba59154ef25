"""What holds for the corrector on every body: in the mirror, larger, elsewhere."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.measure.corrector import (
    CHAIN,
    FEATURES,
    Corrector,
    correct_marks,
    features_of,
    middles_px,
    mirror_features,
    run_corrector,
    stature_px,
)
from framecheck.measure.head import Head
from framecheck.records.seen import JOINT_INDEX, BodySeen
from framecheck.records.values import Box
from tests.measure.figures import a_body, the_picture
from tests.steady import FEW

PICTURE = the_picture()
SWAPPED = [
    JOINT_INDEX[name.replace("left", "right") if "left" in name else name.replace("right", "left")]
    for name in sorted(JOINT_INDEX, key=JOINT_INDEX.__getitem__)
]


def a_head(yaw: float = 20.0) -> Head:
    return Head(
        eye_px=(470.0, 132.0), chin_px=(475.0, 165.0), nose_px=(480.0, 145.0), down=(0.15, 0.989),
        eye_to_chin_px=33.4, yaw_deg=yaw, pitch_deg=-5.0, roll_deg=3.0, from_mesh=True,
    )  # fmt: skip


@st.composite
def bodies(draw: st.DrawFn) -> BodySeen:
    """A standing body with every joint moved a little by itself."""
    body = a_body(yaw_deg=float(draw(st.integers(-60, 60))))
    rng = np.random.default_rng(draw(st.integers(0, 10_000)))
    return replace(
        body,
        joints_px=body.joints_px + rng.normal(0, 20, (33, 2)),
        joints_m=body.joints_m + rng.normal(0, 0.05, (33, 3)),
        presence=rng.uniform(0, 1, 33),
    )


def mirrored(body: BodySeen) -> BodySeen:
    """The same body in a mirror: its left is its right, and x runs the other way."""
    return replace(
        body,
        joints_px=body.joints_px[SWAPPED] * [-1, 1] + [PICTURE.w_px, 0],
        joints_m=body.joints_m[SWAPPED] * [-1, 1, 1],
        presence=body.presence[SWAPPED],
    )


def mirrored_head(head: Head) -> Head:
    return replace(
        head, eye_px=(PICTURE.w_px - head.eye_px[0], head.eye_px[1]),
        down=(-head.down[0], head.down[1]), yaw_deg=-head.yaw_deg,
    )  # fmt: skip


def a_corrector(seed: int = 3) -> Corrector:
    rng = np.random.default_rng(seed)
    return Corrector(
        mean=rng.normal(0, 0.1, FEATURES), scale=np.full(FEATURES, 2.0), version="drawn",
        layers=((rng.normal(0, 0.2, (FEATURES, 8)), rng.normal(0, 0.1, 8)),
                (rng.normal(0, 0.05, (8, 15)), rng.normal(0, 0.1, 15))),
    )  # fmt: skip


@FEW
@given(bodies())
def test_features_of_the_mirror_image_are_the_mirrored_features(body) -> None:
    head = a_head()
    here = features_of(head, body, PICTURE)
    there = features_of(mirrored_head(head), mirrored(body), PICTURE)
    assert here.shape == (FEATURES,)
    assert there == pytest.approx(mirror_features(here), abs=1e-9)
    assert mirror_features(mirror_features(here)) == pytest.approx(here)


@FEW
@given(bodies())
def test_marks_of_the_mirror_image_are_the_mirrored_marks(body) -> None:
    head = a_head()
    here = correct_marks(a_corrector(), head, body, PICTURE)
    there = correct_marks(a_corrector(), mirrored_head(head), mirrored(body), PICTURE)
    for name in CHAIN:
        x, y = here.points_px[name]
        assert there.points_px[name] == pytest.approx((PICTURE.w_px - x, y), abs=1e-6)


@FEW
@given(bodies(), st.sampled_from([0.5, 2.0]), st.integers(-300, 300), st.integers(-300, 300))
def test_scale_and_place_change_no_feature(body, scale, dx, dy) -> None:
    head, picture = a_head(), PICTURE
    larger = replace(body, joints_px=scale * body.joints_px + [dx, dy])
    near = replace(
        head, eye_px=(scale * head.eye_px[0] + dx, scale * head.eye_px[1] + dy),
        eye_to_chin_px=scale * head.eye_to_chin_px,
    )  # fmt: skip
    there = Box(x_px=dx, y_px=dy, w_px=scale * picture.w_px, h_px=scale * picture.h_px)
    assert features_of(near, larger, there) == pytest.approx(
        features_of(head, body, picture), abs=1e-9
    )
    one = correct_marks(a_corrector(), head, body, picture)
    two = correct_marks(a_corrector(), near, larger, there)
    for name in CHAIN:
        x, y = one.points_px[name]
        assert two.points_px[name] == pytest.approx((scale * x + dx, scale * y + dy), abs=1e-6)
        assert two.errors_px[name] == pytest.approx(scale * one.errors_px[name])


@FEW
@given(bodies())
def test_a_shift_moves_its_own_mark_by_so_many_statures(body) -> None:
    """One layer that answers the first feature, the shoulder's x, for the x of every mark."""
    weights = np.zeros((FEATURES, 15))
    weights[0, [0, 2, 4, 6, 8]] = [0.1, 0.2, 0.3, 0.4, 0.5]
    offsets = np.array([0, 0.01, 0, 0.02, 0, 0.03, 0, 0.04, 0, 0.05, -1, -2, -3, -4, -5.0])
    linear = Corrector(
        mean=np.zeros(FEATURES), scale=np.ones(FEATURES), layers=((weights, offsets),), version="v"
    )
    head, raw = a_head(), middles_px(body)
    unit = stature_px(head, raw)
    first = (raw["shoulder"][0] - head.eye_px[0]) / unit
    found = correct_marks(linear, head, body, PICTURE)
    for place, name in enumerate(CHAIN, start=1):
        x, y = raw[name]
        expected = (x + place / 10 * first * unit, y + place / 100 * unit)
        assert found.points_px[name] == pytest.approx(expected)
        assert found.errors_px[name] == pytest.approx(np.exp(-place) * unit)


def test_a_network_is_what_it_says() -> None:
    """Two layers, written out, with the inputs held within four deviations."""
    corrector = a_corrector()
    features = np.linspace(-20, 20, FEATURES)
    values = np.clip((features - corrector.mean) / corrector.scale, -4, 4)
    (first, bias), (second, last) = corrector.layers
    out = np.tanh(values @ first + bias) @ second + last
    shifts, errors = run_corrector(corrector, features)
    assert shifts == pytest.approx(out[:10])
    assert errors == pytest.approx(np.exp(np.clip(out[10:], -6, 0)))


@pytest.mark.parametrize("name", ["mean", "scale"])
def test_inputs_of_another_number_are_refused(name) -> None:
    with pytest.raises(ValueError, match=rf"^a corrector needs {FEATURES} inputs, got \("):
        replace(a_corrector(), **{name: np.zeros(FEATURES + 1)})


def test_outputs_of_another_number_are_refused() -> None:
    layers = ((np.zeros((FEATURES, 14)), np.zeros(14)),)
    with pytest.raises(ValueError, match=r"^a corrector gives 15 outputs, got \(14,\)$"):
        replace(a_corrector(), layers=layers)
