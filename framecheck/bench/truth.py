"""Read rendered truth, and turn it into the same records that the tool produces.

The crop levels in `truth.json` were computed by the renderer from exact 3-D points, by code that
shares nothing with the tool's own ruler.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from framecheck.errors import ConfigError
from framecheck.geometry.ruler import MARK_LEVELS
from framecheck.measure.cuttable import is_inside
from framecheck.measure.posture import judge_facing
from framecheck.measure.ruler_fit import ruler_from_points
from framecheck.records.framing import (
    BodyRuler,
    FrameMeasurement,
    JointSeen,
    PersonFraming,
    Posture,
    Role,
)
from framecheck.records.values import Box, NotMeasured, PointPx

TRUTH_NAME = "truth.json"

UPRIGHT_LIMIT_DEG = 25.0
"""Largest angle between trunk and legs of somebody who stands up straight."""
STEEP_DEG = 20.0
OCCLUDED_FRAC = 0.10
"""A main subject of whom at least this share is hidden by others is tagged."""
NOT_IN_TRUTH = NotMeasured(reason="not part of the truth")


@dataclass(frozen=True)
class Frame:
    """One rendered picture and its truth."""

    path: Path
    truth: dict[str, Any]

    @property
    def picture(self) -> Box:
        """The active picture."""
        x, y, w, h = self.truth["picture_xywh_px"]
        return Box(x_px=x, y_px=y, w_px=w, h_px=h)

    @property
    def people(self) -> list[dict[str, Any]]:
        """Who is in it, the main subject first."""
        return list(self.truth["people"])


def read_frames(folder: Path) -> list[Frame]:
    """The pictures of a folder with their truth.

    Raises:
        ConfigError: there is no truth.json, it is no such file, or its pictures are not there.
    """
    path = folder / TRUTH_NAME
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
        frames = [Frame(path=folder / frame["file"], truth=frame) for frame in document["frames"]]
    except FileNotFoundError as error:
        raise ConfigError(
            f"there is no {TRUTH_NAME} in {folder}; name a folder of rendered scenes, as "
            "tests/bench/scenes of the project's source is one",
            where=str(folder),
        ) from error
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise ConfigError(f"{path} holds no scenes ({error!r})", where=str(path)) from error
    missing = next((frame.path for frame in frames if not frame.path.is_file()), None)
    if missing is not None or not frames:
        raise ConfigError(f"{path} names no picture that is there, as {missing}", where=str(path))
    return frames


def middle_px(person: dict[str, Any], name: str) -> PointPx | None:
    """A mark of the middle line, or half way between its two sides; None where one is not."""
    marks = person["marks_px"]
    if name in marks:
        return None if marks[name] is None else tuple(marks[name])
    left, right = marks.get(f"{name}_left"), marks.get(f"{name}_right")
    if left is None or right is None:
        return None
    return ((left[0] + right[0]) / 2, (left[1] + right[1]) / 2)


def is_upright(person: dict[str, Any]) -> bool:
    """Whether the person stands, trunk and legs in one line; sitters, kneelers, the bent do not."""
    if person["posture"] != "standing":
        return False
    marks = person["marks_m"]
    points = []
    for name in ("shoulder", "hip", "ankle"):
        left, right = marks.get(f"{name}_left"), marks.get(f"{name}_right")
        if left is None or right is None:
            return True
        points.append((np.asarray(left) + np.asarray(right)) / 2)
    trunk, legs = points[0] - points[1], points[1] - points[2]
    cosine = float(trunk @ legs / (np.linalg.norm(trunk) * np.linalg.norm(legs)))
    return float(np.degrees(np.arccos(np.clip(cosine, -1, 1)))) <= UPRIGHT_LIMIT_DEG


def tags_of(truth: dict[str, Any]) -> tuple[str, ...]:
    """Tags of a frame, with those of its main subject, of the camera, and how many it shows."""
    people = truth["people"]
    found = [*truth.get("tags", ()), f"people {len(people)}"]
    found += ["camera steep"] if abs(truth["camera"]["pitch_deg"]) >= STEEP_DEG else []
    if people:
        main = people[0]
        found += [*main.get("tags", ()), f"facing {main['facing']}"]
        found += ["occluded"] if main["occluded_frac"] >= OCCLUDED_FRAC else []
        found += [] if is_upright(main) else ["bent"]
    return tuple(dict.fromkeys(found))


def truth_ruler(person: dict[str, Any]) -> BodyRuler | None:
    """The ruler along the true marks; None when one of them lies behind the lens."""
    points = {name: middle_px(person, name) for name in MARK_LEVELS}
    whole = {name: point for name, point in points.items() if point is not None}
    if len(whole) < len(points):
        return None
    return ruler_from_points(whole, dict.fromkeys(whole, True), 0.001)


def truth_measurement(frame: Frame) -> FrameMeasurement:
    """What a measurement without any error would say."""
    people = tuple(_framing(i, person, frame.picture) for i, person in enumerate(frame.people))
    return FrameMeasurement(
        width_px=frame.truth["width_px"], height_px=frame.truth["height_px"],
        picture=frame.picture, people=people,
    )  # fmt: skip


def _framing(index: int, person: dict[str, Any], picture: Box) -> PersonFraming:
    ruler = truth_ruler(person)
    reading = person["ruler"]
    eye, chin, nose = (middle_px(person, name) for name in ("eye", "chin", "nose"))
    assert eye is not None
    assert chin is not None
    assert nose is not None
    x, y, w, h = person["box_xywh_px"]
    return PersonFraming(
        person=index,
        role=Role(person["role"]),
        choice="truth",
        box=Box(x_px=x, y_px=y, w_px=w, h_px=h),
        nose_px=nose,
        crown_y_px=picture.y_px + person["headroom_frac"] * picture.h_px,
        chin_y_px=chin[1],
        head_height_px=reading["head_height_px"],
        ruler=ruler,
        crop_level=reading["bottom"],
        top_level=reading["top"],
        left_cut=_side(reading["left"]),
        right_cut=_side(reading["right"]),
        headroom_frac=person["headroom_frac"],
        look_room_frac=NOT_IN_TRUTH,
        look_ahead_wfrac=NOT_IN_TRUTH,
        eye_line_frac=(eye[1] - picture.y_px) / picture.h_px,
        head_yaw_deg=person["head_yaw_deg"],
        head_pitch_deg=person["head_pitch_deg"],
        head_roll_deg=person["head_roll_deg"],
        facing=judge_facing(person["head_yaw_deg"]),
        posture=Posture(person["posture"]),
        figure_frac=reading["figure_px"] / picture.h_px,
        joints=_joints(person, picture),
        skeleton_px=(),
        confidence=1.0,
    )


def _side(levels: list[float] | None) -> float | NotMeasured:
    return NotMeasured(reason="clear of the edge") if levels is None else max(levels)


def _joints(person: dict[str, Any], picture: Box) -> tuple[JointSeen, ...]:
    stems = {
        "elbow": "elbow",
        "wrist": "wrist",
        "fingertips": "fingertip",
        "knee": "knee",
        "ankle": "ankle",
    }
    found = []
    for part, stem in stems.items():
        for side in ("left", "right"):
            point = person["marks_px"].get(f"{stem}_{side}")
            if point is not None:
                inside = is_inside((point[0], point[1]), picture)
                found.append(
                    JointSeen(
                        part=part,
                        side=side,
                        x_px=point[0],
                        y_px=point[1],
                        inside=inside,
                        seen=inside,
                    )
                )
    return tuple(found)
