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
    offset_of,
    rate_place,
    read_delivery,
)
from framecheck.classify.flags import find_flags
from framecheck.geometry.extraction import extract, spare_px
from framecheck.pipeline.settings import Settings, load_judging
from framecheck.records.delivery import Delivery, Extraction, Placed
from framecheck.records.framing import Edge, FrameMeasurement, Role
from framecheck.records.values import Box, NotMeasured
from tests.classify.conftest import build_frame, build_person, build_picture

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


def test_a_face_reaches_from_the_brow_to_the_chin() -> None:
    """Crown at 100, chin at 230, so 130 px of head: brow 0.30 below, 0.36 to each side."""
    (face,) = faces_of(a_frame(0.41))
    assert (face.x_px, face.y_px, face.w_px, face.h_px) == pytest.approx((753.2, 139, 93.6, 91))
    frame = a_frame(0.41)
    hanging = replace(frame.people[0], crown_y_px=230.0, chin_y_px=100.0)
    assert faces_of(replace(frame, people=(hanging,))) == [face]


def test_a_face_is_told_as_far_as_the_picture_shows_it() -> None:
    frame = a_frame(0.90)  # the bottom edge at y = 200
    (face,) = faces_of(frame)
    assert (face.y_px, face.h_px) == pytest.approx((139, 61))
    edge = a_frame(people=((20.0, "subject"),))
    assert (faces_of(edge)[0].x_px, faces_of(edge)[0].w_px) == pytest.approx((0.0, 66.8))


def test_whose_face_does_not_count() -> None:
    frame = a_frame(people=((400.0, "subject"), (800.0, "foreground"), (1200.0, "background")))
    assert [round(face.centre_px[0]) for face in faces_of(frame)] == [400, 1200]
    for hidden in ("crown_y_px", "chin_y_px", "head_height_px"):
        unread = replace(frame.people[0], **{hidden: NotMeasured(reason="hidden")})
        assert len(faces_of(replace(frame, people=(unread, *frame.people[1:])))) == 1
    outside = replace(frame.people[0], nose_px=(400.0, -5.0))
    assert len(faces_of(replace(frame, people=(outside, *frame.people[1:])))) == 1


def test_a_place_costs_what_its_flags_weigh_and_the_faces_that_it_loses() -> None:
    """Joints and room apart, high 4, medium 2, low 1, over all pictures of the shot."""
    frames = []
    for crop, x, top in ((0.285, 760.0, 0.0), (0.16, 840.0, 0.0), (0.41, 800.0, -600.0)):
        picture = build_picture(crop, top_px=top)
        people = [build_person(picture, x_px=x), build_person(picture, person=1, x_px=1500.0)]
        frames.append(build_frame(picture, *people))
    delivery = a_delivery("1", offset_x_frac=0.05)
    placed = rate_place(frames, delivery, RULES)
    joints = room = out = 0
    for frame in frames:
        inside = measure_in(frame, extract(frame.picture, delivery).frame)
        for flag in find_flags(inside, RULES.thresholds, RULES.ranges):
            weight = {"high": 4, "medium": 2, "low": 1}[flag.severity.value]
            aside = flag.part in {"headroom", "looking room"}
            room, joints = room + weight * aside, joints + weight * (not aside)
        place = extract(frame.picture, delivery).frame
        out += sum(not (place.x_px <= f.x_px and f.right_px <= place.right_px)
                   for f in faces_of(frame))  # fmt: skip
    assert (placed.joint_cost, placed.room_cost, placed.faces_out) == (joints, room, out)
    assert min(joints, room, out) > 0
    assert placed.offset_x_frac == pytest.approx(0.05)
    assert placed.offset_y_frac == pytest.approx(0.0)


def test_nothing_to_place_costs_nothing() -> None:
    free = Placed(offset_x_frac=0.0, offset_y_frac=0.0, faces_out=0, joint_cost=0, room_cost=0)
    assert rate_place([], a_delivery("1"), RULES) == free
    assert best_place([], a_delivery("1"), RULES) == free


@pytest.mark.parametrize(("dx", "dy"), [(160.0, 0.0), (0.0, 69.0), (-80.0, -34.5)])
def test_an_offset_is_told_in_shares_of_the_picture(dx, dy) -> None:
    picture = box(40, 20, 1600, 690)
    place = box(40 + 600 + dx, 20 + 245 + dy, 400, 200)
    found = offset_of(Extraction(frame=place, protected=place), picture)
    assert found == pytest.approx((dx / 1600, dy / 690))


@pytest.mark.parametrize(
    ("crop", "x", "aspect"), [(0.16, 800.0, "4"), (0.05, 800.0, "5"), (0.41, 1300.0, "9/16")]
)
def test_of_the_places_that_are_as_good_the_nearest_is_taken(crop, x, aspect) -> None:
    """All places along the way that is free, a fortieth of it apart, rated one by one."""
    frame, delivery = a_frame(crop, people=((x, "subject"),)), a_delivery(aspect)
    spare = spare_px(extract(frame.picture, delivery).protected, frame.picture)
    rated = []
    for step in range(-20, 21):
        share_x, share_y = spare[0] / 1600, spare[1] / frame.picture.h_px
        moved = replace(
            delivery, offset_x_frac=step / 20 * share_x, offset_y_frac=step / 20 * share_y
        )
        cost = rate_place([frame], moved, RULES)
        rated.append(((cost.faces_out, cost.joint_cost, cost.room_cost), abs(step), cost))
    best = min(rated, key=lambda row: row[:2])
    found = best_place([frame], delivery, RULES)
    assert (found.faces_out, found.joint_cost, found.room_cost) == best[0]
    distance = abs(found.offset_x_frac) + abs(found.offset_y_frac)
    assert distance == pytest.approx(abs(best[2].offset_x_frac) + abs(best[2].offset_y_frac))


@pytest.mark.parametrize(("left_px", "inside"), [(753.7, 1), (754.5, 0)])
def test_a_face_may_stand_out_by_a_pixel(left_px, inside) -> None:
    fixed = Delivery(name="f", aspect=Fraction(1), fixed_frac=(left_px / 1600, 0.0, 0.25, 1.0))
    reading = read_delivery(a_frame(0.41), fixed, RULES)
    assert (reading.faces, reading.faces_inside) == (1, inside)


@pytest.mark.parametrize(
    ("left_px", "counts"),
    [(870.0, True), (880.0, True), (881.0, False), (900.0, False), (950.0, False)],
)
def test_a_headless_body_counts_from_a_tenth_of_what_was_seen_on(left_px, counts) -> None:
    """The body reaches from 700 to 900."""
    found = measure_in(a_frame(), box(left_px, 0, 600, 1100)).people
    assert len(found) == (1 if counts else 0)
    if counts:
        assert (found[0].box.x_px, found[0].box.right_px) == (left_px, 900.0)


def cut_at(left=0.0, top=0.0, right=0.0, bottom=0.0) -> Box:
    """The picture of 1600 x 690 with its edges moved inwards."""
    return box(left, top, 1600 - left - right, 690 - top - bottom)


def test_cuts_of_edges_that_stay_are_kept_and_others_are_found_anew() -> None:
    frame = a_frame()
    person = replace(
        frame.people[0], cut_edges=(Edge.LEFT, Edge.RIGHT), left_cut=0.6, right_cut=0.7,
        box=box(600, 50, 400, 600),
    )  # fmt: skip
    measured = replace(frame, people=(person,))

    def read(**moved):
        return measure_in(measured, cut_at(**moved)).people[0]

    assert set(read().cut_edges) == {Edge.LEFT, Edge.RIGHT}
    assert (read().left_cut, read().right_cut) == (0.6, 0.7)
    one = read(left=1.0, right=2.0)
    assert (one.cut_edges, one.left_cut) == ((Edge.LEFT,), 0.6)
    assert isinstance(one.right_cut, NotMeasured)
    other = read(left=2.0, right=1.0)
    assert (other.cut_edges, other.right_cut) == ((Edge.RIGHT,), 0.7)
    assert isinstance(other.left_cut, NotMeasured)
    for moved, edge in (({"top": 100.0}, Edge.TOP), ({"bottom": 100.0}, Edge.BOTTOM),
                        ({"left": 650.0}, Edge.LEFT), ({"right": 650.0}, Edge.RIGHT)):  # fmt: skip
        assert edge in read(**moved).cut_edges
    # a pixel into the box is no cut yet, and neither is an edge that passes beside it
    for moved in ({"top": 51.0}, {"bottom": 41.0}, {"top": 40.0}):
        assert not {Edge.TOP, Edge.BOTTOM} & set(read(**moved).cut_edges)
    assert Edge.TOP in read(top=52.0).cut_edges


def test_a_box_is_cut_to_the_frame() -> None:
    frame = a_frame()
    person = replace(frame.people[0], box=box(600, 50, 400, 600))
    found = measure_in(
        replace(frame, people=(person,)), cut_at(left=650, top=100, right=700)
    ).people
    assert found[0].box == box(650, 100, 250, 550)


def test_without_a_ruler_the_height_of_the_figure_is_not_claimed_either() -> None:
    frame = a_frame()
    bare = replace(frame, people=(replace(frame.people[0], ruler=None),))
    person = measure_in(bare, box(0, 0, 1600, 500)).people[0]
    for value in (person.crop_level, person.top_level, person.figure_frac):
        assert value == NotMeasured(reason="no body ruler to read in another frame")


def test_what_lies_outside_has_no_size() -> None:
    frame = a_frame()
    away = replace(frame.people[0], box=box(0, 0, 10, 10))
    found = measure_in(replace(frame, people=(away,)), box(400, 100, 800, 500)).people
    assert (found[0].box.w_px, found[0].box.h_px) == (0.0, 0.0)
    odd = replace(frame.people[0], head_height_px=500.0)  # brow at 250, chin at 230
    assert faces_of(replace(frame, people=(odd,)))[0].h_px == 0.0


def test_protection_moves_along_in_both_directions() -> None:
    guarded = Delivery(
        name="g", aspect=Fraction(1), fixed_frac=(0.2, 0.1, 0.2, 0.4),
        protected_frac=(0.15, 0.05, 0.3, 0.5),
    )  # fmt: skip
    place = Placed(offset_x_frac=0.1, offset_y_frac=0.2, faces_out=0, joint_cost=0, room_cost=0)
    moved = at_place(guarded, place)
    assert moved.fixed_frac == pytest.approx((0.5, 0.5, 0.2, 0.4))
    assert moved.protected_frac == pytest.approx((0.45, 0.45, 0.3, 0.5))


def test_a_body_without_pixels_does_not_count() -> None:
    frame = a_frame()
    nothing = replace(frame.people[0], box=box(800, 100, 0, 0))
    assert measure_in(replace(frame, people=(nothing,)), box(900, 0, 600, 690)).people == ()


def test_the_nearest_of_equal_places_is_looked_for_from_where_it_was_asked() -> None:
    """Asked for low, the frame goes up no farther than it must."""
    frame = a_frame(0.05)
    low = a_delivery("5", offset_y_frac=0.2)
    found = best_place([frame], low, RULES)
    spare = spare_px(extract(frame.picture, low).protected, frame.picture)[1] / frame.picture.h_px
    rated = [
        rate_place([frame], replace(low, offset_y_frac=step / 20 * spare), RULES)
        for step in range(-20, 21)
    ]
    costs = [(p.faces_out, p.joint_cost, p.room_cost) for p in rated]
    equal = [p.offset_y_frac for p, cost in zip(rated, costs, strict=True) if cost == min(costs)]
    assert found.offset_y_frac == pytest.approx(max(equal))
    assert min(equal) < max(equal)
