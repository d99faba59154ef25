"""The whole pure chain on drawn figures: what the handbook has is what is read."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from framecheck.geometry.ruler import MARK_LEVELS
from framecheck.measure.frame import measure_frame
from framecheck.records.framing import Edge, Facing, Posture, Role
from framecheck.records.seen import PersonSeen
from framecheck.records.values import Box, NotMeasured
from tests.measure.figures import (
    a_body,
    a_face,
    a_mesh,
    a_person,
    drawn_mask,
    null_corrector,
    the_picture,
)

HEIGHT_PX, WIDTH_PX = 720, 960
MASK_FRAC = 1.0 / HEIGHT_PX  # one pixel of the drawn mask

# Lower edge, its level, headroom and head height over the frame height, with the eyes exactly one
# third down (common practice): derived from Drillis & Contini (1966, in Winter) by
# F = 1.5 (0.936 - c), headroom = 1/3 - 0.064 / F, head = 0.130 / F. Axilla, navel and crotch are
# heights of ANSUR II (2012).
DERIVED_HEADROOM = [
    ("chin", 0.870, -0.313, 1.313), ("shoulder line", 0.818, -0.028, 0.734),
    ("axilla", 0.757, 0.095, 0.484), ("nipple", 0.720, 0.136, 0.401),
    ("elbow", 0.630, 0.194, 0.283), ("navel", 0.602, 0.206, 0.259), ("hip", 0.530, 0.228, 0.213),
    ("crotch", 0.482, 0.239, 0.191), ("mid-thigh", 0.4075, 0.253, 0.164),
    ("knee", 0.285, 0.268, 0.133), ("ankle", 0.039, 0.286, 0.097), ("floor", 0.0, 0.288, 0.093),
]  # fmt: skip


def measured(*people: PersonSeen, picture: Box | None = None, **options):
    picture = picture or the_picture(WIDTH_PX, HEIGHT_PX)
    size = (round(picture.right_px), round(picture.bottom_px))
    return measure_frame(size, picture, people, null_corrector(), **options)


def a_third_down(level: float) -> dict[str, object]:
    """A figure whose eyes lie one third down in a frame that ends at a level."""
    stature_px = HEIGHT_PX / (1.5 * (MARK_LEVELS["eye"] - level))
    crown_y_px = HEIGHT_PX / 3 - (1 - MARK_LEVELS["eye"]) * stature_px
    return {"crown_px": (WIDTH_PX / 2, crown_y_px), "stature_px": stature_px}


INSIDE, CUT = DERIVED_HEADROOM[2:], DERIVED_HEADROOM[:2]


@pytest.mark.parametrize(("edge", "level", "headroom_frac", "head_frac"), INSIDE, ids=str)
def test_the_derived_headroom_comes_back(edge, level, headroom_frac, head_frac) -> None:
    (person,) = measured(a_person(**a_third_down(level))).people
    assert person.crop_level == pytest.approx(level, abs=0.001), edge
    assert person.eye_line_frac == pytest.approx(1 / 3, abs=1e-6)
    assert person.headroom_frac == pytest.approx(headroom_frac, abs=MASK_FRAC + 0.0005)
    assert person.head_height_px / HEIGHT_PX == pytest.approx(head_frac, abs=MASK_FRAC + 0.0005)
    assert person.figure_frac == pytest.approx(1 / (1.5 * (0.936 - level)), rel=0.005)


@pytest.mark.parametrize(("edge", "level", "headroom_frac", "head_frac"), CUT, ids=str)
def test_a_cut_crown_reads_by_the_handbook(edge, level, headroom_frac, head_frac) -> None:
    """The eyes one third down: the top edge lies 0.5 (0.936 - c) statures over them on the ruler.

    The derived headroom is that of a bare skull; the tool allows for hair that nobody can see, so
    it may call the head cut by more, never by less.
    """
    (person,) = measured(a_person(**a_third_down(level))).people
    assert person.crop_level == pytest.approx(level, abs=0.001), edge
    assert person.eye_line_frac == pytest.approx(1 / 3, abs=1e-6)
    assert person.top_level == pytest.approx(0.936 + 0.5 * (0.936 - level), abs=0.001)
    assert person.headroom_frac < headroom_frac + 0.0005 < 0
    assert person.head_height_px / HEIGHT_PX > head_frac - 0.0005
    assert Edge.TOP in person.cut_edges


@pytest.mark.parametrize(("edge", "level", "headroom_frac", "head_frac"), INSIDE, ids=str)
def test_it_comes_back_with_the_face_mesh_too(edge, level, headroom_frac, head_frac) -> None:
    place = a_third_down(level)
    stature_px = place["stature_px"]
    mesh = a_mesh(eye_px=(WIDTH_PX / 2, HEIGHT_PX / 3), px_per_mm=0.066 * stature_px / 120.0)
    (person,) = measured(PersonSeen(body=a_body(**place), face=a_face(mesh))).people
    assert person.crop_level == pytest.approx(level, abs=0.001), edge
    assert person.headroom_frac == pytest.approx(headroom_frac, abs=MASK_FRAC + 0.0005)
    assert person.chin_y_px == pytest.approx(HEIGHT_PX / 3 + 0.066 * stature_px)


def test_a_figure_clear_of_all_edges() -> None:
    """Crown at 110 and sole at 610 of 720: 110 px, 0.22 figure heights, of air at both ends."""
    (person,) = measured(a_person(crown_px=(480, 110), stature_px=500)).people
    assert person.crop_level == pytest.approx(-0.22, abs=0.005)
    assert person.top_level == pytest.approx(1.22, abs=0.005)
    assert person.headroom_frac == pytest.approx(110 / 720, abs=MASK_FRAC)
    assert person.cut_edges == ()
    assert person.left_cut == NotMeasured(reason="clear of the left edge")
    assert person.right_cut == NotMeasured(reason="clear of the right edge")
    assert person.box == Box(x_px=405, y_px=110, w_px=150, h_px=500)
    assert (person.facing, person.posture) == (Facing.TO_LENS, Posture.STANDING)
    assert person.role is Role.SUBJECT


def test_a_cut_at_the_side_reads_the_highest_level_that_is_cut() -> None:
    """The trunk's box, from level 0.83 on, is cut by the left edge; the head is clear of it."""
    (person,) = measured(a_person(crown_px=(60, 100), stature_px=500)).people
    assert Edge.LEFT in person.cut_edges
    assert person.left_cut == pytest.approx(0.83, abs=0.02)
    assert isinstance(person.right_cut, NotMeasured)


def test_looking_room_is_ahead_over_behind() -> None:
    """A nose at x = 640 of 960 that points to the right: 320 px ahead, 640 behind."""
    (person,) = measured(a_person(crown_px=(640, 100), yaw_deg=60)).people
    assert person.look_room_frac == pytest.approx(0.5)
    assert person.look_ahead_wfrac == pytest.approx(1 / 3)
    (person,) = measured(a_person(crown_px=(640, 100), yaw_deg=-60)).people
    assert person.look_room_frac == pytest.approx(2.0)
    assert person.look_ahead_wfrac == pytest.approx(2 / 3)


@pytest.mark.parametrize(("yaw_deg", "reason"), [(0, "faces the lens"), (180, "faces away")])
def test_who_looks_to_no_side_needs_no_looking_room(yaw_deg, reason) -> None:
    (person,) = measured(a_person(yaw_deg=yaw_deg)).people
    assert person.look_room_frac == NotMeasured(reason=reason)
    assert person.look_ahead_wfrac == NotMeasured(reason=reason)


def test_no_room_behind_the_face_is_told() -> None:
    (person,) = measured(a_person(crown_px=(2, 100), yaw_deg=60)).people
    assert person.look_room_frac == NotMeasured(reason="no room behind the face")
    assert person.look_ahead_wfrac == pytest.approx(1.0, abs=0.01)


def test_a_face_alone_is_measured_by_proportion() -> None:
    mesh = a_mesh(eye_px=(480, 300), px_per_mm=3.0)
    (person,) = measured(PersonSeen(face=a_face(mesh))).people
    # 360 px from the eyes to the chin: 60 px under the chin end the picture, 66/360 * 60 = 11
    assert person.crop_level == pytest.approx(0.870 - 0.011, abs=0.001)
    assert person.left_cut == NotMeasured(reason="only the face was found")
    assert person.posture is None
    assert person.joints == ()
    assert "crown inferred from the face" in person.notes


def test_who_is_not_in_the_picture_is_not_measured() -> None:
    far = Box(x_px=2000, y_px=2000, w_px=100, h_px=100)
    assert measured(PersonSeen(face=a_face(box=far))).people == ()
    assert measured(a_person(crown_px=(3000, 100))).people == ()


def test_an_outline_alone_is_counted_but_not_measured() -> None:
    picture = the_picture(WIDTH_PX, HEIGHT_PX)
    outline = drawn_mask(picture, [Box(x_px=0, y_px=100, w_px=200, h_px=620)])
    (person,) = measured(PersonSeen(outline=outline)).people
    assert person.role is Role.SUBJECT
    assert person.box == Box(x_px=0, y_px=100, w_px=200, h_px=620)
    assert set(person.cut_edges) == {Edge.LEFT, Edge.BOTTOM}
    assert person.ruler is person.facing is person.posture is None
    values = [
        person.crop_level, person.top_level, person.headroom_frac, person.look_room_frac,
        person.eye_line_frac, person.head_yaw_deg, person.figure_frac, person.crown_y_px,
    ]  # fmt: skip
    assert values == [NotMeasured(reason="only an outline was found")] * len(values)
    assert "left edge cuts it" in person.left_cut.reason
    assert "right edge is clear" in person.right_cut.reason


def test_an_outline_beside_a_person_is_foreground_and_last() -> None:
    picture = the_picture(WIDTH_PX, HEIGHT_PX)
    outline = drawn_mask(picture, [Box(x_px=0, y_px=100, w_px=200, h_px=620)])
    people = measured(PersonSeen(outline=outline), a_person(crown_px=(600, 100))).people
    assert [person.role for person in people] == [Role.SUBJECT, Role.FOREGROUND]
    assert [person.person for person in people] == [0, 1]
    assert people[1].ruler is None


def test_the_active_picture_is_what_counts() -> None:
    """Black bars of 90 px above and below change the file, not the reading."""
    plain = measured(a_person(crown_px=(480, 60), stature_px=900), picture=the_picture(960, 540))
    barred = measured(
        a_person(crown_px=(480, 150), stature_px=900, picture=the_picture(960, 540, 0, 90)),
        picture=the_picture(960, 540, 0, 90),
    )
    (one,), (other,) = plain.people, barred.people
    for name in ("crop_level", "top_level", "headroom_frac", "eye_line_frac", "figure_frac"):
        assert getattr(one, name) == pytest.approx(getattr(other, name)), name
    assert other.crown_y_px == pytest.approx(one.crown_y_px + 90)


@settings(max_examples=20, deadline=None)
@given(level=st.floats(0.05, 0.80), scale=st.sampled_from([0.5, 1.0, 1.5, 2.0]))
def test_the_size_of_the_file_changes_nothing(level, scale) -> None:
    place = a_third_down(level)
    picture = the_picture(WIDTH_PX * scale, HEIGHT_PX * scale)
    large = a_person(
        crown_px=tuple(np.array(place["crown_px"]) * scale),
        stature_px=place["stature_px"] * scale,
        picture=picture,
    )
    (one,) = measured(a_person(**place)).people
    (other,) = measured(large, picture=picture).people
    assert other.crop_level == pytest.approx(one.crop_level, abs=1e-3)
    assert other.headroom_frac == pytest.approx(one.headroom_frac, abs=2 * MASK_FRAC / scale)


def test_notes_are_carried_along() -> None:
    found = measured(notes=("16 bit reduced to 8",))
    assert found.notes == ("16 bit reduced to 8",)
    assert found.people == ()
    assert (found.width_px, found.height_px) == (960, 720)


def test_the_order_of_finding_does_not_matter() -> None:
    near, far = (
        a_person(crown_px=(300, 100), stature_px=900),
        a_person(crown_px=(700, 200), stature_px=400),
    )
    one, other = measured(near, far), measured(far, near)
    assert [p.nose_px for p in one.people] == [p.nose_px for p in other.people]


def test_joints_and_bones_know_whether_they_are_inside() -> None:
    (person,) = measured(a_person(**a_third_down(0.4075))).people
    inside = {(joint.part, joint.side): joint.inside for joint in person.joints}
    assert inside["elbow", "left"]
    assert inside["wrist", "right"]
    assert not inside["knee", "left"]
    assert not inside["ankle", "right"]
    edge_px = HEIGHT_PX
    assert all(y < edge_px for bone in person.skeleton_px for _, y in bone)
    assert person.skeleton_px
