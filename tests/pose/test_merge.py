"""Several findings of one body become one; two people never do."""

import numpy as np
import pytest

from framecheck.pose.merge import (
    body_scale_px,
    face_fits_body,
    is_same_body,
    merge_bodies,
    merge_faces,
    overlap,
    pair_people,
)
from framecheck.records.seen import BodySeen
from framecheck.records.values import Box
from tests.pose.figures import PICTURE, a_body, a_face


def jittered(body: BodySeen, spread_px: float) -> BodySeen:
    noise = np.random.default_rng(3).normal(0, spread_px, (33, 2))
    return BodySeen(
        joints_px=body.joints_px + noise, joints_m=body.joints_m, presence=body.presence,
        mask=body.mask, score=body.score, found_by="another pass",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("one", "other", "share"),
    [
        (Box(x_px=0, y_px=0, w_px=10, h_px=10), Box(x_px=0, y_px=0, w_px=10, h_px=10), 1.0),
        (Box(x_px=0, y_px=0, w_px=10, h_px=10), Box(x_px=5, y_px=0, w_px=10, h_px=10), 1 / 3),
        (Box(x_px=0, y_px=0, w_px=10, h_px=10), Box(x_px=10, y_px=0, w_px=10, h_px=10), 0.0),
        (Box(x_px=0, y_px=0, w_px=10, h_px=10), Box(x_px=2, y_px=2, w_px=5, h_px=5), 0.25),
    ],
    ids=["same", "half aside", "touching", "inside"],
)
def test_overlap_is_shared_over_whole(one, other, share) -> None:
    assert overlap(one, other) == overlap(other, one) == pytest.approx(share)


def test_the_scale_is_about_one_shoulder_breadth() -> None:
    """0.259 of the stature (Drillis & Contini 1966, in Winter)."""
    assert body_scale_px(a_body(stature_px=500)) == pytest.approx(0.259 * 500, rel=0.01)


def test_the_scale_survives_turning_to_a_profile() -> None:
    body = a_body()
    joints_px = np.array(body.joints_px)
    joints_px[:, 0] = 480.0
    profile = BodySeen(
        joints_px=joints_px, joints_m=body.joints_m, presence=body.presence, mask=body.mask,
        score=1.0, found_by="a test",
    )  # fmt: skip
    assert body_scale_px(profile) > 0.7 * body_scale_px(body)


def test_the_same_body_twice_is_one_and_the_first_is_kept() -> None:
    body = a_body()
    again = jittered(body, 8.0)
    assert is_same_body(body, again, PICTURE)
    assert merge_bodies([body, again], PICTURE) == (body,)


def test_two_people_close_by_stay_two() -> None:
    """Shoulder to shoulder: 0.27 of a stature apart, one shoulder breadth."""
    one, other = a_body(400), a_body(400 + 0.27 * 500)
    assert not is_same_body(one, other, PICTURE)
    assert merge_bodies([one, other], PICTURE) == (one, other)


def test_one_behind_the_other_stay_two() -> None:
    """A near and a far person in line, heads one head apart."""
    near, far = a_body(stature_px=600), a_body(490, crown_y_px=30, stature_px=420)
    assert len(merge_bodies([near, far], PICTURE)) == 2


def test_heads_together_are_one_whatever_the_limbs() -> None:
    """Legs out of the picture are guessed, and guessed differently from pass to pass."""
    body = a_body(crown_y_px=400, stature_px=900)
    joints_px = np.array(body.joints_px)
    joints_px[11:, 1] += 200.0
    other = BodySeen(
        joints_px=joints_px, joints_m=body.joints_m, presence=body.presence, mask=body.mask,
        score=1.0, found_by="another pass",
    )  # fmt: skip
    assert is_same_body(body, other, PICTURE)


def test_bodies_with_no_joint_in_common_are_two() -> None:
    assert not is_same_body(a_body(-2000), a_body(3000), PICTURE)


def test_of_overlapping_faces_the_best_scored_stays() -> None:
    weak, strong = a_face(score=0.5), a_face(484, score=0.8)
    aside = a_face(600, score=0.4)
    assert merge_faces([weak, aside, strong]) == (strong, aside)


def test_a_face_fits_its_own_body() -> None:
    body = a_body()
    assert face_fits_body(a_face(), body) < 0.2
    assert face_fits_body(a_face(600), body) > 1.5


def test_faces_go_to_their_own_bodies() -> None:
    left, right = a_body(300), a_body(600)
    faces = [a_face(602), a_face(298), a_face(850)]
    people = pair_people([left, right], faces)
    assert [(p.body, p.face) for p in people] == [
        (left, faces[1]), (right, faces[0]), (None, faces[2]),
    ]  # fmt: skip


def test_one_face_is_not_given_twice() -> None:
    one, other = a_body(480), a_body(500)
    people = pair_people([one, other], [a_face(482)])
    assert [p.face is not None for p in people] == [True, False]


def test_nobody_pairs_to_nobody() -> None:
    assert pair_people([], []) == ()
