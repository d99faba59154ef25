"""The estimator's passes, with networks that answer as told: which are asked, in what order."""

from dataclasses import replace

import numpy as np
import pytest

from framecheck.pose.estimator import MediaPipeEstimator
from framecheck.pose.passes import AT_HEAD, LEFTOVER, PassSettings
from framecheck.pose.scout import HeadHint, Sighting
from framecheck.pose.template import body_under
from framecheck.records.seen import AnglesSeen, MarksSeen, PersonSeen
from framecheck.records.values import Box
from tests.pose.figures import PICTURE, FakeNetworks, a_body, a_face, a_picture, anybody

WHOLE = "bodies in the whole picture"
AROUND_FACE = "bodies in a cut-out around a face"
MIRRORED = "bodies in the picture mirrored"
STANDING = a_body().mask
FILLING = Box(x_px=200, y_px=60, w_px=500, h_px=660)


def see(networks: FakeNetworks):
    return MediaPipeEstimator(networks).see(a_picture())


def in_pass(name: str, *found):
    """Bodies that only one pass finds."""
    return lambda view, found_by: found if found_by == name else ()


def meshes_of(*faces):
    """The faces whose middle the view shows, as the mesh network would find them."""

    def find(view, found_by):
        return tuple(f for f in faces if _shows(view.box, f.box.centre_px))

    return find


def _shows(box: Box, point_px) -> bool:
    return box.x_px < point_px[0] < box.right_px and box.y_px < point_px[1] < box.bottom_px


def test_an_easy_picture_takes_the_cheap_passes_only() -> None:
    body, face = a_body(), a_face()
    networks = FakeNetworks(
        bodies=in_pass("the whole picture", body), faces=(face,), meshes=meshes_of(face),
        people_mask=STANDING,
    )  # fmt: skip
    (person,) = see(networks)
    assert person.body is body
    assert person.face is not None
    assert person.face.box == face.box
    assert networks.asked.index(WHOLE) == 0
    assert networks.asked.index("faces") == 1
    assert set(networks.asked) == {WHOLE, "faces", "meshes by near-face detector", "anybody"}


def test_a_face_without_a_body_is_looked_at_in_a_cutout() -> None:
    body, face = a_body(), a_face()
    networks = FakeNetworks(
        bodies=in_pass("a cut-out around a face", body), faces=(face,), meshes=meshes_of(face),
        people_mask=STANDING,
    )  # fmt: skip
    (person,) = see(networks)
    assert person.body is body
    assert person.face is not None
    (cutout,) = networks.boxes[AROUND_FACE]
    assert cutout.h_px >= 7.5 * face.box.h_px  # room for a standing body, about 7.5 heads
    assert _shows(cutout, face.box.centre_px)


def test_a_face_with_its_body_asks_for_no_cutout() -> None:
    face = a_face()
    networks = FakeNetworks(
        bodies=in_pass("the whole picture", a_body()), faces=(face,), meshes=meshes_of(face),
        people_mask=STANDING,
    )  # fmt: skip
    see(networks)
    assert AROUND_FACE not in networks.asked


def test_a_body_elsewhere_in_the_cutout_is_not_the_faces() -> None:
    face = a_face(side_px=240)
    networks = FakeNetworks(
        bodies=in_pass("a cut-out around a face", a_body(800, crown_y_px=400)), faces=(face,),
        meshes=meshes_of(face), people_mask=anybody(Box(x_px=360, y_px=20, w_px=240, h_px=700)),
    )  # fmt: skip
    (person,) = see(networks)
    assert person.body is None


def test_a_small_face_without_a_body_is_nobody() -> None:
    face = a_face(side_px=60)
    networks = FakeNetworks(faces=(face,), meshes=meshes_of(face))
    assert see(networks) == ()


def test_a_large_face_without_a_body_is_a_close_up() -> None:
    face = a_face(480, 360, side_px=500)
    networks = FakeNetworks(
        faces=(face,), meshes=meshes_of(face),
        people_mask=anybody(Box(x_px=200, y_px=0, w_px=560, h_px=720)),
    )  # fmt: skip
    (person,) = see(networks)
    assert person.body is None
    assert person.face is not None


def test_an_unsure_face_without_a_mesh_is_dropped() -> None:
    face = a_face(480, 360, side_px=500, score=0.5, meshed=False)
    assert see(FakeNetworks(faces=(face,))) == ()


def test_one_face_found_by_both_detectors_is_one() -> None:
    body = a_body()
    faces = (a_face(score=0.8), a_face(484, found_by="far-face detector", score=0.7))
    networks = FakeNetworks(
        bodies=in_pass("the whole picture", body), faces=faces, meshes=meshes_of(faces[0]),
        people_mask=STANDING,
    )  # fmt: skip
    assert len(see(networks)) == 1


def test_a_body_without_a_face_has_its_head_looked_at() -> None:
    body, face = a_body(), a_face()
    networks = FakeNetworks(
        bodies=in_pass("the whole picture", body), meshes=meshes_of(face),
        people_mask=STANDING,
    )  # fmt: skip
    (person,) = see(networks)
    assert "meshes by a cut-out around a head" in networks.asked
    assert person.face is face


def test_a_leftover_of_the_mask_is_looked_into() -> None:
    body, face, other = a_body(250), a_face(250), a_body(700)
    both = anybody(
        Box(x_px=175, y_px=100, w_px=150, h_px=500), Box(x_px=625, y_px=100, w_px=150, h_px=500)
    )

    def find(view, found_by):
        if found_by == "the whole picture":
            return (body,)
        return (other,) if _shows(view.box, (700, 300)) else ()

    networks = FakeNetworks(bodies=find, faces=(face,), meshes=meshes_of(face), people_mask=both)
    people = see(networks)
    assert {id(p.body) for p in people} >= {id(body)}
    assert len(people) == 2
    assert "bodies in a cut-out around a leftover of the mask" in networks.asked


BACK = Box(x_px=0, y_px=60, w_px=260, h_px=660)


class FakeOwn:
    """Own networks that answer as told: a near back, heads, and whoever is put under them."""

    def __init__(self, back=None, heads=(), somebody=0.0, believed=1.0) -> None:
        self.scout, self.marks = FakeScout(back, heads), FakeMarks(somebody, believed)


class FakeScout:
    def __init__(self, back, heads) -> None:
        self.back, self.heads = back, heads

    def look(self, view, people_mask):
        return Sighting(back=self.back, heads=self.heads)


class FakeMarks:
    def __init__(self, somebody, believed) -> None:
        self.somebody, self.believed = somebody, believed

    def look(self, picture, person):
        return None if person.body is None else a_marks(self.believed)

    def put(self, picture, head):
        return PersonSeen(body=body_under(head, picture.active), marks=a_marks(self.somebody))


class TurnedMarks(FakeMarks):
    """Tells one turn of a head by its joints, another one without."""

    def __init__(self, led, unled) -> None:
        super().__init__(0.9, 0.9)
        self.led, self.unled = led, unled

    def look(self, picture, person):
        return replace(a_marks(), angles=turned(self.led))

    def put(self, picture, head):
        seen = super().put(picture, head)
        return replace(seen, marks=replace(seen.marks, angles=turned(self.unled)))


def turned(yaw_deg):
    return AnglesSeen(
        head_yaw_deg=yaw_deg, body_yaw_deg=0.0, camera_pitch_deg=0.0, camera_pitch_error_deg=5.0
    )


def a_marks(somebody=1.0):
    return MarksSeen(
        points_px=np.zeros((5, 2)), errors_px=np.ones(5), head_top_px=12.0, somebody=somebody
    )


def test_a_near_back_without_joints_becomes_an_outline_and_bodies_get_marks() -> None:
    body, face = a_body(760), a_face(760, side_px=80)
    networks = FakeNetworks(
        bodies=in_pass("the whole picture", body), faces=(face,), meshes=meshes_of(face),
        people_mask=STANDING,
    )  # fmt: skip
    people = MediaPipeEstimator(networks, own=FakeOwn(anybody(BACK))).see(a_picture())
    assert [p.outline is not None for p in people] == [False, True]
    assert [p.marks is not None for p in people] == [True, False]


def test_nobody_looks_past_a_near_back_at_a_crowd_or_at_nobody() -> None:
    bodies = [a_body(x) for x in (200, 500, 800)]
    crowd, nobody = FakeOwn(anybody(BACK)), FakeOwn(anybody(BACK))
    faces = [a_face(x) for x in (200, 500, 800)]
    networks = FakeNetworks(
        bodies=in_pass("the whole picture", *bodies), faces=faces, meshes=meshes_of(*faces),
        people_mask=STANDING,
    )  # fmt: skip
    people = MediaPipeEstimator(networks, own=crowd).see(a_picture())
    assert [p.outline for p in people] == [None, None, None]
    assert MediaPipeEstimator(FakeNetworks(), own=nobody).see(a_picture()) == ()


HEAD = HeadHint(centre_px=(480.0, 140.0), height_px=65.0, belief=0.8)


def test_a_body_is_looked_for_under_a_head_that_nobody_has() -> None:
    body = a_body()
    networks = FakeNetworks(bodies=in_pass(AT_HEAD, body), people_mask=STANDING)
    (person,) = MediaPipeEstimator(networks, own=FakeOwn(heads=(HEAD,))).see(a_picture())
    assert person.body is body
    assert MIRRORED not in networks.asked


def test_a_head_that_somebody_has_is_not_looked_at_again() -> None:
    networks = FakeNetworks(bodies=in_pass("the whole picture", a_body()), people_mask=STANDING)
    MediaPipeEstimator(networks, own=FakeOwn(heads=(HEAD,))).see(a_picture())
    assert f"bodies in {AT_HEAD}" not in networks.asked


@pytest.mark.parametrize(("somebody", "people"), [(0.9, 1), (0.2, 0)])
def test_a_body_is_put_under_a_head_where_the_pose_network_finds_none(somebody, people) -> None:
    own = FakeOwn(heads=(HEAD,), somebody=somebody)
    found = MediaPipeEstimator(FakeNetworks(), own=own).see(a_picture())
    assert len(found) == people
    assert all(person.body.is_put for person in found)


@pytest.mark.parametrize(("somebody", "people"), [(0.99, 1), (0.96, 0)])
def test_an_unsure_head_is_somebodys_where_the_marks_network_is_all_the_surer(
    somebody, people
) -> None:
    unsure = replace(HEAD, belief=PassSettings().seen_head - 0.05)
    own = FakeOwn(heads=(unsure,), somebody=somebody)
    assert len(MediaPipeEstimator(FakeNetworks(), own=own).see(a_picture())) == people


def test_nobody_is_put_under_an_unsure_head_beside_somebody() -> None:
    unsure = replace(HEAD, centre_px=(900.0, 140.0), belief=PassSettings().seen_head - 0.05)
    networks = FakeNetworks(bodies=in_pass("the whole picture", a_body()), people_mask=STANDING)
    own = FakeOwn(heads=(HEAD, unsure), somebody=0.99)
    assert len(MediaPipeEstimator(networks, own=own).see(a_picture())) == 1


@pytest.mark.parametrize(("belief", "people"), [(0.25, 1), (0.15, 0)])
def test_a_head_that_fills_the_picture_needs_less_belief(belief, people) -> None:
    large = replace(HEAD, centre_px=(640.0, 300.0), height_px=1000.0, belief=belief)
    own = FakeOwn(heads=(large,), somebody=0.9)
    found = MediaPipeEstimator(FakeNetworks(), own=own).see(a_picture())
    assert len(found) == people


def test_a_dark_picture_in_which_nobody_is_found_is_looked_at_again() -> None:
    """Its light is lifted to 150, and whoever is found then must be somebody to the marks network.

    A picture that is black all over has nothing to lift.
    """
    dim = replace(a_picture(), rgb=np.full_like(a_picture().rgb, 20))
    for somebody, people in ((0.96, 1), (0.9, 0)):
        scout = LitScout(HEAD)
        own = FakeOwn(somebody=somebody)
        own.scout = scout
        assert len(MediaPipeEstimator(FakeNetworks(), own=own).see(dim)) == people
    assert MediaPipeEstimator(FakeNetworks(), own=own).see(a_picture()) == ()


class LitScout:
    """Sees a head in pictures that are not dark."""

    def __init__(self, head) -> None:
        self.head = head

    def look(self, view, people_mask):
        return Sighting(heads=(self.head,) if view.rgb.mean() > 100 else ())


@pytest.mark.parametrize(
    ("somebody", "head", "people"),
    [(0.9, 0.5, 1), (0.2, 0.5, 0), (0.2, 0.8, 1), (0.05, 0.8, 0), (0.9, None, 1), (0.6, None, 0)],
)
def test_a_statue_is_nobody(somebody, head, people) -> None:
    """A body that the pose network finds, and how far the marks network and the scout believe."""
    networks = FakeNetworks(bodies=in_pass("the whole picture", a_body()), people_mask=STANDING)
    heads = () if head is None else (replace(HEAD, belief=head),)
    found = MediaPipeEstimator(networks, own=FakeOwn(heads=heads, believed=somebody))
    assert len(found.see(a_picture())) == people


def test_a_body_whose_head_is_seen_to_be_much_larger_is_misplaced() -> None:
    """The figure's head is 65 px high; the scout sees one of 130 px there."""
    networks = FakeNetworks(bodies=in_pass("the whole picture", a_body()), people_mask=STANDING)
    own = FakeOwn(heads=(replace(HEAD, height_px=130.0),), somebody=0.9)
    (person,) = MediaPipeEstimator(networks, own=own).see(a_picture())
    assert person.body.is_put


def test_a_leftover_without_a_head_is_nobody_where_heads_are_seen() -> None:
    """What is left over of somebody is at times taken for a body of its own."""
    body = a_body(250, found_by=LEFTOVER)
    networks = FakeNetworks(bodies=in_pass("the whole picture", body), people_mask=body.mask)
    own = FakeOwn(heads=(replace(HEAD, centre_px=(800.0, 140.0)),))
    assert MediaPipeEstimator(networks, own=own).see(a_picture()) == ()
    assert len(MediaPipeEstimator(networks, own=FakeOwn()).see(a_picture())) == 1


def test_a_body_between_two_heads_is_put_under_its_own() -> None:
    """Eyes at 480, 50 px from a face at 530 and as far from a head at 430, of 100 px each."""
    face = a_face(535, 140, side_px=60)
    networks = FakeNetworks(
        bodies=in_pass("the whole picture", a_body()), faces=(face,), meshes=meshes_of(face),
        people_mask=STANDING,
    )  # fmt: skip
    heads = tuple(replace(HEAD, centre_px=(x, 132.0), height_px=100.0) for x in (532.0, 428.0))
    people = MediaPipeEstimator(networks, own=FakeOwn(heads=heads, somebody=0.9)).see(a_picture())
    assert [p.body is not None and p.body.is_put for p in people] == [True, True]
    assert sorted(p.face is not None for p in people) == [False, True]


@pytest.mark.parametrize(
    ("led", "unled", "told"),
    [(30.0, 150.0, 150.0), (30.0, 100.0, 30.0), (100.0, 150.0, 150.0), (130.0, 150.0, 130.0)],
)
def test_a_head_without_a_face_is_asked_again_without_its_joints(led, unled, told) -> None:
    """The joints say 0: with three tenths of that 100 degrees are 76, and 130 are 106, a back."""
    networks = FakeNetworks(bodies=in_pass("the whole picture", a_body()), people_mask=STANDING)
    own = FakeOwn(heads=(replace(HEAD, height_px=80.0),), somebody=0.9)
    own.marks = TurnedMarks(led, unled)
    (person,) = MediaPipeEstimator(networks, own=own).see(a_picture())
    assert person.marks.angles.head_yaw_deg == told


@pytest.mark.parametrize(("somebody", "put"), [(0.9, True), (0.5, False)])
def test_a_face_alone_gets_the_body_that_is_seen_below(somebody, put) -> None:
    face = a_face(side_px=60)
    networks = FakeNetworks(faces=(face,), meshes=meshes_of(face))
    own = FakeOwn(heads=(HEAD,), somebody=somebody)
    (person,) = MediaPipeEstimator(networks, own=own).see(a_picture())
    assert person.face is not None
    assert (person.body is not None and person.body.is_put) is put
    assert (person.marks is not None) is put


@pytest.mark.parametrize(("yaw_deg", "faces"), [(20.0, 1), (-160.0, 0)])
def test_a_bare_face_on_the_back_of_a_head_is_none(yaw_deg, faces) -> None:
    own = FakeOwn(heads=(HEAD,))
    own.marks = TurnedMarks(yaw_deg, yaw_deg)
    networks = FakeNetworks(faces=(a_face(meshed=False),))
    (person,) = MediaPipeEstimator(networks, own=own).see(a_picture())
    assert person.body is not None
    assert (person.face is not None) == faces


def test_a_lone_face_stands_where_the_scout_sees_a_head() -> None:
    face = a_face(side_px=60)
    networks = FakeNetworks(faces=(face,), meshes=meshes_of(face))
    assert MediaPipeEstimator(networks, own=FakeOwn()).see(a_picture()) == ()
    (person,) = MediaPipeEstimator(networks, own=FakeOwn(heads=(HEAD,))).see(a_picture())
    assert person.body is None
    assert person.face is not None


def test_an_outline_that_fills_the_picture_has_its_head_where_the_scout_sees_it() -> None:
    networks = FakeNetworks(people_mask=anybody(FILLING))
    far = HeadHint(centre_px=(300.0, 200.0), height_px=200.0, belief=0.3)
    (person,) = MediaPipeEstimator(networks, own=FakeOwn(heads=(far,))).see(a_picture())
    assert person.outline is not None
    assert person.head_px == far.centre_px


def test_an_empty_picture_has_nobody_whatever_is_tried() -> None:
    networks = FakeNetworks()
    assert see(networks) == ()
    assert networks.asked[0] == WHOLE
    harder = networks.asked[networks.asked.index("anybody") + 1 :]
    assert harder[0] == MIRRORED
    assert harder[-1] == "bodies in a tile"


def test_the_harder_passes_stop_at_the_first_that_explains_the_mask() -> None:
    body = a_body(found_by="a wider cut-out around people")
    networks = FakeNetworks(
        bodies=in_pass("a wider cut-out around people", body), people_mask=STANDING
    )
    (person,) = see(networks)
    assert person.body is body
    asked = networks.asked
    assert asked.index("bodies in a cut-out around people") < asked.index(
        "bodies in a wider cut-out around people"
    )
    assert MIRRORED not in asked
    assert "bodies in a tile" not in asked


def test_where_people_are_small_tiles_are_asked_and_no_borders() -> None:
    networks = FakeNetworks()
    assert see(networks) == ()
    assert "bodies in a tile" in networks.asked
    assert "bodies in the picture with a border" not in networks.asked


def test_no_tiles_are_asked_where_a_scout_looks_for_small_people() -> None:
    networks = FakeNetworks()
    assert MediaPipeEstimator(networks, own=FakeOwn()).see(a_picture()) == ()
    assert MIRRORED in networks.asked
    assert "bodies in a tile" not in networks.asked


def test_the_mirrored_pass_can_save_the_day() -> None:
    body = a_body(found_by="the picture mirrored")
    networks = FakeNetworks(mirrored=in_pass("the picture mirrored", body), people_mask=STANDING)
    (person,) = see(networks)
    assert person.body is body
    assert "bodies in the picture with a border" not in networks.asked


def test_the_back_of_a_head_that_fills_the_picture_is_somebody() -> None:
    networks = FakeNetworks(people_mask=anybody(FILLING))
    (person,) = see(networks)
    assert person.body is None
    assert person.face is None
    assert person.outline is not None
    assert "bodies in a tile" not in networks.asked  # too near for tiles to help
    assert "bodies in the picture with a border on top" in networks.asked


def test_a_pattern_in_a_tile_must_be_found_again() -> None:
    """Harder passes see patterns as people at times; what a closer look does not confirm goes."""
    networks = FakeNetworks(bodies=in_pass("a tile", a_body(presence=0.6, found_by="a tile")))
    assert see(networks) == ()


@pytest.mark.parametrize("confirmed", [True, False])
def test_a_small_weak_figure_must_be_found_again(confirmed) -> None:
    """120 px of 720 high, not quite believed in, no face: only a closer look decides."""
    weak = a_body(stature_px=120, presence=PassSettings().sure_presence - 0.05)

    def find(view, found_by):
        wanted = found_by == "the whole picture" or (confirmed and "closer look" in found_by)
        return (weak,) if wanted else ()

    people = see(FakeNetworks(bodies=find, people_mask=weak.mask))
    assert len(people) == (1 if confirmed else 0)


def test_a_small_sure_figure_stands_without_a_second_finding() -> None:
    sure = a_body(stature_px=120, presence=0.95)
    networks = FakeNetworks(bodies=in_pass("the whole picture", sure), people_mask=sure.mask)
    (person,) = see(networks)
    assert person.body is sure


def test_a_small_body_is_measured_in_a_closer_look() -> None:
    small = a_body(stature_px=140, presence=0.9)
    closer = a_body(482, stature_px=140, presence=0.9)

    def find(view, found_by):
        if found_by == "the whole picture":
            return (small,)
        return (closer,) if found_by.endswith("then a closer look") else ()

    networks = FakeNetworks(
        bodies=find, people_mask=anybody(Box(x_px=459, y_px=100, w_px=42, h_px=140))
    )
    (person,) = see(networks)
    assert person.body is closer


def test_the_order_of_asking_is_the_same_every_time() -> None:
    first, second = FakeNetworks(), FakeNetworks()
    see(first)
    see(second)
    assert first.asked == second.asked


@pytest.mark.parametrize("name", ["the whole picture"])
def test_no_view_shows_more_than_the_active_picture(name) -> None:
    """The first pass looks at the active picture and nothing else."""
    networks = FakeNetworks()
    see(networks)
    assert networks.boxes[f"bodies in {name}"] == [PICTURE]
    assert networks.boxes["faces"] == [PICTURE]
