"""The marks network of this project: looks at a person and says where the ruler's marks are.

It sees what the pose network sees and what that made of it: pixels, mask, joints, the frame's edge.
Trained on rendered people with known joints by `models/fit/train_networks.py`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from framecheck.measure.corrector import (
    CHAIN,
    features_of,
    middles_px,
    mirror_features,
    stature_px,
)
from framecheck.measure.crown import marks_origin_px
from framecheck.measure.head import Head, measure_head
from framecheck.pose.own import OwnNetwork, as_shares
from framecheck.pose.scout import HeadHint
from framecheck.pose.template import body_under, settle
from framecheck.pose.views import RgbArray, cut_view
from framecheck.records.picture import Picture
from framecheck.records.seen import (
    JOINT_INDEX,
    AnglesSeen,
    BodySeen,
    MarksSeen,
    MaskSeen,
    PersonSeen,
)
from framecheck.records.values import Box

SIDE_PX = 192
"""Side of the square cut-out, in cells."""

SPOTS_PX = 48
"""Side of the layers that show the joints."""

MAP_PX = 48
"""Side of the map of the person's pixels."""

ANSWERS = 29
"""Shifts, errors, crown, angles and the rest that the network tells; then the gates of the 10
shifts, then the places of the joints in its map, as shares of the cut-out's side, then the map of
the person's pixels (see `models/fit/nets.py`)."""

CROWN, YAW, PITCH, PITCH_LOG, BODY_YAW, SOMEBODY = 15, 17, 20, 21, 22, 24
EYES_CHIN = slice(25, 29)
GATES = slice(ANSWERS, ANSWERS + 2 * len(CHAIN))
PLACES = slice(GATES.stop, GATES.stop + 4 * len(CHAIN))
OWN = slice(PLACES.stop, None)
PITCH_UNIT_DEG = 45.0

GROUPS = (
    ("nose",),
    ("shoulder_left", "shoulder_right"),
    ("elbow_left", "elbow_right", "wrist_left", "wrist_right"),
    ("hip_left", "hip_right"),
    ("knee_left", "knee_right"),
    ("ankle_left", "ankle_right", "heel_left", "heel_right"),
)
"""Joints that share one layer of the input."""

SPREAD_PX = 3.75
"""Standard deviation of the spot that stands for a joint, in cells."""

OVER_EYES = 2.2
"""How far over the eyes the cut-out reaches, in eye-to-chin lengths."""

GROWTH = 1.1
"""Side of the cut-out over the visible figure's longer side."""

LEAST_HEADS = 3.0
"""Least side of the cut-out in eye-to-chin lengths."""

FloatArray = npt.NDArray[np.float64]


def person_window(head: Head, body: BodySeen, picture: Box) -> Box:
    """The square around what is to be seen of a person; may reach beyond the picture."""
    unit_px = head.eye_to_chin_px
    over = np.array(head.eye_px) - OVER_EYES * unit_px * np.array(head.down)
    points = np.vstack([body.joints_px, over, head.chin_px])
    low = np.clip(points.min(axis=0), (picture.x_px, picture.y_px), None)
    high = np.clip(points.max(axis=0), None, (picture.right_px, picture.bottom_px))
    middle = (low + high) / 2
    side = max(GROWTH * float((high - low).max()), LEAST_HEADS * unit_px, 8.0)
    return Box(x_px=middle[0] - side / 2, y_px=middle[1] - side / 2, w_px=side, h_px=side)


def cut_person(
    rgb: RgbArray, picture: Box, body: BodySeen, window: Box
) -> tuple[npt.NDArray[np.uint8], Box]:
    """The person's cut-out of (SIDE_PX, SIDE_PX, 5) uint8, and the box that it really shows.

    The layers are red, green, blue, the pose network's mask of the person, and the active picture.
    """
    import cv2

    view = cut_view(rgb, picture, window, SIDE_PX)
    size = (SIDE_PX, SIDE_PX)
    seen = cv2.resize(view.rgb, size, interpolation=cv2.INTER_LINEAR)
    layers = cv2.merge([seen, _placed_mask(body, view.box), _inside(picture, view.box)])
    return np.asarray(layers, dtype=np.uint8), view.box


def _placed_mask(body: BodySeen, box: Box) -> npt.NDArray[np.uint8]:
    import cv2

    mask = body.mask
    rows, columns = mask.inside.shape
    across, down = columns / mask.box.w_px, rows / mask.box.h_px
    cell = box.w_px / SIDE_PX
    place = np.array([
        [cell * across, 0.0, (box.x_px + cell / 2 - mask.box.x_px) * across - 0.5],
        [0.0, cell * down, (box.y_px + cell / 2 - mask.box.y_px) * down - 0.5],
    ])  # fmt: skip
    # Away from a large mask to a small cut-out: averaged first, or thin limbs would be missed.
    shrink = max(1, int(cell * across / 1.5))
    inside = mask.inside
    if shrink > 1:
        small = (max(1, columns // shrink), max(1, rows // shrink))
        inside = cv2.resize(inside, small, interpolation=cv2.INTER_AREA)
        sx, sy = small[0] / columns, small[1] / rows
        place[0] = place[0] * sx + [0, 0, 0.5 * (sx - 1)]
        place[1] = place[1] * sy + [0, 0, 0.5 * (sy - 1)]
    flags = cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP
    return np.asarray(cv2.warpAffine(inside, place, (SIDE_PX, SIDE_PX), flags=flags), np.uint8)


def _inside(picture: Box, box: Box) -> npt.NDArray[np.uint8]:
    """255 where a cell lies in the active picture, 0 where beyond, in between on the edge."""
    cell = box.w_px / SIDE_PX
    starts = np.arange(SIDE_PX) * cell
    x, y = box.x_px + starts, box.y_px + starts
    across = np.clip(np.minimum(x + cell, picture.right_px) - np.maximum(x, picture.x_px), 0, cell)
    down = np.clip(np.minimum(y + cell, picture.bottom_px) - np.maximum(y, picture.y_px), 0, cell)
    return np.asarray(np.round(255 * np.outer(down / cell, across / cell)), dtype=np.uint8)


def joint_spots(joints_cells: FloatArray) -> npt.NDArray[np.float32]:
    """One layer a joint group of (SPOTS_PX, SPOTS_PX), a round spot at each joint, 0..1.

    Args:
        joints_cells: (33, 2) x and y in cells of the cut-out.
    """
    grid = (np.arange(SPOTS_PX) + 0.5) * (SIDE_PX / SPOTS_PX)
    spots = np.zeros((len(GROUPS), SPOTS_PX, SPOTS_PX), dtype=np.float32)
    for layer, names in zip(spots, GROUPS, strict=True):
        for name in names:
            x, y = joints_cells[JOINT_INDEX[name]]
            across = np.exp(-((grid - x) ** 2) / (2 * SPREAD_PX**2))
            down = np.exp(-((grid - y) ** 2) / (2 * SPREAD_PX**2))
            np.maximum(layer, np.outer(down, across), out=layer)
    return spots


def to_cells(points_px: FloatArray, box: Box) -> FloatArray:
    """Points in pixels of the whole file to cells of the cut-out; (N, 2) in and out."""
    return np.asarray((points_px - [box.x_px, box.y_px]) * (SIDE_PX / box.w_px))


class MarksNetwork:
    """Finds the marks of people in a picture. Not safe to share between threads.

    Args:
        weights: an ONNX file's content.

    Raises:
        ModelBroken: it would not load.
    """

    def __init__(self, weights: bytes) -> None:
        self._net = OwnNetwork(weights, "marks.onnx")

    def look(self, picture: Picture, person: PersonSeen) -> MarksSeen | None:
        """The person's marks; None for somebody without a body."""
        if person.body is None:
            return None
        return _marks(self._read(picture, person.body, measure_head(person)), person, picture)

    def put(self, picture: Picture, hint: HeadHint) -> PersonSeen:
        """Whoever is under a head, as it sees them; how far it believes in them is in `marks`."""
        put = PersonSeen(body=body_under(hint, picture.active))
        assert put.body is not None
        reading = self._read(picture, put.body, measure_head(put))
        marks = _marks(reading, put, picture)
        return PersonSeen(body=_settled(put.body, reading, marks), marks=marks)

    def _read(self, picture: Picture, body: BodySeen, head: Head) -> _Reading:
        raw = middles_px(body)
        unit_px = stature_px(head, raw)
        window = person_window(head, body, picture.active)
        layers, box = cut_person(picture.rgb, picture.active, body, window)
        scale = math.log(unit_px / box.w_px)
        numbers = np.append(features_of(head, body, picture.active), scale)
        seen = as_shares(layers)
        out = self._answers(seen, joint_spots(to_cells(body.joints_px, box)), numbers)
        start = np.array([raw[name] for name in CHAIN])
        return _Reading(out=out, box=box, head=head, unit_px=unit_px, start_px=start)

    def _answers(
        self, layers: npt.NDArray[np.float32], spots: npt.NDArray[np.float32], numbers: FloatArray
    ) -> FloatArray:
        """The mean of what it says of the person and of the person's mirror image, turned back.

        So a picture and its mirror image read the same.
        """
        turned = np.append(mirror_features(numbers[:-1]), numbers[-1])
        mirror = self._run(layers[:, :, ::-1], spots[:, :, ::-1], turned)
        return (self._run(layers, spots, numbers) + _turned_back(mirror)) / 2

    def _run(
        self, layers: npt.NDArray[np.float32], spots: npt.NDArray[np.float32], numbers: FloatArray
    ) -> FloatArray:
        return self._net.answer(layers=layers, spots=spots, numbers=numbers.astype(np.float32))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Reading:
    """What the network said, of which cut-out, and from where its shifts count."""

    out: FloatArray
    box: Box
    head: Head
    unit_px: float
    start_px: FloatArray


def _marks(reading: _Reading, person: PersonSeen, picture: Picture) -> MarksSeen:
    out, unit_px = reading.out, reading.unit_px
    raw_cells = to_cells(reading.start_px, reading.box)
    shifts = _shifts(out, raw_cells / SIDE_PX, reading.box.w_px / unit_px)
    return MarksSeen(
        points_px=reading.start_px + shifts * unit_px,
        errors_px=np.exp(np.clip(out[10:15], -6.0, 0.0)) * unit_px,
        head_top_px=marks_origin_px(person, reading.head, picture.active)
        - float(out[CROWN]) * reading.head.eye_to_chin_px,
        angles=_angles(out),
        somebody=float(1 / (1 + np.exp(-out[SOMEBODY]))),
    )


def _settled(body: BodySeen, reading: _Reading, marks: MarksSeen) -> BodySeen:
    """A body that was put under a head, moved to where the network sees it."""
    head = reading.head
    eye, chin = (
        np.array(place) + shift * head.eye_to_chin_px
        for place, shift in zip(
            (head.eye_px, head.chin_px), reading.out[EYES_CHIN].reshape(2, 2), strict=True
        )
    )
    belief = 1 / (1 + np.exp(-reading.out[OWN].reshape(MAP_PX, MAP_PX)))
    mask = MaskSeen(inside=np.round(255 * belief).astype(np.uint8), box=reading.box)
    assert marks.angles is not None
    return settle(
        body, eye_chin_px=np.array([eye, chin]), chain_px=marks.points_px,
        head_yaw_deg=marks.angles.head_yaw_deg, mask=mask, score=marks.somebody,
    )  # fmt: skip


def _turned_back(out: FloatArray) -> FloatArray:
    """What was said of a mirror image, as if said of the person."""
    back = out.copy()
    aside = [*range(0, 2 * len(CHAIN), 2), YAW, BODY_YAW, EYES_CHIN.start, EYES_CHIN.start + 2]
    back[aside] *= -1.0  # x, and the angles' sines
    places = back[PLACES].reshape(len(CHAIN), 2, 2)[:, ::-1].copy()
    places[..., 0] = 1.0 - places[..., 0]
    back[PLACES] = places.ravel()
    back[OWN] = out[OWN].reshape(MAP_PX, MAP_PX)[:, ::-1].ravel()
    return back


def _angles(out: FloatArray) -> AnglesSeen:
    """The angles that the network's output holds as sines and cosines, the pitch with its error."""
    return AnglesSeen(
        head_yaw_deg=math.degrees(math.atan2(out[YAW], out[YAW + 1])),
        body_yaw_deg=math.degrees(math.atan2(out[BODY_YAW], out[BODY_YAW + 1])),
        camera_pitch_deg=float(out[PITCH]) * PITCH_UNIT_DEG,
        camera_pitch_error_deg=PITCH_UNIT_DEG * math.exp(float(np.clip(out[PITCH_LOG], -4.0, 1.0))),
    )


def _shifts(out: FloatArray, raw_shares: FloatArray, side_statures: float) -> FloatArray:
    """Shifts of the chain's marks in statures, (5, 2): told, or placed on the map, as gated.

    Args:
        out: the network's output.
        raw_shares: (5, 2) the marks as the pose network gave them, shares of the cut-out's side.
        side_statures: that side in statures.
    """
    marks = len(CHAIN)
    told = out[: 2 * marks].reshape(marks, 2)
    gates = 1 / (1 + np.exp(-out[GATES])).reshape(marks, 2)
    places = out[PLACES].reshape(marks, 2, 2).mean(axis=1)
    placed = (places - raw_shares) * side_statures
    return np.asarray(told + gates * (placed - told))
