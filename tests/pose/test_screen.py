"""What is no person is dropped: patterns, upside-down backs, and blends of two people."""

import pytest

from framecheck.pose.screen import (
    drop_blends,
    explained_share,
    is_believed,
    is_on_clothes,
    is_upright,
    mask_on_grid,
    presence_inside,
)
from framecheck.records.seen import PersonSeen
from framecheck.records.values import Box
from tests.measure.figures import drawn_mask
from tests.pose.figures import PICTURE, a_body, a_face, anybody

TRUNK = Box(x_px=400, y_px=100, w_px=160, h_px=500)


def test_presence_counts_what_is_inside_only() -> None:
    assert presence_inside(a_body(presence=0.7), PICTURE) == pytest.approx(0.7)
    assert presence_inside(a_body(5000), PICTURE) == 0.0


def test_a_believed_body_stands_and_a_pattern_does_not() -> None:
    assert is_believed(PersonSeen(body=a_body(presence=0.9)), PICTURE)
    assert not is_believed(PersonSeen(body=a_body(presence=0.1)), PICTURE)


def test_a_face_alone_stands_for_itself() -> None:
    assert is_believed(PersonSeen(face=a_face()), PICTURE)


def test_a_face_vouches_for_a_doubtful_body() -> None:
    doubtful = a_body(presence=0.35)
    assert not is_believed(PersonSeen(body=doubtful), PICTURE)
    assert is_believed(PersonSeen(body=doubtful, face=a_face()), PICTURE)


def test_the_people_mask_vouches_for_a_doubtful_body() -> None:
    doubtful = PersonSeen(body=a_body(presence=0.35))
    assert is_believed(doubtful, PICTURE, anybody(TRUNK))


def test_a_ghost_where_the_people_mask_sees_nobody_is_dropped() -> None:
    """Large, half believed, and no pixel of it in the mask."""
    ghost = PersonSeen(body=a_body(presence=0.6))
    elsewhere = anybody(Box(x_px=0, y_px=0, w_px=120, h_px=300))
    assert not is_believed(ghost, PICTURE, elsewhere)
    assert is_believed(PersonSeen(body=a_body(presence=0.97)), PICTURE, elsewhere)


def test_the_people_mask_has_no_say_over_small_figures() -> None:
    small = PersonSeen(body=a_body(stature_px=100, presence=0.6))
    assert is_believed(small, PICTURE, anybody())


def test_upside_down_backs_are_dropped() -> None:
    assert is_upright(a_body())
    assert not is_upright(a_body(upside_down=True))
    assert not is_believed(PersonSeen(body=a_body(upside_down=True)), PICTURE)


def test_a_mask_on_the_grid_is_where_it_was_drawn() -> None:
    grid = mask_on_grid(anybody(Box(x_px=480, y_px=0, w_px=480, h_px=720)), PICTURE)
    assert grid.shape == (72, 96)
    assert not grid[:, :48].any()
    assert grid[:, 48:].all()


def test_a_cutouts_mask_stays_in_its_own_box() -> None:
    view = Box(x_px=480, y_px=360, w_px=480, h_px=360)
    grid = mask_on_grid(drawn_mask(view, [view]), PICTURE)
    assert grid[36:, 48:].all()
    assert grid.sum() == 36 * 48


def test_the_explained_share_is_of_the_mask() -> None:
    body = PersonSeen(body=a_body(mask=anybody(Box(x_px=0, y_px=0, w_px=240, h_px=720))))
    everybody = anybody(Box(x_px=0, y_px=0, w_px=480, h_px=720))
    assert explained_share([body], everybody, PICTURE) == pytest.approx(0.5)
    assert explained_share([], everybody, PICTURE) == 0.0
    assert explained_share([body], anybody(), PICTURE) == 1.0
    assert explained_share([], anybody(), PICTURE) == 0.0


def test_a_blend_of_two_people_is_dropped() -> None:
    left = PersonSeen(body=a_body(400), face=a_face(400))
    right = PersonSeen(body=a_body(560), face=a_face(560))
    both = anybody(Box(x_px=330, y_px=200, w_px=300, h_px=150))
    blend = PersonSeen(body=a_body(480, mask=both))
    assert drop_blends([left, blend, right], PICTURE) == (left, right)


def test_a_third_person_with_a_face_stays() -> None:
    left = PersonSeen(body=a_body(400), face=a_face(400))
    right = PersonSeen(body=a_body(560), face=a_face(560))
    both = anybody(Box(x_px=330, y_px=200, w_px=300, h_px=150))
    third = PersonSeen(body=a_body(480, mask=both), face=a_face(480))
    assert len(drop_blends([left, third, right], PICTURE)) == 3


def test_a_person_with_pixels_of_its_own_stays() -> None:
    left, right = PersonSeen(body=a_body(200)), PersonSeen(body=a_body(700))
    assert drop_blends([left, right], PICTURE) == (left, right)


def test_of_two_faceless_findings_of_one_figure_the_first_stays() -> None:
    one, other = PersonSeen(body=a_body(480)), PersonSeen(body=a_body(482))
    assert drop_blends([one, other], PICTURE) == (one,)


def test_a_face_beside_a_body_explains_nothing_away() -> None:
    """A face of its own, three heads beside another person's back."""
    people = [PersonSeen(face=a_face(700)), PersonSeen(body=a_body(480))]
    assert drop_blends(people, PICTURE) == tuple(people)


def test_a_pattern_in_somebodys_hair_is_dropped() -> None:
    """A small figure with its head on a large face, and pixels that the other's mask leaves out."""
    near = PersonSeen(
        body=a_body(
            480, stature_px=1400, mask=anybody(Box(x_px=300, y_px=300, w_px=360, h_px=420))
        ),
        face=a_face(480, 200, side_px=160),
    )
    pattern = PersonSeen(
        body=a_body(
            520, crown_y_px=150, stature_px=200,
            mask=anybody(Box(x_px=470, y_px=100, w_px=100, h_px=190)),
        )
    )  # fmt: skip
    assert drop_blends([near, pattern], PICTURE) == (near,)
    aside = PersonSeen(body=a_body(800, crown_y_px=150, stature_px=200))
    assert drop_blends([near, aside], PICTURE) == (near, aside)


def test_a_face_on_the_clothes_of_somebody_with_a_face_is_a_pattern() -> None:
    """The figure's trunk reaches from 185 to 360 px; its own face lies at 140."""
    own, printed = a_face(), a_face(480, 300)
    wearer = PersonSeen(body=a_body(), face=own)
    assert is_on_clothes(printed, [wearer])
    assert not is_on_clothes(own, [wearer])
    assert not is_on_clothes(a_face(800, 300), [wearer])
    assert not is_on_clothes(a_face(2000, 300), [wearer])
    assert not is_on_clothes(printed, [PersonSeen(body=a_body())])
