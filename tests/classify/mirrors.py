"""Measured pictures for property tests, and their mirror images."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from framecheck.records.framing import (
    BodyRuler,
    Edge,
    Facing,
    FrameMeasurement,
    JointSeen,
    PersonFraming,
    Role,
)
from framecheck.records.values import Box
from tests.classify.conftest import build_frame, build_joint, build_person, build_picture

OTHER_EDGE = {Edge.LEFT: Edge.RIGHT, Edge.RIGHT: Edge.LEFT, Edge.TOP: Edge.TOP,
              Edge.BOTTOM: Edge.BOTTOM}  # fmt: skip
OTHER_SIDE = {"left": "right", "right": "left", "": ""}
_FACINGS = ((Facing.TO_LENS, 0.0), (Facing.THREE_QUARTER, 45.0), (Facing.PROFILE, 90.0),
            (Facing.AWAY, 170.0))  # fmt: skip


@st.composite
def pictures(draw: st.DrawFn) -> Box:
    crop = draw(st.integers(-40, 95)) / 100
    top = draw(st.sampled_from([-300.0, -40.0, 0.0, 80.0, 130.0]))
    return build_picture(crop, top_px=top, w_px=float(draw(st.integers(400, 2600))))


@st.composite
def arms(draw: st.DrawFn, x_px: float) -> tuple[JointSeen, ...]:
    """Joints of both arms, hanging or stretched aside."""
    joints = []
    for side, sign in (("left", 1), ("right", -1)):
        reach = draw(st.integers(0, 700))
        for part, share, y in (
            ("elbow", 0.4, 470.0),
            ("wrist", 0.8, 615.0),
            ("fingertips", 1, 720.0),
        ):
            joint = build_joint(part, x_px + sign * (130 + share * reach), y, side)
            joints.append(replace(joint, seen=draw(st.booleans())))
    return tuple(joints)


@st.composite
def frames(draw: st.DrawFn, most: int = 3) -> FrameMeasurement:
    """A picture of one to three upright people, turned any way, anywhere in it."""
    picture = draw(pictures())
    people = []
    for person in range(draw(st.integers(1, most))):
        x = float(draw(st.integers(int(picture.x_px) + 20, int(picture.right_px) - 20)))
        facing, yaw = draw(st.sampled_from(_FACINGS))
        sign = draw(st.sampled_from([-1, 1]))
        size = 1000.0 if person == 0 else float(draw(st.integers(300, 1600)))
        people.append(
            build_person(
                picture,
                person=person,
                x_px=x,
                facing=facing,
                yaw_deg=sign * yaw,
                figure_px=size,
                role=Role.SUBJECT if person == 0 else draw(st.sampled_from(Role)),
                joints=draw(arms(x)) if person == 0 else (),
            )
        )
    return build_frame(picture, *people)


def mirrored(measurement: FrameMeasurement) -> FrameMeasurement:
    """The same picture seen in a mirror that stands on its right edge."""
    width = 2 * measurement.picture.right_px
    return replace(
        measurement,
        picture=_box(measurement.picture, width),
        people=tuple(_person(person, width) for person in measurement.people),
    )


def scaled(
    measurement: FrameMeasurement, scale: float, by: tuple[float, float]
) -> FrameMeasurement:
    """The same picture larger and elsewhere in its file."""

    def box(one: Box) -> Box:
        return Box(
            x_px=scale * one.x_px + by[0], y_px=scale * one.y_px + by[1],
            w_px=scale * one.w_px, h_px=scale * one.h_px,
        )  # fmt: skip

    def person(one: PersonFraming) -> PersonFraming:
        at = {"x_px": by[0], "y_px": by[1]}
        assert one.ruler is not None
        crown, chin, head = one.crown_y_px, one.chin_y_px, one.head_height_px
        assert isinstance(crown, float)
        assert isinstance(chin, float)
        assert isinstance(head, float)
        marks = tuple(
            replace(mark, **{k: scale * getattr(mark, k) + v for k, v in at.items()})
            for mark in one.ruler.marks
        )
        joints = tuple(
            replace(joint, **{k: scale * getattr(joint, k) + v for k, v in at.items()})
            for joint in one.joints
        )
        return replace(
            one, box=box(one.box),
            nose_px=(scale * one.nose_px[0] + by[0], scale * one.nose_px[1] + by[1]),
            crown_y_px=scale * crown + by[1], chin_y_px=scale * chin + by[1],
            head_height_px=scale * head, joints=joints,
            ruler=replace(one.ruler, marks=marks, figure_px=scale * one.ruler.figure_px),
        )  # fmt: skip

    return replace(
        measurement, picture=box(measurement.picture), people=tuple(map(person, measurement.people))
    )


def _box(box: Box, width_px: float) -> Box:
    return replace(box, x_px=width_px - box.right_px)


def _ruler(ruler: BodyRuler, width_px: float) -> BodyRuler:
    marks = tuple(replace(mark, x_px=width_px - mark.x_px) for mark in ruler.marks)
    return replace(ruler, marks=marks)


def _person(person: PersonFraming, width_px: float) -> PersonFraming:
    joints = [
        replace(joint, x_px=width_px - joint.x_px, side=OTHER_SIDE[joint.side])
        for joint in person.joints
    ]
    yaw = person.head_yaw_deg
    return replace(
        person,
        box=_box(person.box, width_px),
        nose_px=(width_px - person.nose_px[0], person.nose_px[1]),
        ruler=None if person.ruler is None else _ruler(person.ruler, width_px),
        left_cut=person.right_cut,
        right_cut=person.left_cut,
        head_yaw_deg=-yaw if isinstance(yaw, float) else yaw,
        joints=tuple(joints),
        cut_edges=tuple(OTHER_EDGE[edge] for edge in person.cut_edges),
    )
