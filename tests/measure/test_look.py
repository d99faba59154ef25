"""Colours and turn of a person, read from drawn figures."""

from dataclasses import replace

import numpy as np
import pytest

from framecheck.measure.frame import measure_frame
from framecheck.measure.turn import measure_body_yaw
from framecheck.records.looks import LOOK_PARTS
from framecheck.records.seen import PersonSeen
from framecheck.records.values import NotMeasured
from tests.measure.figures import (
    a_body,
    a_face,
    a_mesh,
    a_person,
    null_corrector,
    the_picture,
)

RED, BLUE, SKIN, HAIR = (200, 30, 30), (30, 40, 200), (220, 170, 140), (40, 30, 20)
CROWN_Y, STATURE = 100.0, 500.0


def painted():
    """A picture of 960 x 720 with the standard figure: hair, face, red coat, blue trousers."""
    rgb = np.full((720, 960, 3), 128, np.uint8)
    bands = ((1.0, 0.955, HAIR), (0.955, 0.85, SKIN), (0.83, 0.50, RED), (0.50, 0.0, BLUE))
    for upper, lower, colour in bands:
        top, bottom = (round(CROWN_Y + (1 - level) * STATURE) for level in (upper, lower))
        rgb[top:bottom, 380:580] = colour
    return rgb


def the_only(measurement):
    (person,) = measurement.people
    return person


def measured(picture=None, rgb=None, **options):
    picture = picture or the_picture()
    person = a_person(crown_px=(480.0, CROWN_Y), stature_px=STATURE, picture=picture, **options)
    return the_only(measure_frame((960, 720), picture, [person], null_corrector(),
                                  rgb=painted() if rgb is None else rgb))  # fmt: skip


def test_each_part_has_its_own_colour() -> None:
    look = measured().look
    assert look is not None
    assert tuple(part.part for part in look.parts) == LOOK_PARTS
    found = {part.part: part.colours[0] for part in look.parts}
    assert found["chest"].green_red > 50
    assert found["legs"].blue_yellow < -50
    assert found["hair"].light < 20
    assert 70 < found["face"].light < 80
    assert found["waist"] == found["chest"]


def test_a_close_shot_shows_the_clothes_at_the_collar() -> None:
    """A frame that ends at 0.78 of the stature, over the chest but under the shoulders (0.818)."""
    look = measured(picture=the_picture(h_px=CROWN_Y + (1 - 0.78) * STATURE)).look
    assert look is not None
    assert [part.part for part in look.parts] == ["hair", "face", "chest"]
    assert look.parts[2].colours[0].green_red > 50


def the_farther(*people):
    found = measure_frame((960, 720), the_picture(), people, null_corrector(), rgb=painted())
    return min(found.people, key=lambda person: person.head_height_px).look


def test_what_somebody_nearer_covers_is_not_read() -> None:
    """A head of 182 px before the chest of the standard figure, and its trunk before the legs."""
    far = a_person(crown_px=(480.0, CROWN_Y), stature_px=STATURE)
    near = a_person(crown_px=(480.0, CROWN_Y + 70), stature_px=1300.0)
    assert [part.part for part in the_farther(far).parts] == list(LOOK_PARTS)
    assert [part.part for part in the_farther(far, near).parts] == ["hair", "face"]


def test_nobody_stands_before_a_face_that_was_found() -> None:
    """The same head before the face, which cannot be, when a face was found there."""
    mesh = a_mesh(eye_px=(480.0, CROWN_Y + 0.064 * STATURE), px_per_mm=500 / 1700)
    far = a_person(crown_px=(480.0, CROWN_Y), stature_px=STATURE)
    near = a_person(crown_px=(480.0, CROWN_Y - 40), stature_px=1100.0)
    hidden, found = the_farther(far, near), the_farther(replace(far, face=a_face(mesh)), near)
    assert "face" not in [part.part for part in hidden.parts]
    assert "face" in [part.part for part in found.parts]


def test_what_lies_outside_the_picture_is_not_told() -> None:
    look = measured(picture=the_picture(h_px=290.0)).look
    assert look is not None
    assert "legs" not in [part.part for part in look.parts]


def test_a_head_from_behind_shows_no_face() -> None:
    look = measured(yaw_deg=170.0).look
    assert look is not None
    assert "face" not in [part.part for part in look.parts]


def test_without_a_picture_there_is_no_look() -> None:
    person = a_person()
    framing = the_only(measure_frame((960, 720), the_picture(), [person], null_corrector()))
    assert framing.look is None


@pytest.mark.parametrize("yaw", [-120.0, -45.0, 0.0, 30.0, 90.0, 175.0])
def test_the_turn_of_the_shoulders(yaw) -> None:
    assert measure_body_yaw(PersonSeen(body=a_body(yaw_deg=yaw)), the_picture()) == pytest.approx(
        yaw
    )


def test_shoulders_outside_the_picture_are_not_read() -> None:
    person = PersonSeen(body=a_body(crown_px=(480.0, 715.0)))
    assert measure_body_yaw(person, the_picture()) == NotMeasured(
        reason="both shoulders are outside the picture"
    )
    outline = PersonSeen(outline=a_body().mask)
    assert isinstance(measure_body_yaw(outline, the_picture()), NotMeasured)
