"""Delivery frames on stick figures whose every place is known.

The standard figure is 1000 px tall, its crown at y = 100: level L lies at y = 1100 - 1000 L, and
its head is 130 px high (see conftest).
"""

from dataclasses import replace
from fractions import Fraction

import pytest

from framecheck.classify.delivery import (
    DeliveryRules,
    at_place,
    best_place,
    faces_of,
    measure_in,
    read_delivery,
)
from framecheck.geometry.extraction import extract
from framecheck.pipeline.settings import Settings, load_judging
from framecheck.records.delivery import Delivery, Placed
from framecheck.records.framing import Edge, FrameMeasurement, Role
from framecheck.records.values import Box, NotMeasured
from tests.classify.conftest import build_person, build_picture

JUDGING = load_judging(Settings())
RULES = DeliveryRules(judge=JUDGING.judge, thresholds=JUDGING.thresholds, ranges=JUDGING.ranges)


def box(x, y, w, h) -> Box:
    return Box(x_px=x, y_px=y, w_px=w, h_px=h)


def a_frame(crop_level=0.41, people=((800.0, "subject"),)) -> FrameMeasurement:
    picture = build_picture(crop_level)
    made = tuple(
        build_person(picture, person=i, x_px=x, role=Role(role))
        for i, (x, role) in enumerate(people)
    )
    return FrameMeasurement(
        width_px=1600, height_px=int(picture.h_px), picture=picture, people=made
    )


def a_delivery(aspect, **more) -> Delivery:
    return Delivery(name=aspect, aspect=Fraction(aspect), **more)


def test_a_wide_frame_cuts_higher() -> None:
    # the picture is 1600 x 690 and cuts at 0.41; 2.39:1 of it is 1600 x 670 (669.5 rounded up to
    # even), 10 px off the top and the bottom: the bottom edge then cuts at 0.42
    reading = read_delivery(a_frame(), a_delivery("239/100"), RULES)
    assert reading.extraction.frame == box(0, 10, 1600, 670)
    person = reading.measurement.people[0]
    assert person.crop_level == pytest.approx(0.42)
    assert person.headroom_frac == pytest.approx((100 - 10) / 670)
    assert reading.judgement.sizes[0].abbr == "CS"
    assert (reading.faces, reading.faces_inside, reading.faces_safe) == (1, 1, 1)


def test_an_upright_frame_leaves_the_second_person_out() -> None:
    frame = a_frame(people=((800.0, "subject"), (1400.0, "subject")))
    reading = read_delivery(frame, a_delivery("9/16"), RULES)
    assert reading.extraction.frame.w_px == 390  # 690 x 9/16 = 388.1, up to even 390
    assert len(reading.measurement.people) == 1
    assert (reading.faces, reading.faces_inside) == (2, 1)
    assert reading.judgement.shot_type.value == "single"
    assert reading.asked.faces_out == 1


def test_the_best_place_keeps_the_face_inside() -> None:
    # somebody at the right: the centre cut of 9:16 (605 to 995) misses them
    frame = a_frame(people=((1300.0, "subject"),))
    reading = read_delivery(frame, a_delivery("9/16"), RULES)
    assert reading.faces_inside == 0
    assert reading.measurement.people == ()
    assert reading.asked.faces_out == 1
    assert reading.best.faces_out == 0
    moved = extract(frame.picture, at_place(reading.delivery, reading.best)).frame
    face = faces_of(frame)[0]
    assert moved.x_px <= face.x_px
    assert face.right_px <= moved.right_px


def test_the_best_place_clears_a_joint() -> None:
    # crop level 0.16 in a picture 940 high; 4:1 of 1600 is 400 high: centred, it runs from 270 to
    # 670 and has no head; the best one has the whole face
    frame = a_frame(0.16)
    reading = read_delivery(frame, a_delivery("4"), RULES)
    assert reading.asked.faces_out == 1
    assert reading.best.faces_out == 0
    assert reading.best.offset_y_frac < 0
    # 16:7 is 700 high: centred, its bottom edge is at 820, level 0.28, which is the knee
    centred = read_delivery(frame, a_delivery("16/7"), RULES)
    assert [flag.part for flag in centred.judgement.flags if flag.part == "knee"] == ["knee"]
    assert centred.best.joint_cost == 0
    bottom = 470 + 350 + centred.best.offset_y_frac * 940
    assert (1100 - bottom) / 1000 > JUDGING.thresholds.knee_to_level


def test_a_frame_that_is_fine_stays_where_it_was_asked() -> None:
    reading = read_delivery(a_frame(0.41), a_delivery("2", offset_x_frac=0.0), RULES)
    assert reading.best == reading.asked
    assert (reading.best.offset_x_frac, reading.best.offset_y_frac) == (0.0, 0.0)


def test_one_place_for_all_frames_of_a_shot() -> None:
    left, right = (a_frame(people=((x, "subject"),)) for x in (500.0, 700.0))
    place = best_place([left, right], a_delivery("9/16"), RULES)
    assert place.faces_out == 0
    # faces reach from 453 to 547 and from 653 to 747: the frame of 390 must hold 453 to 747
    middle = 800 + place.offset_x_frac * 1600
    assert middle - 195 <= 453.2 + 1
    assert middle + 195 >= 746.8 - 1


def test_a_picture_tells_its_own_cost_at_the_place_of_its_shot() -> None:
    # faces 600 px apart, and the frame of 9:16 is 390 px wide: one of them is always outside
    left, right = (a_frame(people=((x, "subject"),)) for x in (500.0, 1100.0))
    delivery = a_delivery("9/16")
    place = best_place([left, right], delivery, RULES)
    assert place.faces_out == 1
    costs = [read_delivery(frame, delivery, RULES, best=place).best for frame in (left, right)]
    assert sorted(cost.faces_out for cost in costs) == [0, 1]
    assert {cost.offset_x_frac for cost in costs} == {place.offset_x_frac}


def test_what_the_sides_cut_is_not_claimed() -> None:
    frame = a_frame(people=((800.0, "subject"),))
    narrow = measure_in(frame, box(780, 0, 40, 690))
    person = narrow.people[0]
    assert isinstance(person.left_cut, NotMeasured)
    assert "not read" in person.left_cut.reason
    assert {Edge.LEFT, Edge.RIGHT} <= set(person.cut_edges)
    same = measure_in(frame, frame.picture)
    assert same.people[0].left_cut == frame.people[0].left_cut


def test_the_same_frame_changes_nothing() -> None:
    frame = a_frame(people=((800.0, "subject"), (1200.0, "subject")))
    aspect = Fraction(int(frame.picture.w_px), int(frame.picture.h_px))
    reading = read_delivery(frame, Delivery(name="own", aspect=aspect), RULES)
    judged = JUDGING.judge(frame)
    assert reading.judgement.sizes == judged.sizes
    assert reading.judgement.flags == judged.flags
    assert reading.judgement.shot_type == judged.shot_type


def test_the_next_person_leads_when_the_first_is_outside() -> None:
    frame = a_frame(people=((300.0, "subject"), (900.0, "background")))
    inside = measure_in(frame, box(700, 0, 400, 690))
    assert [person.nose_px[0] for person in inside.people] == [900.0]
    assert inside.people[0].person == 0
    assert inside.people[0].role is Role.SUBJECT


def test_a_picture_without_people() -> None:
    empty = replace(a_frame(), people=())
    reading = read_delivery(empty, a_delivery("1"), RULES)
    assert (reading.faces, reading.faces_inside) == (0, 0)
    assert reading.judgement.shot_type.value == "no people"
    assert reading.best == reading.asked


def test_a_fixed_frame_moves_as_well() -> None:
    fixed = Delivery(name="a", aspect=Fraction(1), fixed_frac=(0.0, 0.0, 0.25, 1.0))
    place = Placed(offset_x_frac=0.1, offset_y_frac=0.0, faces_out=0, joint_cost=0, room_cost=0)
    assert at_place(fixed, place).fixed_frac == pytest.approx((0.475, 0.0, 0.25, 1.0))
    guarded = replace(fixed, fixed_frac=(0.1, 0.1, 0.2, 0.8), protected_frac=(0.0, 0.0, 0.4, 1.0))
    moved = at_place(guarded, place)
    assert moved.fixed_frac == pytest.approx((0.5, 0.1, 0.2, 0.8))
    assert moved.protected_frac == pytest.approx((0.4, 0.0, 0.4, 1.0))


def test_without_a_ruler_nothing_is_claimed_of_another_frame() -> None:
    frame = a_frame()
    bare = replace(frame, people=(replace(frame.people[0], ruler=None),))
    person = measure_in(bare, box(0, 0, 1600, 500)).people[0]
    assert isinstance(person.crop_level, NotMeasured)
    assert isinstance(person.top_level, NotMeasured)
    assert measure_in(bare, bare.picture).people[0].crop_level == frame.people[0].crop_level
