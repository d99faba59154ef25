"""Correct the pose network's marks for what the frame edge does to them.

Joints outside the picture, and joints near its edge, come back squeezed towards the edge, and some
joints are defined a little off the handbook's marks. How far depends on all the rest of the pose,
so the correction is learned, from rendered figures with known joints: a small network of this
project, two layers, trained by `models/fit/train.py`. It moves marks; it never invents a person.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from framecheck.geometry.ruler import MARK_LEVELS
from framecheck.measure.head import EYE_TO_CHIN, Head
from framecheck.records.seen import JOINT_INDEX, BodySeen, frozen_copy
from framecheck.records.values import Box, PointPx

CHAIN = ("shoulder", "hip", "knee", "ankle", "sole")
"""Marks below the chin, in the order of the corrector's outputs."""

FEATURES = 51
HINGE_REACH = 0.3
"""Distance from the bottom edge, in statures, beyond which it no longer matters."""

MIRROR_SIGNS = [0, 2, 4, 6, 8, 28, 31, 34, 38, 39, 41, 43]
"""Features that change sign in a mirror: x of marks, segments, the face's axis and the gaze; of the
line across the shoulders y and z, since its ends swap as well."""

MIRROR_SHIFTS = np.array([-1.0, 1.0] * len(CHAIN))
"""Signs of the shifts in a mirror."""

FloatArray = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Corrector:
    """The learned weights.

    Attributes:
        mean, scale: (FEATURES,) of the inputs in training.
        layers: weight matrices (in, out) and offsets (out,), applied one after the other with a
            hyperbolic tangent between them; the last gives 10 shifts (x and y of each mark of
            `CHAIN`, in statures) and 5 logarithms of the error of y, in statures.
        version: changes whenever the weights do.
    """

    mean: FloatArray
    scale: FloatArray
    layers: tuple[tuple[FloatArray, FloatArray], ...]
    version: str

    def __post_init__(self) -> None:
        if self.mean.shape != (FEATURES,) or self.scale.shape != (FEATURES,):
            raise ValueError(f"a corrector needs {FEATURES} inputs, got {self.mean.shape}")
        if self.layers[-1][1].shape != (3 * len(CHAIN),):
            raise ValueError(f"a corrector gives 15 outputs, got {self.layers[-1][1].shape}")
        frozen = tuple(
            (frozen_copy(weights, np.float64), frozen_copy(offsets, np.float64))
            for weights, offsets in self.layers
        )
        object.__setattr__(self, "layers", frozen)


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectedMarks:
    """Corrected places of the chain's marks.

    Attributes:
        points_px: by name, pixels of the whole file.
        errors_px: one standard deviation of each y.
    """

    points_px: Mapping[str, PointPx]
    errors_px: Mapping[str, float]


def middles_px(body: BodySeen) -> dict[str, PointPx]:
    """Middles of the left and right joints of the chain, as the network gave them."""
    found = {name: _middle(body, name) for name in ("shoulder", "hip", "knee", "ankle")}
    heel, toe = _middle(body, "heel"), _middle(body, "toe")
    found["sole"] = ((found["ankle"][0] + heel[0]) / 2, max(heel[1], (heel[1] + toe[1]) / 2))
    return found


def _middle(body: BodySeen, name: str) -> PointPx:
    left = body.joints_px[JOINT_INDEX[f"{name}_left"]]
    right = body.joints_px[JOINT_INDEX[f"{name}_right"]]
    x_px, y_px = (left + right) / 2
    return float(x_px), float(y_px)


def stature_px(head: Head, marks_px: Mapping[str, PointPx]) -> float:
    """A rough stature in pixels, from the face, or from the torso when the face looks too small."""
    torso_px = math.dist(marks_px["shoulder"], marks_px["hip"])
    by_torso_px = 0.7 * torso_px / (MARK_LEVELS["shoulder"] - MARK_LEVELS["hip"])
    return max(head.eye_to_chin_px / EYE_TO_CHIN, by_torso_px, 1.0)


def correct_marks(corrector: Corrector, head: Head, body: BodySeen, picture: Box) -> CorrectedMarks:
    """The chain's marks, corrected."""
    raw = middles_px(body)
    unit_px = stature_px(head, raw)
    features = features_of(head, body, picture)
    shifts, errors = run_corrector(corrector, features)
    mirrored, _ = run_corrector(corrector, mirror_features(features))
    # The same picture in a mirror must read the same, so both answers count alike.
    shifts = (shifts + mirrored * MIRROR_SHIFTS) / 2
    points = {
        name: (
            raw[name][0] + float(shifts[2 * i]) * unit_px,
            raw[name][1] + float(shifts[2 * i + 1]) * unit_px,
        )
        for i, name in enumerate(CHAIN)
    }
    return CorrectedMarks(
        points_px=points,
        errors_px={name: float(errors[i]) * unit_px for i, name in enumerate(CHAIN)},
    )


def run_corrector(corrector: Corrector, features: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The 10 shifts and 5 errors, in statures, for one vector of features."""
    values = np.clip((features - corrector.mean) / corrector.scale, -4.0, 4.0)
    for weights, offsets in corrector.layers[:-1]:
        values = np.tanh(values @ weights + offsets)
    weights, offsets = corrector.layers[-1]
    out = values @ weights + offsets
    return out[: 2 * len(CHAIN)], np.exp(np.clip(out[2 * len(CHAIN) :], -6.0, 0.0))


def mirror_features(features: FloatArray) -> FloatArray:
    """The features of the same person seen in a mirror; (..., FEATURES) in and out."""
    turned = features.copy()
    turned[..., MIRROR_SIGNS] *= -1.0
    turned[..., [12, 13]] = features[..., [13, 12]]  # room to the left and to the right
    return turned


def features_of(head: Head, body: BodySeen, picture: Box) -> FloatArray:
    """What the corrector looks at, (FEATURES,), free of the picture's scale and place."""
    raw = middles_px(body)
    unit_px = stature_px(head, raw)
    eye_x, eye_y = head.eye_px
    marks = [((raw[n][0] - eye_x) / unit_px, (raw[n][1] - eye_y) / unit_px) for n in CHAIN]
    below = np.array([(picture.bottom_px - raw[n][1]) / unit_px for n in CHAIN])
    edges = np.array([
        picture.bottom_px - eye_y, eye_y - picture.y_px,
        eye_x - picture.x_px, picture.right_px - eye_x,
    ]) / unit_px  # fmt: skip
    return np.concatenate([
        np.array(marks).ravel(),
        np.clip(edges, -1.0, 3.0),
        np.clip(below, -HINGE_REACH, HINGE_REACH),
        np.tanh(below / 0.08),
        [_presence(body, name) for name in ("shoulder", "hip", "knee", "ankle")],
        _world(body),
        [*head.down, math.sin(math.radians(head.yaw_deg)), math.cos(math.radians(head.yaw_deg))],
        [head.pitch_deg / 90.0, float(head.from_mesh), head.eye_to_chin_px / unit_px],
        [_breadth_px(body, "shoulder") / unit_px, _breadth_px(body, "hip") / unit_px],
        [float(np.log(picture.h_px / unit_px))],
    ])  # fmt: skip


def _presence(body: BodySeen, name: str) -> float:
    return float(
        min(body.presence[JOINT_INDEX[f"{name}_left"]], body.presence[JOINT_INDEX[f"{name}_right"]])
    )


def _breadth_px(body: BodySeen, name: str) -> float:
    left = body.joints_px[JOINT_INDEX[f"{name}_left"]]
    return float(np.linalg.norm(left - body.joints_px[JOINT_INDEX[f"{name}_right"]]))


def _world(body: BodySeen) -> FloatArray:
    """Directions of the chain's segments in metres, and of the shoulders; (13,)."""
    middles = [
        (body.joints_m[JOINT_INDEX[f"{n}_left"]] + body.joints_m[JOINT_INDEX[f"{n}_right"]]) / 2
        for n in ("shoulder", "hip", "knee", "ankle")
    ]
    across = (
        body.joints_m[JOINT_INDEX["shoulder_left"]] - body.joints_m[JOINT_INDEX["shoulder_right"]]
    )
    segments = [b - a for a, b in pairwise(middles)]
    whole_m = sum(float(np.linalg.norm(segment)) for segment in segments)
    return np.concatenate([*segments, across, [whole_m]])
