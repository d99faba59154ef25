"""The adapter of the networks: mirrored findings turned back, answers in file pixels."""

from types import SimpleNamespace

import numpy as np
import pytest

from framecheck.errors import ModelBroken
from framecheck.pose.networks import MESH_POINTS, Networks, open_networks
from framecheck.pose.views import View, cut_view
from framecheck.records.seen import JOINT_INDEX, BodySeen
from framecheck.records.values import Box
from tests.pose.figures import PICTURE, a_body

VIEW = View(rgb=np.zeros((100, 200, 3), np.uint8), box=Box(x_px=50, y_px=20, w_px=400, h_px=200))


class Canned(Networks):
    """Networks of which only the pose answers, with what it was given."""

    def __init__(self, body: BodySeen) -> None:
        self.body = body
        self.shown: list[np.ndarray] = []

    def find_bodies(self, view: View, found_by: str) -> tuple[BodySeen, ...]:
        self.shown.append(view.rgb)
        return (self.body,)


def point(body: BodySeen, name: str) -> np.ndarray:
    return body.joints_px[JOINT_INDEX[name]]


def test_a_mirrored_finding_is_turned_back() -> None:
    """Found at x = 300 of 960 in the mirror: it stands at 660, its left where the right was."""
    seen = a_body(300)
    rgb = np.zeros((72, 96, 3), np.uint8)
    rgb[:, :48] = 255
    networks = Canned(seen)
    (body,) = networks.find_bodies_mirrored(View(rgb=rgb, box=PICTURE), "the mirror")
    assert point(body, "nose") == pytest.approx([660.0, point(seen, "nose")[1]])
    assert point(body, "wrist_left")[0] == pytest.approx(960 - point(seen, "wrist_right")[0])
    assert point(body, "wrist_left")[0] > point(body, "wrist_right")[0]  # still faces the lens
    right_m = seen.joints_m[JOINT_INDEX["wrist_right"]]
    assert body.joints_m[JOINT_INDEX["wrist_left"]] == pytest.approx(right_m * [-1, 1, 1])
    assert np.array_equal(body.mask.inside, seen.mask.inside[:, ::-1])
    (shown,) = networks.shown
    assert (shown[:, 48:] == 255).all()
    assert (shown[:, :48] == 0).all()


def test_mirroring_twice_is_nothing() -> None:
    seen = a_body(300)
    view = View(rgb=np.zeros((72, 96, 3), np.uint8), box=PICTURE)
    (once,) = Canned(seen).find_bodies_mirrored(view, "a")
    (twice,) = Canned(once).find_bodies_mirrored(view, "a")
    assert twice.joints_px == pytest.approx(seen.joints_px)
    assert twice.joints_m == pytest.approx(seen.joints_m)


class Answer:
    """One network that always answers the same."""

    def __init__(self, result: object) -> None:
        self.result = result
        self.closed = False

    def detect(self, image: object) -> object:
        return self.result

    segment = detect

    def close(self) -> None:
        self.closed = True


def networks_of(**parts: object) -> Networks:
    networks = Networks.__new__(Networks)
    for name, part in parts.items():
        setattr(networks, f"_{name}", part)
    return networks


def test_a_detected_face_is_placed_in_the_file() -> None:
    """The view shows 400 file pixels in 200 columns: everything counts double, from (50, 20) on."""
    found = SimpleNamespace(
        bounding_box=SimpleNamespace(origin_x=10, origin_y=5, width=30, height=40),
        keypoints=[SimpleNamespace(x=0.5, y=0.5)] * 6,
        categories=[SimpleNamespace(score=0.8)],
    )
    networks = networks_of(faces={"a detector": Answer(SimpleNamespace(detections=[found]))})
    (face,) = networks.find_faces(VIEW)
    assert face.box == Box(x_px=70, y_px=30, w_px=60, h_px=80)
    assert face.keypoints_px.tolist() == [[250, 120]] * 6
    assert (face.score, face.found_by) == (0.8, "a detector")
    assert face.points_px.shape == (0, 3)


def test_a_mesh_is_placed_in_the_file_without_the_padding() -> None:
    """Ten points after the 468th only fill up the answer, and must not stretch the box."""
    points = [SimpleNamespace(x=0.25, y=0.5, z=0.1)] * (MESH_POINTS - 1)
    points += [SimpleNamespace(x=0.75, y=1.0, z=0.0)] + [SimpleNamespace(x=9.0, y=9.0, z=9.0)] * 10
    networks = networks_of(mesh=Answer(SimpleNamespace(face_landmarks=[points])))
    (face,) = networks.find_meshes(VIEW, "a cut-out")
    assert face.points_px.shape == (MESH_POINTS, 3)
    assert face.points_px[0] == pytest.approx([150.0, 120.0, 40.0])
    assert face.box == Box(x_px=150, y_px=120, w_px=200, h_px=100)


def test_people_masks_are_added() -> None:
    def opinion(columns: slice) -> Answer:
        mask = np.zeros((100, 200), np.float32)
        mask[:, columns] = 1.0
        shown = SimpleNamespace(numpy_view=lambda: mask[:, :, None])
        return Answer(SimpleNamespace(confidence_masks=[shown]))

    networks = networks_of(people=[opinion(slice(0, 40)), opinion(slice(30, 60))])
    mask = networks.find_anybody(VIEW)
    assert mask.box == VIEW.box
    assert (mask.inside[:, :60] == 255).all()
    assert (mask.inside[:, 60:] == 0).all()


def test_bodies_without_a_finding_are_none() -> None:
    nobody = SimpleNamespace(pose_landmarks=[], pose_world_landmarks=[], segmentation_masks=None)
    assert networks_of(pose=Answer(nobody)).find_bodies(VIEW, "a pass") == ()


def test_all_are_closed_at_the_end() -> None:
    parts = [Answer(None) for _ in range(4)]
    with networks_of(pose=parts[0], mesh=parts[1], people=[parts[2]], faces={"a": parts[3]}):
        pass
    assert all(part.closed for part in parts)


def test_a_file_that_is_no_model_is_named(tmp_path) -> None:
    broken = tmp_path / "pose.task"
    broken.write_bytes(b"not a model")
    with pytest.raises(ModelBroken, match="would not load") as caught:
        Networks(
            pose_task=broken, face_short=broken, face_full=broken, face_task=broken,
            people_masks=(broken,),
        )  # fmt: skip
    assert "framecheck models" in str(caught.value)
    assert caught.value.where == str(tmp_path)


@pytest.mark.model
def test_the_real_networks_find_a_real_person() -> None:
    """The astronaut of scikit-image (public domain), looking into the lens."""
    from skimage.data import astronaut

    from framecheck.pose.models import provide_models

    rgb = astronaut()
    whole = Box(x_px=0, y_px=0, w_px=512, h_px=512)
    with open_networks(provide_models(None)) as networks:
        view = cut_view(rgb, whole, whole, 512)
        (body,) = networks.find_bodies(view, "the whole picture")
        faces = networks.find_faces(view)
        mask = networks.find_anybody(view)
    # eyes at about (222, 102), seen with the naked eye; 30 px is a quarter of the face
    assert np.linalg.norm(point(body, "nose") - [225, 125]) < 30
    assert point(body, "eye_left")[0] > point(body, "eye_right")[0]
    assert any(abs(face.box.centre_px[0] - 225) < 30 for face in faces)
    assert mask.inside[300, 200] >= 128  # the orange suit
    assert mask.inside[40, 330] < 128  # the grey background
