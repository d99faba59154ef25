"""Stick figures with known truth: pictures and results for tests of tables and drawings."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw

from framecheck.geometry.ruler import MARK_LEVELS, read_bottom_edge, read_top_edge
from framecheck.records.framing import (
    BodyRuler,
    Edge,
    Facing,
    FrameMeasurement,
    JointSeen,
    PersonFraming,
    Posture,
    Role,
    RulerMark,
)
from framecheck.records.judged import (
    Advice,
    Flag,
    FrameJudgement,
    FrameResult,
    Severity,
    ShotType,
    SizeName,
)
from framecheck.records.values import Box, NotMeasured


def a_ruler(x_px, sole_px, stature_px, height_px, lean=0.0):
    """An upright ruler; marks inside the picture height count as seen."""
    marks = []
    for name, level in MARK_LEVELS.items():
        y = sole_px - level * stature_px
        marks.append(
            RulerMark(
                name=name,
                level=level,
                x_px=x_px + lean * level * stature_px,
                y_px=y,
                seen=0 <= y <= height_px,
            )
        )
    return BodyRuler(marks=tuple(marks), figure_px=stature_px, error_level=0.02)


def _joints_of(ruler, stature_px):
    at = {mark.name: (mark.x_px, mark.y_px) for mark in ruler.marks}
    wide = stature_px
    joints = {}
    for side, sign in (("left", 1), ("right", -1)):
        joints[f"shoulder_{side}"] = (at["shoulder"][0] + sign * 0.115 * wide, at["shoulder"][1])
        joints[f"elbow_{side}"] = (
            at["shoulder"][0] + sign * 0.15 * wide,
            at["shoulder"][1] + 0.188 * wide,
        )
        joints[f"wrist_{side}"] = (
            at["hip"][0] + sign * 0.14 * wide,
            at["hip"][1] + 0.045 * wide,
        )
        joints[f"hip_{side}"] = (at["hip"][0] + sign * 0.05 * wide, at["hip"][1])
        joints[f"knee_{side}"] = (at["knee"][0] + sign * 0.055 * wide, at["knee"][1])
        joints[f"ankle_{side}"] = (at["ankle"][0] + sign * 0.05 * wide, at["ankle"][1])
    return joints


_BONES = [
    ("shoulder_left", "shoulder_right"), ("hip_left", "hip_right"),
    *[(f"{a}_{s}", f"{b}_{s}") for s in ("left", "right")
      for a, b in (("shoulder", "elbow"), ("elbow", "wrist"), ("shoulder", "hip"),
                   ("hip", "knee"), ("knee", "ankle"))],
]  # fmt: skip


def a_person(picture, *, x=0.5, crown=0.1, stature=2.0, yaw=30.0, person=0, lean=0.0, role=None):
    """A standing figure; positions as shares of the active picture, which is a Box."""
    height = picture.bottom_px
    stature_px = stature * picture.h_px
    x_px = picture.x_px + x * picture.w_px
    crown_px = picture.y_px + crown * picture.h_px
    sole_px = crown_px + stature_px
    ruler = a_ruler(x_px, sole_px, stature_px, height, lean)
    joints = _joints_of(ruler, stature_px)
    at = {mark.name: (mark.x_px, mark.y_px) for mark in ruler.marks}
    head_px = 0.13 * stature_px
    left = max(picture.x_px, x_px - 0.16 * stature_px)
    right = min(picture.right_px, x_px + 0.16 * stature_px)
    top, bottom = max(picture.y_px, crown_px), min(height, sole_px)
    nose = (at["crown"][0] + 0.2 * head_px * np.sin(np.radians(yaw)), crown_px + 0.62 * head_px)
    nose_share = (nose[0] - picture.x_px) / picture.w_px
    half_head = 0.4 * head_px / picture.w_px
    ahead = (1 - nose_share if yaw > 0 else nose_share) - half_head
    behind = (nose_share if yaw > 0 else 1 - nose_share) - half_head
    looks = abs(yaw) > 10
    to_lens = NotMeasured(reason="faces the lens")
    inside = [
        (start, end) for start, end in _BONES
        if all(0 <= joints[n][1] <= height and picture.x_px <= joints[n][0] <= picture.right_px
               for n in (start, end))
    ]  # fmt: skip
    return PersonFraming(
        person=person,
        role=role or (Role.SUBJECT if person == 0 else Role.BACKGROUND),
        choice="largest and sharpest",
        box=Box(x_px=left, y_px=top, w_px=max(0, right - left), h_px=max(0, bottom - top)),
        nose_px=nose,
        crown_y_px=crown_px,
        chin_y_px=at["chin"][1],
        head_height_px=head_px,
        ruler=ruler,
        crop_level=read_bottom_edge(ruler, picture.bottom_px),
        top_level=read_top_edge(ruler, picture.y_px),
        left_cut=NotMeasured(reason="the left edge does not cut the body"),
        right_cut=NotMeasured(reason="the right edge does not cut the body"),
        headroom_frac=(crown_px - picture.y_px) / picture.h_px,
        look_room_frac=ahead / behind if looks else to_lens,
        look_ahead_wfrac=ahead if looks else to_lens,
        eye_line_frac=(at["eye"][1] - picture.y_px) / picture.h_px,
        head_yaw_deg=yaw,
        head_pitch_deg=-2.0,
        head_roll_deg=1.0,
        facing=Facing.THREE_QUARTER if looks else Facing.TO_LENS,
        posture=Posture.STANDING,
        figure_frac=stature,
        joints=tuple(
            JointSeen(
                part=name.split("_")[0],
                side=name.split("_")[1],
                x_px=px,
                y_px=py,
                inside=0 <= py <= height,
                seen=0 <= py <= height,
            )
            for name, (px, py) in joints.items()
            if name.split("_")[0] in {"wrist", "elbow", "knee", "ankle"}
        ),
        skeleton_px=tuple((joints[a], joints[b]) for a, b in inside),
        confidence=0.87,
    )


def a_flag(part="knee", distance=0.012, severity=Severity.HIGH, edge=Edge.BOTTOM, person=0):
    """One flag."""
    return Flag(
        part=part,
        person=person,
        edge=edge,
        distance_level=distance,
        severity=severity,
        certainty=0.8,
    )


AN_ADVICE = Advice(
    text="Move the bottom edge up by 6 % of the picture height, or go 7 % tighter.",
    edge=Edge.BOTTOM,
    move_frac=-0.06,
    field_change_frac=-0.07,
    clears=("knee",),
)


def a_result(width=1280, height=720, *, people=None, size="cowboy", flags=(), advice=(),
             picture=None, file="stills/a_01.jpg", second=""):  # fmt: skip
    """A measured and judged picture; people as a list of keyword dicts for `a_person`."""
    picture = picture or Box(x_px=0, y_px=0, w_px=width, h_px=height)
    persons = tuple(
        a_person(picture, person=index, **options)
        for index, options in enumerate([{}] if people is None else people)
    )
    sizes = (
        (
            SizeName(
                vocabulary="common trade usage",
                name=size,
                abbr="".join(word[0] for word in size.split()).upper(),
                confidence=0.91,
                second=second,
            ),
        )
        if persons
        else ()
    )
    return FrameResult(
        file=file,
        measurement=FrameMeasurement(
            width_px=width, height_px=height, picture=picture, people=persons
        ),
        judgement=FrameJudgement(
            shot_type=ShotType.SINGLE if persons else ShotType.NO_PEOPLE,
            sizes=sizes,
            flags=tuple(flags),
            advice=tuple(advice),
        ),
    )


def a_drawing_of(result, *, dark=False):
    """A gradient with the people painted as soft shapes, to see a drawing on."""
    measurement = result.measurement
    w, h = measurement.width_px, measurement.height_px
    ramp = np.linspace(0.25, 0.75, h)[:, None] * np.linspace(0.7, 1.2, w)[None, :]
    tint = np.array([70, 84, 110]) if dark else np.array([205, 190, 170])
    image = Image.fromarray((np.clip(ramp[..., None] * tint, 0, 255)).astype(np.uint8))
    pen = ImageDraw.Draw(image)
    for person in reversed(measurement.people):
        at = {mark.name: (mark.x_px, mark.y_px) for mark in person.ruler.marks}
        s = person.ruler.figure_px
        x = at["crown"][0]
        pen.ellipse(
            [x - 0.05 * s, at["crown"][1], x + 0.05 * s, at["chin"][1]], fill=(214, 168, 140)
        )
        pen.pieslice(
            [x - 0.052 * s, at["crown"][1], x + 0.052 * s, at["chin"][1]],
            180,
            360,
            fill=(60, 44, 36),
        )
        pen.rectangle(
            [x - 0.025 * s, at["chin"][1] - 5, x + 0.025 * s, at["shoulder"][1] + 5],
            fill=(200, 155, 128),
        )
        pen.rounded_rectangle(
            [x - 0.125 * s, at["shoulder"][1], x + 0.125 * s, at["hip"][1] + 0.03 * s],
            0.03 * s,
            fill=(70, 96, 104),
        )
        for sign in (-1, 1):
            pen.rounded_rectangle(
                [
                    x + sign * 0.055 * s - 0.045 * s,
                    at["hip"][1],
                    x + sign * 0.055 * s + 0.045 * s,
                    at["sole"][1],
                ],
                0.02 * s,
                fill=(52, 54, 62),
            )
            pen.rounded_rectangle(
                [
                    x + sign * 0.14 * s - 0.022 * s,
                    at["shoulder"][1] + 0.01 * s,
                    x + sign * 0.14 * s + 0.022 * s,
                    at["hip"][1] + 0.06 * s,
                ],
                0.02 * s,
                fill=(64, 88, 96),
            )
    if measurement.picture.h_px < h:
        bar = measurement.picture.y_px
        pen.rectangle([0, 0, w, bar - 1], fill=(0, 0, 0))
        pen.rectangle([0, measurement.picture.bottom_px, w, h], fill=(0, 0, 0))
    return np.asarray(image)
