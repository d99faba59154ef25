"""A person on the set: a dressed body at a place, with named points in world metres."""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace

import numpy as np

from sample_frames.stage import regions
from sample_frames.stage.bodies import (
    SIDES,
    Floats,
    RestBody,
    Shape,
    keypoint_weights,
    load_template,
    shape_body,
)
from sample_frames.stage.looks import Look
from sample_frames.stage.parts import Part
from sample_frames.stage.poses import SOLE_M, Pose, PosedBody, pose_body
from sample_frames.stage.wardrobe import dress

JOINTS = {
    "shoulder": "upperarm01",
    "elbow": "lowerarm01",
    "wrist": "wrist",
    "hip": "upperleg01",
    "knee": "lowerleg01",
    "ankle": "foot",
}


@dataclass(frozen=True, eq=False)
class Person:
    """A posed, dressed person.

    Attributes:
        marks_m: Named points in world metres; left and right are the person's own.
        face_forward: Unit vector out of the face.
        face_up: Unit vector out of the top of the head.
    """

    look: Look
    pose: Pose
    parts: tuple[Part, ...]
    marks_m: dict[str, Floats]
    face_forward: Floats
    face_up: Floats
    stature_m: float

    @property
    def head_points_m(self) -> Floats:
        """Vertices of the head, hair and hat included."""
        return np.concatenate([p.points_m[p.head] for p in self.parts if p.head.any()])

    @property
    def eyes_m(self) -> Floats:
        """Point midway between the eyes."""
        return 0.5 * (self.marks_m["eye_left"] + self.marks_m["eye_right"])

    def moved(self, x_m: float, y_m: float, z_m: float = 0.0) -> Person:
        """The same person shifted over the floor, or onto something `z_m` high."""
        offset = np.array([x_m, y_m, z_m])
        return Person(
            self.look,
            self.pose,
            tuple(part.moved(0.0, offset) for part in self.parts),
            {name: point + offset for name, point in self.marks_m.items()},
            self.face_forward,
            self.face_up,
            self.stature_m,
        )


def make_person(look: Look, pose: Pose) -> Person:
    """Return a person at the origin of the floor.

    Args:
        look: Appearance.
        pose: Posture, with the body's turn.
    """
    template = load_template()
    rest = shape_body(look.shape)
    body = pose_body(template, rest, pose)
    turn = body.turns[template.bone("head")]
    stature_m = float(rest.vertices_m[_crown(), 2] - _sole_height(rest))
    return Person(
        look,
        pose,
        tuple(dress(look, body)),
        _marks(rest, body),
        turn @ np.array([0.0, -1.0, 0.0]),
        turn @ np.array([0.0, 0.0, 1.0]),
        stature_m,
    )


def shape_of_stature(shape: Shape, stature_m: float) -> Shape:
    """The same phenotype with the height value that gives a stature in metres."""
    values = (0.25, 0.55)
    found = []
    for value in values:
        rest = shape_body(replace(shape, height=value))
        found.append(rest.vertices_m[_crown(), 2] - _sole_height(rest))
    height = np.interp(stature_m, found, values)
    if not found[0] <= stature_m <= found[1]:
        # The body model is linear in this value, well beyond the two probes.
        slope = (values[1] - values[0]) / (found[1] - found[0])
        height = values[0] + slope * (stature_m - found[0])
    return replace(shape, height=float(np.clip(height, 0.02, 0.98)))


def _sole_height(rest: RestBody) -> float:
    return float(rest.vertices_m[np.unique(load_template().groups["body"]), 2].min() - SOLE_M)


@functools.lru_cache(maxsize=1)
def _head_body() -> Floats:
    share = regions.bone_share(("head",))
    return np.intersect1d(np.flatnonzero(share > 0.5), np.unique(load_template().groups["body"]))


@functools.lru_cache(maxsize=1)
def _crown() -> int:
    rest = load_template().rest_m
    return int(_head_body()[np.argmax(rest[_head_body(), 2])])


@functools.lru_cache(maxsize=1)
def _face_points() -> dict[str, int]:
    """Mesh vertices of the chin (menton) and nose tip."""
    rest = load_template().rest_m
    share = regions.bone_share(("head", "neck", "jaw"))
    body = np.unique(load_template().groups["body"])
    middle = body[(np.abs(rest[body, 0]) < 2e-3) & (share[body] > 0.3)]
    nose = int(middle[np.argmin(rest[middle, 1])])
    under = middle[rest[middle, 2] < rest[nose, 2] - 0.035]
    chin = int(under[np.argmin(rest[under, 1] * 0.7 + rest[under, 2] * 0.7)])
    return {"chin": chin, "nose": nose}


@functools.lru_cache(maxsize=2)
def _limb_ends(mark: str) -> dict[str, int]:
    """Mesh vertices of the middle fingertip, heel and toe tip of one side."""
    template = load_template()
    rest = template.rest_m
    body = np.unique(template.groups["body"])
    tip_share = np.asarray(
        template.weights[:, template.bone(f"finger3-3.{mark}")].todense()
    ).ravel()
    finger = body[tip_share[body] > 0.3]
    wrist = template.heads_m[template.bone(f"wrist.{mark}")]
    foot = body[(rest[body, 2] < template.heads_m[template.bone("foot.L"), 2] - 0.03)]
    foot = foot[(rest[foot, 0] > 0) == (mark == "L")]
    return {
        "fingertip": int(finger[np.argmax(np.linalg.norm(rest[finger] - wrist, axis=1))]),
        "heel": int(foot[np.argmax(rest[foot, 1])]),
        "toe": int(foot[np.argmin(rest[foot, 1])]),
    }


def _marks(rest: RestBody, body: PosedBody) -> dict[str, Floats]:
    template = load_template()
    ears = keypoint_weights()
    marks = {"crown": body.vertices_m[_crown()]}
    marks |= {name: body.vertices_m[index] for name, index in _face_points().items()}
    for side, mark in SIDES.items():
        eyeball = np.unique(template.groups[f"helper-{mark.lower()}-eye"])
        front = eyeball[np.argsort(template.rest_m[eyeball, 1])[:8]]
        marks[f"eye_{side}"] = body.vertices_m[front].mean(axis=0)
        marks[f"ear_{side}"] = ears[f"{side}_ear"] @ body.vertices_m
        for name, bone in JOINTS.items():
            marks[f"{name}_{side}"] = body.heads_m[template.bone(f"{bone}.{mark}")]
        for name, index in _limb_ends(mark).items():
            marks[f"{name}_{side}"] = body.vertices_m[index]
        foot = template.bone(f"foot.{mark}")
        drop = rest.heads_m[foot, 2] - _sole_height(rest)
        marks[f"sole_{side}"] = body.heads_m[foot] - body.turns[foot] @ [0.0, 0.0, drop]
    return {name: np.asarray(point, float) for name, point in marks.items()}
