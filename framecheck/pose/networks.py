"""The MediaPipe networks behind plain functions: a view in, landmarks in file pixels out."""

from __future__ import annotations

import atexit
import threading
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Any

import numpy as np
import numpy.typing as npt

from framecheck.errors import ModelBroken
from framecheck.pose.models import ModelPaths
from framecheck.pose.views import View
from framecheck.records.seen import JOINT_INDEX, JOINTS, BodySeen, FaceSeen, MaskSeen
from framecheck.records.values import Box

MESH_POINTS = 468
"""Points of the face mesh; the network's answer is padded to 478 (see `framecheck.pose.bundle`)."""


class Networks:
    """One set of loaded networks. Not safe to share between threads or processes.

    Args:
        pose_task: bundle of the pose detector and the pose landmark network.
        face_short: face detector for near faces. face_full: for far faces.
        face_task: bundle of the near-face detector and the face landmark network.
        people_masks: networks that tell people from the rest; their opinions are added.
        max_people: most people that one pass returns.

    Raises:
        ModelBroken: a model file would not load.
    """

    _closed = False

    def __init__(  # noqa: PLR0913 - one file a network, all named
        self, *, pose_task: Path, face_short: Path, face_full: Path, face_task: Path,
        people_masks: tuple[Path, ...], max_people: int = 6,
    ) -> None:  # fmt: skip

        try:
            self._pose = _open_pose(pose_task, max_people)
            self._faces = {
                "near-face detector": _open_faces(face_short),
                "far-face detector": _open_faces(face_full),
            }
            self._mesh = _open_mesh(face_task)
            self._people = [_open_people(path) for path in people_masks]
            # Networks that are still open when Python ends complain at length.
            _before_shutdown(self.close)
        except (RuntimeError, ValueError, OSError) as error:
            raise ModelBroken(
                f"a model file would not load: {error}. Run 'framecheck models' to check them",
                where=str(pose_task.parent),
            ) from error

    def __enter__(self) -> Networks:
        """Use as a context manager, so that the networks are closed."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:  # fmt: skip
        """Close the networks."""
        self.close()

    def close(self) -> None:
        """Free the networks."""
        if self._closed:
            return
        self._closed = True
        for network in (self._pose, self._mesh, *self._people, *self._faces.values()):
            network.close()

    def find_bodies(self, view: View, found_by: str) -> tuple[BodySeen, ...]:
        """All bodies that the pose network finds in the view."""
        result = self._pose.detect(_as_image(view))
        masks = result.segmentation_masks or []
        return tuple(
            _as_body(view, points, result.pose_world_landmarks[i], masks[i], found_by)
            for i, points in enumerate(result.pose_landmarks)
        )

    def find_bodies_mirrored(self, view: View, found_by: str) -> tuple[BodySeen, ...]:
        """The same on the mirrored view, turned back; it finds some that the first misses."""
        mirror = View(rgb=np.ascontiguousarray(view.rgb[:, ::-1]), box=view.box)
        return tuple(_mirrored(body) for body in self.find_bodies(mirror, found_by))

    def find_faces(self, view: View) -> tuple[FaceSeen, ...]:
        """All faces that the two detectors find in the view, without their meshes."""
        image = _as_image(view)
        return tuple(
            _as_face(view, found, name)
            for name, detector in self._faces.items()
            for found in detector.detect(image).detections
        )

    def find_meshes(self, view: View, found_by: str) -> tuple[FaceSeen, ...]:
        """All faces that the face landmark network finds in the view, with their meshes."""
        result = self._mesh.detect(_as_image(view))
        return tuple(_as_mesh(view, points, found_by) for points in result.face_landmarks)

    def find_anybody(self, view: View, *, opinions: int | None = None) -> MaskSeen:
        """Where people are in the view, whoever they are; also backs that no pose is found for.

        Args:
            view: what to look at.
            opinions: how many of the networks to ask, the last ones; all when None.
        """
        image = _as_image(view)
        shape = view.rgb.shape[:2]
        seen = [
            network.segment(image).confidence_masks[0].numpy_view().reshape(shape)
            for network in self._people[-(opinions or len(self._people)) :]
        ]
        return MaskSeen(inside=_as_bytes(np.maximum.reduce(seen)), box=view.box)


def _before_shutdown(call: Callable[[], None]) -> None:
    """Have something called while threads can still be started; atexit comes too late for that."""
    getattr(threading, "_register_atexit", atexit.register)(call)


def open_networks(paths: ModelPaths, max_people: int = 6) -> Networks:
    """The networks of a set of provided model files."""
    return Networks(
        pose_task=paths.pose_task, face_short=paths.face_detector_short,
        face_full=paths.face_detector_full, face_task=paths.face_task,
        people_masks=(paths.people_mask_square, paths.people_mask_wide), max_people=max_people,
    )  # fmt: skip


def _as_image(view: View) -> Any:  # noqa: ANN401 - mediapipe carries no types
    import mediapipe

    return mediapipe.Image(image_format=mediapipe.ImageFormat.SRGB, data=view.rgb)


def _options(path: Path) -> Any:  # noqa: ANN401
    from mediapipe.tasks.python import BaseOptions

    return BaseOptions(model_asset_path=str(path))


def _open_pose(path: Path, max_people: int) -> Any:  # noqa: ANN401
    from mediapipe.tasks.python import vision

    options = vision.PoseLandmarkerOptions(
        base_options=_options(path),
        num_poses=max_people,
        min_pose_detection_confidence=0.4,
        min_pose_presence_confidence=0.4,
        output_segmentation_masks=True,
    )
    return vision.PoseLandmarker.create_from_options(options)


def _open_faces(path: Path) -> Any:  # noqa: ANN401
    from mediapipe.tasks.python import vision

    options = vision.FaceDetectorOptions(base_options=_options(path), min_detection_confidence=0.4)
    return vision.FaceDetector.create_from_options(options)


def _open_mesh(path: Path) -> Any:  # noqa: ANN401
    from mediapipe.tasks.python import vision

    options = vision.FaceLandmarkerOptions(
        base_options=_options(path), num_faces=2, min_face_detection_confidence=0.3,
        min_face_presence_confidence=0.3,
    )  # fmt: skip
    return vision.FaceLandmarker.create_from_options(options)


def _open_people(path: Path) -> Any:  # noqa: ANN401
    from mediapipe.tasks.python import vision

    options = vision.ImageSegmenterOptions(
        base_options=_options(path), output_confidence_masks=True, output_category_mask=False
    )
    return vision.ImageSegmenter.create_from_options(options)


def _as_body(view: View, points: Any, world: Any, mask: Any, found_by: str) -> BodySeen:  # noqa: ANN401
    unit = np.array([(p.x, p.y) for p in points])
    presence = np.array([min(p.presence or 0.0, p.visibility or 0.0) for p in points])
    return BodySeen(
        joints_px=view.to_file_px(unit),
        joints_m=np.array([(p.x, p.y, p.z) for p in world]),
        presence=presence,
        mask=MaskSeen(
            inside=_as_bytes(mask.numpy_view().reshape(view.rgb.shape[:2])), box=view.box
        ),
        score=float(presence.max()),
        found_by=found_by,
    )


def _as_bytes(shares: npt.NDArray[np.float32]) -> npt.NDArray[np.uint8]:
    """Shares of 0..1 as 0..255, cut off and not rounded.

    In one array: each further one of a picture's size takes longer than the sums.
    """
    scaled = shares * np.float32(255.0)
    np.clip(scaled, 0, 255, out=scaled)
    return scaled.astype(np.uint8)


_SWAPPED = [
    JOINT_INDEX[name.replace("left", "right") if "left" in name else name.replace("right", "left")]
    for name in JOINTS
]


def _mirrored(body: BodySeen) -> BodySeen:
    """A body found in a mirrored view, as it stands in the picture: sides swap, x turns."""
    box = body.mask.box
    joints_px = body.joints_px[_SWAPPED]
    joints_px[:, 0] = 2 * box.x_px + box.w_px - joints_px[:, 0]
    return BodySeen(
        joints_px=joints_px,
        joints_m=body.joints_m[_SWAPPED] * np.array([-1.0, 1.0, 1.0]),
        presence=body.presence[_SWAPPED],
        mask=MaskSeen(inside=body.mask.inside[:, ::-1], box=box),
        score=body.score,
        found_by=body.found_by,
    )


def _as_face(view: View, found: Any, found_by: str) -> FaceSeen:  # noqa: ANN401
    rows, columns = view.rgb.shape[:2]
    scale_x, scale_y = view.box.w_px / columns, view.box.h_px / rows
    box = found.bounding_box
    unit = np.array([(p.x, p.y) for p in found.keypoints or []]).reshape(-1, 2)
    return FaceSeen(
        box=Box(
            x_px=view.box.x_px + box.origin_x * scale_x,
            y_px=view.box.y_px + box.origin_y * scale_y,
            w_px=box.width * scale_x,
            h_px=box.height * scale_y,
        ),
        score=float(found.categories[0].score),
        points_px=np.zeros((0, 3)),
        keypoints_px=view.to_file_px(unit),
        found_by=found_by,
    )


def _as_mesh(view: View, points: Any, found_by: str) -> FaceSeen:  # noqa: ANN401
    unit = np.array([(p.x, p.y, p.z) for p in points[:MESH_POINTS]])
    xy_px = view.to_file_px(unit)
    low, high = xy_px.min(axis=0), xy_px.max(axis=0)
    return FaceSeen(
        box=Box(x_px=low[0], y_px=low[1], w_px=high[0] - low[0], h_px=high[1] - low[1]),
        score=1.0,
        points_px=np.column_stack([xy_px, unit[:, 2] * view.box.w_px]),
        keypoints_px=np.zeros((0, 2)),
        found_by=found_by,
    )
