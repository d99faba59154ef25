"""The top of the head: by the mask, or by the head's dome where the top edge cuts it."""

import math

import numpy as np
import pytest

from framecheck.geometry.dome import DOME_POWER
from framecheck.geometry.ruler import MARK_LEVELS
from framecheck.measure.crown import Crown, find_crown, marks_origin_px
from framecheck.measure.frame import measure_frame
from framecheck.measure.head import measure_head
from framecheck.records.seen import BodySeen, HeadSeen, MarksSeen, MaskSeen, PersonSeen
from framecheck.records.values import Box, Measured, NotMeasured
from tests.measure.figures import a_body, a_person, null_corrector, the_picture

CROWN_PX, STATURE_PX = (480.0, 100.0), 1500.0
EYE_Y_PX = CROWN_PX[1] + (1 - MARK_LEVELS["eye"]) * STATURE_PX
UNIT_PX = (MARK_LEVELS["eye"] - MARK_LEVELS["chin"]) * STATURE_PX


def head_mask(picture: Box, *, top_px: float, half_width_px: float, x_px: float = 480) -> MaskSeen:
    """A superellipse over the eyes, straight sides below, one mask pixel a file pixel."""
    rows, columns = np.mgrid[0 : round(picture.h_px), 0 : round(picture.w_px)] + 0.5
    y_px, aside_px = rows + picture.y_px, np.abs(columns + picture.x_px - x_px)
    up = np.clip((EYE_Y_PX - y_px) / (EYE_Y_PX - top_px), 0, None)
    inside = (aside_px / half_width_px) ** DOME_POWER + up**DOME_POWER <= 1
    return MaskSeen(inside=np.where(inside, 255, 0).astype(np.uint8), box=picture)


def crown_of(picture: Box, **mask: float) -> Crown:
    body = a_body(
        crown_px=CROWN_PX, stature_px=STATURE_PX, picture=picture, mask=head_mask(picture, **mask)
    )
    person = PersonSeen(body=body)
    return find_crown(person, measure_head(person), picture)


def test_a_mask_that_ends_inside_tells_the_top() -> None:
    crown = crown_of(the_picture(960, 720), top_px=80, half_width_px=80)
    assert crown.from_mask
    assert crown.head_top_px == pytest.approx(80, abs=2)
    assert crown.crown_px == pytest.approx((480, 80), abs=2)


@pytest.mark.parametrize("cut_px", [5, 10, 15])
def test_a_trimmed_head_goes_on_as_its_dome_does(cut_px: float) -> None:
    """The edge lies so far under the top; the face, which says 15 px more, weighs little."""
    picture = the_picture(960, 720, 0, 80 + cut_px)
    crown = crown_of(picture, top_px=80, half_width_px=80)
    assert not crown.from_mask
    assert picture.y_px - crown.head_top_px == pytest.approx(cut_px, abs=1 + 0.1 * cut_px)


def test_the_deeper_the_cut_the_more_the_face_weighs() -> None:
    """30 % of the head over the eyes is missing: dome 38 px, face 104 px; the first is surer."""
    over_eyes_px = EYE_Y_PX - 50
    edge_px = 50 + 0.3 * over_eyes_px
    crown = crown_of(the_picture(960, 720, 0, edge_px), top_px=50, half_width_px=80)
    by_face_px = EYE_Y_PX - (0.064 / 0.066 + 0.35) * UNIT_PX
    assert min(50, by_face_px) - 1 <= crown.head_top_px <= max(50, by_face_px) + 1


def test_an_edge_through_the_eyes_leaves_the_face_alone() -> None:
    picture = the_picture(960, 720, 0, EYE_Y_PX + 10)
    crown = crown_of(picture, top_px=80, half_width_px=80)
    assert crown.head_top_px == pytest.approx(EYE_Y_PX - (0.064 / 0.066 + 0.35) * UNIT_PX, abs=1)


def test_a_head_that_a_side_cuts_as_well_has_no_width_to_go_by() -> None:
    """Same cut, one side of the head out of the picture: by the face."""
    whole = crown_of(the_picture(960, 720, 0, 90), top_px=80, half_width_px=80)
    halved = crown_of(the_picture(960, 720, 440, 90), top_px=80, half_width_px=80)
    assert whole.head_top_px == pytest.approx(80, abs=2)
    assert halved.head_top_px == pytest.approx(EYE_Y_PX - (0.064 / 0.066 + 0.35) * UNIT_PX, abs=1)


def test_the_crown_of_a_profile_is_looked_for_behind_the_eyes() -> None:
    """A head whose middle lies 0.7 eye-to-chin lengths behind the eyes, which look to the right."""
    picture = the_picture(960, 720)
    behind_px = 0.7 * UNIT_PX
    mask = head_mask(picture, top_px=80, half_width_px=75, x_px=480 - behind_px)
    body = a_body(crown_px=CROWN_PX, stature_px=STATURE_PX, picture=picture, mask=mask, yaw_deg=90)
    crown = find_crown(PersonSeen(body=body), measure_head(PersonSeen(body=body)), picture)
    assert crown.from_mask
    assert crown.head_top_px == pytest.approx(80, abs=2)
    assert crown.crown_px[0] == pytest.approx(480 - behind_px, abs=2)


def test_mirrored_heads_have_mirrored_crowns() -> None:
    picture = the_picture(960, 720, 0, 90)
    left = crown_of(picture, top_px=80, half_width_px=80, x_px=470)
    right = crown_of(picture, top_px=80, half_width_px=80, x_px=490)
    assert left.head_top_px == pytest.approx(right.head_top_px, abs=0.5)


def test_what_the_marks_network_tells_stands_where_no_mask_does() -> None:
    person = a_person(crown_px=CROWN_PX, stature_px=STATURE_PX)
    marks = MarksSeen(points_px=np.zeros((5, 2)), errors_px=np.ones(5), head_top_px=33.0)
    blind = PersonSeen(
        body=a_body(
            crown_px=CROWN_PX, stature_px=STATURE_PX,
            mask=MaskSeen(inside=np.zeros((4, 4), np.uint8), box=the_picture()),
        ),
        marks=marks,
    )  # fmt: skip
    assert find_crown(blind, measure_head(blind), the_picture()).head_top_px == 33.0
    assert math.isfinite(marks_origin_px(person, measure_head(person), the_picture()))


def test_the_top_of_a_far_larger_head_is_too_uncertain_for_headroom() -> None:
    """Eye to chin 1.5 picture heights, the edge through the eyes: 0.24 x 1.5 = 0.36 off, over 0.18.

    A face cut at the chin, 0.67 picture heights from eye to chin, is told (0.16).
    """
    picture, near = the_picture(960, 120), the_picture(960, 240)
    body = a_body(crown_px=(480, -170), stature_px=2727, picture=picture)
    assert isinstance(_headroom(body, picture), NotMeasured)
    assert not isinstance(_headroom(body, near), NotMeasured)


def _headroom(body: BodySeen, picture: Box) -> Measured:
    (person,) = measure_frame((960, 240), picture, [PersonSeen(body=body)], null_corrector()).people
    return person.headroom_frac


def test_a_head_that_was_seen_as_such_weighs_by_its_error() -> None:
    """A mask that tells nothing: by the face 97 + 25 px over the eyes (error 24), by the head seen.

    Its top lies 0.5 + 0.055 of 200 px over its middle, error 14 px: weights 196 and 576 to 772.
    """
    blank = MaskSeen(inside=np.zeros((4, 4), np.uint8), box=the_picture())
    body = a_body(crown_px=CROWN_PX, stature_px=STATURE_PX, mask=blank)
    seen = HeadSeen(centre_px=(480, 190), height_px=200.0)
    plain, told = PersonSeen(body=body), PersonSeen(body=body, head=seen)
    head = measure_head(plain)
    by_face = find_crown(plain, head, the_picture())
    both = find_crown(told, head, the_picture())
    assert by_face.error_px == pytest.approx(0.24 * UNIT_PX)
    share = 14.0**2 / (14.0**2 + by_face.error_px**2)
    by_head_px = 190 - 0.555 * 200
    expected_px = share * by_face.head_top_px + (1 - share) * by_head_px
    assert both.head_top_px == pytest.approx(expected_px)
    assert both.error_px < min(14.0, by_face.error_px)


def test_a_head_on_its_side_is_as_high_over_its_middle_as_half_its_breadth() -> None:
    """Upright 0.5 x 200 px, on its side 0.33 x 200; the face weighs the same in both."""
    blank = MaskSeen(inside=np.zeros((4, 4), np.uint8), box=the_picture())
    body = a_body(crown_px=CROWN_PX, stature_px=STATURE_PX, mask=blank)
    tops = []
    for down in ((0.0, 1.0), (1.0, 0.0)):
        seen = HeadSeen(centre_px=(480, 190), height_px=200.0, down=down)
        person = PersonSeen(body=body, head=seen)
        tops.append(find_crown(person, measure_head(person), the_picture()).head_top_px)
    face_error_px = 0.24 * UNIT_PX
    share = face_error_px**2 / (14.0**2 + face_error_px**2)
    assert tops[1] - tops[0] == pytest.approx(share * (0.5 - 0.33) * 200)
