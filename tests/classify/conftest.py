"""Stick figures to check by hand: an upright body on the handbook's proportions.

The standard figure is 1000 px tall with its crown at y = 100, so that level L lies at
y = 1100 - 1000 L. A picture is 1600 px wide, starts at y = 0 unless told, and its bottom edge is
put where the wanted crop level lies.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

import framecheck.classify
from framecheck.classify.room import RoomRanges, parse_room_ranges
from framecheck.classify.thresholds import Thresholds
from framecheck.classify.vocabulary import Vocabulary, parse_vocabulary
from framecheck.geometry.ruler import MARK_LEVELS, read_bottom_edge, read_top_edge
from framecheck.records.framing import (
    BodyRuler,
    Facing,
    FrameMeasurement,
    JointSeen,
    PersonFraming,
    Posture,
    Role,
    RulerMark,
)
from framecheck.records.values import Box, Measured, NotMeasured

DATA = Path(framecheck.classify.__file__).parent / "data"
NOT_CUT = NotMeasured(reason="not cut by this edge")
TO_LENS = NotMeasured(reason="faces the lens")

PersonBuilder = Callable[..., PersonFraming]
FrameBuilder = Callable[..., FrameMeasurement]


def build_picture(
    crop_level: float = 0.6, *, top_px: float = 0.0, left_px: float = 0.0, w_px: float = 1600.0
) -> Box:
    bottom_px = 1100.0 - 1000.0 * crop_level
    return Box(x_px=left_px, y_px=top_px, w_px=w_px, h_px=bottom_px - top_px)


def build_ruler(
    x_px: float = 800.0, crown_px: float = 100.0, figure_px: float = 1000.0, error: float = 0.02
) -> BodyRuler:
    marks = tuple(
        RulerMark(
            name=name,
            level=level,
            x_px=x_px,
            y_px=crown_px + (1.0 - level) * figure_px,
            seen=True,
        )
        for name, level in MARK_LEVELS.items()
    )
    return BodyRuler(marks=marks, figure_px=figure_px, error_level=error)


def build_person(
    picture: Box,
    *,
    person: int = 0,
    role: Role = Role.SUBJECT,
    x_px: float = 800.0,
    crown_px: float = 100.0,
    figure_px: float = 1000.0,
    error: float = 0.02,
    yaw_deg: Measured = 0.0,
    facing: Facing | None = Facing.TO_LENS,
    joints: tuple[JointSeen, ...] = (),
    left_cut: Measured = NOT_CUT,
    right_cut: Measured = NOT_CUT,
    ruler: BodyRuler | None = None,
) -> PersonFraming:
    ruler = ruler or build_ruler(x_px, crown_px, figure_px, error)
    eye_px = crown_px + 0.064 * figure_px
    ratio, ahead = _look(picture, x_px, 0.06 * figure_px, yaw_deg, facing)
    return PersonFraming(
        person=person,
        role=role,
        choice="built for a test",
        box=Box(x_px=x_px - 100, y_px=max(crown_px, 0), w_px=200, h_px=figure_px),
        nose_px=(x_px, crown_px + 0.09 * figure_px),
        crown_y_px=crown_px,
        chin_y_px=crown_px + 0.13 * figure_px,
        head_height_px=0.13 * figure_px,
        ruler=ruler,
        crop_level=read_bottom_edge(ruler, picture.bottom_px),
        top_level=read_top_edge(ruler, picture.y_px),
        left_cut=left_cut,
        right_cut=right_cut,
        headroom_frac=(crown_px - picture.y_px) / picture.h_px,
        look_room_frac=ratio,
        look_ahead_wfrac=ahead,
        eye_line_frac=(eye_px - picture.y_px) / picture.h_px,
        head_yaw_deg=yaw_deg,
        head_pitch_deg=0.0,
        head_roll_deg=0.0,
        facing=facing,
        posture=Posture.STANDING,
        figure_frac=ruler.figure_px / picture.h_px,
        joints=joints,
        skeleton_px=(),
        confidence=1.0,
    )


def _look(
    picture: Box, x_px: float, half_head_px: float, yaw_deg: Measured, facing: Facing | None
) -> tuple[Measured, Measured]:
    turned = facing in (Facing.PROFILE, Facing.THREE_QUARTER)
    if isinstance(yaw_deg, NotMeasured) or not turned:
        return TO_LENS, TO_LENS
    left_px = x_px - half_head_px - picture.x_px
    right_px = picture.right_px - x_px - half_head_px
    ahead_px, behind_px = (right_px, left_px) if yaw_deg > 0 else (left_px, right_px)
    return max(0.0, ahead_px) / max(0.5, behind_px), max(0.0, ahead_px) / picture.w_px


def build_joint(part: str, x_px: float, y_px: float, side: str = "left") -> JointSeen:
    return JointSeen(part=part, side=side, x_px=x_px, y_px=y_px, inside=True, seen=True)


def build_frame(picture: Box, *people: PersonFraming) -> FrameMeasurement:
    return FrameMeasurement(
        width_px=int(picture.right_px),
        height_px=int(picture.bottom_px),
        picture=picture,
        people=people,
    )


@pytest.fixture(scope="session")
def a_picture() -> Callable[..., Box]:
    return build_picture


@pytest.fixture(scope="session")
def a_ruler() -> Callable[..., BodyRuler]:
    return build_ruler


@pytest.fixture(scope="session")
def a_person() -> PersonBuilder:
    return build_person


@pytest.fixture(scope="session")
def a_joint() -> Callable[..., JointSeen]:
    return build_joint


@pytest.fixture(scope="session")
def a_frame() -> FrameBuilder:
    return build_frame


@pytest.fixture(scope="session")
def thresholds() -> Thresholds:
    return Thresholds()


@pytest.fixture(scope="session")
def ranges() -> RoomRanges:
    return parse_room_ranges((DATA / "headroom.toml").read_text(encoding="utf-8"), "headroom.toml")


@pytest.fixture(scope="session")
def vocabularies() -> dict[str, Vocabulary]:
    paths = sorted((DATA / "vocabularies").glob("*.toml"))
    return {
        path.stem: parse_vocabulary(path.read_text(encoding="utf-8"), path.name) for path in paths
    }
