"""Stick figures, meshes and masks whose every measure can be worked out by hand.

A figure stands upright and frontal on the handbook's heights (Drillis & Contini 1966, in Winter):
a point of level L lies (1 - L) statures under the crown. What the null corrector answers is what
the landmarks say, so that readings must come back exactly as they were drawn.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from framecheck.geometry.ruler import BODY_LEVELS, MARK_LEVELS
from framecheck.measure.corrector import CHAIN, FEATURES, Corrector
from framecheck.measure.head import MOUTH_TO_CHIN
from framecheck.records.seen import JOINT_INDEX, BodySeen, FaceSeen, MaskSeen, PersonSeen
from framecheck.records.values import Box

STATURE_M = 1.7

# Half breadths over stature. Shoulders and hips: Drillis & Contini's breadths, halved; the rest is
# drawn to look like a person.
HALF_SHOULDERS, HALF_HIPS, HALF_LEGS, HALF_HEAD = 0.129, 0.0955, 0.06, 0.045

_EYE_TO_MOUTH = (MARK_LEVELS["eye"] - MARK_LEVELS["chin"]) / (1 + MOUTH_TO_CHIN)
_LEVELS = {
    "nose": MARK_LEVELS["eye"] - 0.02, "mouth": MARK_LEVELS["eye"] - _EYE_TO_MOUTH,
    "ear": MARK_LEVELS["eye"] - 0.005,
    **{name: MARK_LEVELS[name] for name in ("eye", "shoulder", "hip", "knee", "ankle")},
    **{name: BODY_LEVELS[name] for name in ("elbow", "wrist")},
    "pinky": BODY_LEVELS["fingertips"], "index": BODY_LEVELS["fingertips"],
    "thumb": BODY_LEVELS["fingertips"] + 0.02, "heel": 0.0, "toe": 0.0,
}  # fmt: skip
_ASIDE = {
    "nose": 0.0, "mouth": 0.012, "eye": 0.0185, "ear": 0.04, "shoulder": HALF_SHOULDERS,
    "elbow": 0.14, "wrist": 0.14, "pinky": 0.14, "index": 0.14, "thumb": 0.135, "hip": HALF_HIPS,
    "knee": HALF_LEGS, "ankle": HALF_LEGS, "heel": HALF_LEGS, "toe": HALF_LEGS,
}  # fmt: skip
_AHEAD = {"nose": 0.06, "mouth": 0.05, "eye": 0.05, "toe": 0.08}


def null_corrector(
    *, shift_down: float = 0.0, error_level: float = 0.02, version: str = "null"
) -> Corrector:
    """A corrector that moves every mark by one known step, by default by none at all."""
    shifts = np.zeros(2 * len(CHAIN))
    shifts[1::2] = shift_down
    offsets = np.concatenate([shifts, np.full(len(CHAIN), np.log(error_level))])
    return Corrector(
        mean=np.zeros(FEATURES),
        scale=np.ones(FEATURES),
        layers=((np.zeros((FEATURES, 3 * len(CHAIN))), offsets),),
        version=version,
    )


def the_picture(w_px: float = 960.0, h_px: float = 720.0, x_px: float = 0, y_px: float = 0) -> Box:
    return Box(x_px=x_px, y_px=y_px, w_px=w_px, h_px=h_px)


def stem_and_side(name: str) -> tuple[str, str]:
    words = name.split("_")
    side = words[-1] if words[-1] in {"left", "right"} else ""
    return words[0], side


def a_body(
    *,
    crown_px: tuple[float, float] = (480.0, 100.0),
    stature_px: float = 500.0,
    picture: Box | None = None,
    yaw_deg: float = 0.0,
    score: float = 0.9,
    mask: MaskSeen | None = None,
    found_by: str = "a test",
) -> BodySeen:
    """An upright body; `yaw_deg` turns the head's and the body's metres, not the pixels."""
    picture = picture or the_picture()
    names = sorted(JOINT_INDEX, key=JOINT_INDEX.__getitem__)
    places = np.array([_place(*stem_and_side(name)) for name in names])
    joints_px = np.column_stack(
        [
            crown_px[0] + places[:, 0] * stature_px,
            crown_px[1] + (1.0 - places[:, 1]) * stature_px,
        ]
    )
    hips = places[[JOINT_INDEX["hip_left"], JOINT_INDEX["hip_right"]], 1].mean()
    joints_m = STATURE_M * np.column_stack([places[:, 0], hips - places[:, 1], -places[:, 2]])
    return BodySeen(
        joints_px=joints_px,
        joints_m=turned(joints_m, yaw_deg=yaw_deg),
        presence=np.full(33, 0.95),
        mask=mask or figure_mask(picture, crown_px, stature_px),
        score=score,
        found_by=found_by,
    )


def _place(stem: str, side: str) -> tuple[float, float, float]:
    sign = {"left": 1.0, "right": -1.0, "": 0.0}[side]  # its left is at the viewer's right
    return sign * _ASIDE[stem], _LEVELS[stem], _AHEAD.get(stem, 0.0)


def a_person(**options: object) -> PersonSeen:
    return PersonSeen(body=a_body(**options))  # type: ignore[arg-type]


def turned(
    points: np.ndarray, *, yaw_deg: float = 0.0, pitch_deg: float = 0.0, roll_deg: float = 0.0
) -> np.ndarray:
    """Points turned as a head is: rolled (clockwise in the picture), then up, then to the right."""
    y, p, r = np.radians([yaw_deg, pitch_deg, roll_deg])
    rolled = np.array([[np.cos(r), -np.sin(r), 0], [np.sin(r), np.cos(r), 0], [0, 0, 1]])
    raised = np.array([[1, 0, 0], [0, np.cos(p), np.sin(p)], [0, -np.sin(p), np.cos(p)]])
    swung = np.array([[np.cos(y), 0, -np.sin(y)], [0, 1, 0], [np.sin(y), 0, np.cos(y)]])
    return points @ (swung @ raised @ rolled).T


def figure_mask(picture: Box, crown_px: tuple[float, float], stature_px: float) -> MaskSeen:
    """Head, trunk with arms, and legs as boxes, one mask pixel a file pixel, over the picture."""
    x_px, y_px = crown_px

    def part(half: float, upper: float, lower: float) -> Box:
        return Box(
            x_px=x_px - half * stature_px,
            y_px=y_px + (1 - upper) * stature_px,
            w_px=2 * half * stature_px,
            h_px=(upper - lower) * stature_px,
        )

    return drawn_mask(
        picture,
        [
            part(HALF_HEAD, 1.0, 0.86),
            part(0.03, 0.87, 0.81),
            part(0.15, 0.83, 0.48),
            part(0.09, 0.49, 0.0),
        ],
    )


def drawn_mask(picture: Box, boxes: Sequence[Box], *, pixels_per_cell: float = 1.0) -> MaskSeen:
    """A mask over the picture with these boxes filled."""
    rows = round(picture.h_px / pixels_per_cell)
    columns = round(picture.w_px / pixels_per_cell)
    inside = np.zeros((rows, columns), dtype=np.uint8)
    for box in boxes:
        x0, x1 = (
            max(0, round((x - picture.x_px) / pixels_per_cell)) for x in (box.x_px, box.right_px)
        )
        y0, y1 = (
            max(0, round((y - picture.y_px) / pixels_per_cell)) for y in (box.y_px, box.bottom_px)
        )
        inside[y0:y1, x0:x1] = 255
    return MaskSeen(inside=inside, box=picture)


MESH_PLACES = {
    33: (-46, 0, 0), 133: (-18, 0, 0), 362: (18, 0, 0), 263: (46, 0, 0),  # corners of the eyes
    10: (0, -70, 0), 151: (0, -50, 0), 9: (0, -20, 0), 1: (0, 40, -25),  # forehead to nose
    61: (-25, 75, 0), 291: (25, 75, 0), 17: (0, 90, 0), 199: (0, 108, 0), 152: (0, 120, 0),
    234: (-70, 10, 60), 454: (70, 10, 60),  # in front of the ears
}  # fmt: skip
"""Rows of the face mesh that the head is read from, in millimetres around the middle of the eyes.

Pupils 64 mm apart and the chin 120 mm under them, as of a mean adult (ANSUR II 2012: 64.0 and
122.6 for men, 61.7 and 113.1 for women).
"""


def a_mesh(
    *,
    eye_px: tuple[float, float] = (480.0, 132.0),
    px_per_mm: float = 1.0,
    chin_mm: float = 120.0,
    yaw_deg: float = 0.0,
    pitch_deg: float = 0.0,
    roll_deg: float = 0.0,
) -> np.ndarray:
    """A (468, 3) face mesh, all other points between the eyes."""
    points = np.zeros((468, 3))
    for row, place in MESH_PLACES.items():
        points[row] = place
    points[152, 1] = chin_mm
    points = turned(points, yaw_deg=yaw_deg, pitch_deg=pitch_deg, roll_deg=roll_deg) * px_per_mm
    return points + np.array([*eye_px, 0.0])


def a_face(
    mesh: np.ndarray | None = None, *, box: Box | None = None, score: float = 0.9
) -> FaceSeen:
    """A face around a mesh, or a bare box."""
    points = np.zeros((0, 3)) if mesh is None else mesh
    if box is None:
        rows = points[list(MESH_PLACES)]
        low, high = rows.min(axis=0), rows.max(axis=0)
        box = Box(x_px=low[0], y_px=low[1], w_px=high[0] - low[0], h_px=high[1] - low[1])
    return FaceSeen(
        box=box, score=score, points_px=points, keypoints_px=np.zeros((0, 2)), found_by="a test"
    )
