"""What the pose stage saw: landmarks, faces and masks, before any measurement."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from framecheck.records.values import Box, PointPx

JOINTS: tuple[str, ...] = (
    "nose", "eye_inner_left", "eye_left", "eye_outer_left",
    "eye_inner_right", "eye_right", "eye_outer_right", "ear_left", "ear_right",
    "mouth_left", "mouth_right", "shoulder_left", "shoulder_right", "elbow_left", "elbow_right",
    "wrist_left", "wrist_right", "pinky_left", "pinky_right", "index_left", "index_right",
    "thumb_left", "thumb_right", "hip_left", "hip_right", "knee_left", "knee_right",
    "ankle_left", "ankle_right", "heel_left", "heel_right", "toe_left", "toe_right",
)  # fmt: skip
"""Order of the rows of `BodySeen.joints_px`; left and right are the subject's own."""

JOINT_INDEX: dict[str, int] = {name: row for row, name in enumerate(JOINTS)}

FloatArray = npt.NDArray[np.float64]
MaskArray = npt.NDArray[np.uint8]


def frozen_copy(array: npt.NDArray[np.generic], dtype: type) -> npt.NDArray[np.generic]:
    """A read-only copy, so that a record holding it cannot change."""
    copy: npt.NDArray[np.generic] = np.array(array, dtype=dtype)
    copy.setflags(write=False)
    return copy


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MaskSeen:
    """Where one person's pixels are.

    Attributes:
        inside: (rows, columns) uint8, 255 = surely the person, 0 = surely not.
        box: the part of the picture, in pixels of the whole file, that the array covers.
    """

    inside: MaskArray
    box: Box

    def __post_init__(self) -> None:
        if self.inside.ndim != 2:
            raise ValueError(f"a mask needs 2 axes, got shape {self.inside.shape}")
        object.__setattr__(self, "inside", frozen_copy(self.inside, np.uint8))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaceSeen:
    """One face.

    Attributes:
        box: the detector's box in pixels of the whole file.
        score: 0..1, the detector's own.
        points_px: (468, 3) landmark mesh, x right, y down, z away from the lens in the scale of x;
            an array of shape (0, 3) when the mesh was not found.
        keypoints_px: (6, 2) eye right, eye left, nose tip, mouth centre, ear right, ear left
            (the subject's own right and left); shape (0, 2) when unknown.
        found_by: the pass that found it, in plain words.
    """

    box: Box
    score: float
    points_px: FloatArray
    keypoints_px: FloatArray
    found_by: str

    def __post_init__(self) -> None:
        if self.points_px.ndim != 2 or self.points_px.shape[1] != 3:
            raise ValueError(f"points_px needs shape (N, 3), got {self.points_px.shape}")
        object.__setattr__(self, "points_px", frozen_copy(self.points_px, np.float64))
        object.__setattr__(self, "keypoints_px", frozen_copy(self.keypoints_px, np.float64))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BodySeen:
    """One body.

    Attributes:
        joints_px: (33, 2) in the order of `JOINTS`, x right, y down, pixels of the whole file.
            Points outside the picture are the network's guesses and are not to be trusted.
        joints_m: (33, 3) the same in metres around the hip centre, x right, y down, z away.
        presence: (33,) 0..1, the network's belief that the joint is in the picture.
        mask: the person's pixels.
        score: 0..1.
        found_by: the pass that found it, in plain words.
    """

    joints_px: FloatArray
    joints_m: FloatArray
    presence: FloatArray
    mask: MaskSeen
    score: float
    found_by: str

    def __post_init__(self) -> None:
        expected = {"joints_px": (33, 2), "joints_m": (33, 3), "presence": (33,)}
        for name, shape in expected.items():
            array = getattr(self, name)
            if array.shape != shape:
                raise ValueError(f"{name} needs shape {shape}, got {array.shape}")
            object.__setattr__(self, name, frozen_copy(array, np.float64))

    @property
    def is_put(self) -> bool:
        """True for a body that was put under a head: no pose network saw its joints."""
        return not self.presence.any()


@dataclass(frozen=True, slots=True, kw_only=True)
class AnglesSeen:
    """Angles that a network reads from a person's pixels, degrees.

    Attributes:
        head_yaw_deg, body_yaw_deg: 0 into the lens, + to the viewer's right, -180 to 180.
        camera_pitch_deg, camera_pitch_error_deg: of the camera that took the picture, + looks up,
            and the expected error of that.
    """

    head_yaw_deg: float
    body_yaw_deg: float
    camera_pitch_deg: float
    camera_pitch_error_deg: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MarksSeen:
    """Where the marks below the chin really are, as a network says that looked at the pixels.

    Attributes:
        points_px: (5, 2) shoulder, hip, knee, ankle and sole, x right, y down, pixels of the whole
            file; may lie outside the picture.
        errors_px: (5,) expected errors of their heights.
        head_top_px: highest row of the head, hair included; may lie above the picture.
        angles: of the head, the body and the camera, where the network tells them.
        somebody: 0..1, its belief that this is a person, and no statue, doll or pattern.
    """

    points_px: FloatArray
    errors_px: FloatArray
    head_top_px: float
    angles: AnglesSeen | None = None
    somebody: float = 1.0

    def __post_init__(self) -> None:
        for name, shape in (("points_px", (5, 2)), ("errors_px", (5,))):
            array = getattr(self, name)
            if array.shape != shape:
                raise ValueError(f"{name} needs shape {shape}, got {array.shape}")
            object.__setattr__(self, name, frozen_copy(array, np.float64))


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadSeen:
    """A head as a network sees it that looks for nothing else.

    Attributes:
        centre_px: middle of the bare head, from the crown to the chin, pixels of the whole file.
        height_px: from the crown to the chin, > 0; what the frame cuts away is guessed.
        down: unit vector in the picture from the head towards the hips.
    """

    centre_px: PointPx
    height_px: float
    down: PointPx = (0.0, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PersonSeen:
    """One person: a body, a face, both, or nothing but an outline.

    Attributes:
        outline: a figure whose joints and face were not found, as a back that fills a corner.
        head_px: middle of the head of an outline, where it was seen.
        marks: the body's marks, where a network looked for them; else they follow from the joints.
        head: the head, where a network for heads saw it as well.
    """

    body: BodySeen | None = None
    face: FaceSeen | None = None
    outline: MaskSeen | None = None
    marks: MarksSeen | None = None
    head_px: PointPx | None = None
    head: HeadSeen | None = None

    def __post_init__(self) -> None:
        if self.body is None and self.face is None and self.outline is None:
            raise ValueError("a person needs a body, a face or an outline, got none")
