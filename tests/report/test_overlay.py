"""The annotated still: its size, what it shows, and that it never fails on odd results."""

import dataclasses
import itertools

import numpy as np
import pytest
from PIL import Image

from framecheck.records.framing import Edge, JointSeen
from framecheck.records.judged import Severity
from framecheck.records.values import Box, NotMeasured
from framecheck.report.canvas import Canvas
from framecheck.report.overlay import _draw_layers, draw_overlay, overlay_scale
from framecheck.report.palette import AIR, STAFF, WARNING, Sizes
from framecheck.report.placement import overlap_px2
from framecheck.report.scene import Scene
from tests.report.figures import AN_ADVICE, a_drawing_of, a_flag, a_result

SHAPES = [(480, 270), (1280, 720), (720, 1280), (1920, 803)]


def near(pixels, colour, tolerance=40):
    """True where a pixel has about that colour."""
    return np.abs(pixels.astype(int) - np.array(colour[:3])).max(axis=-1) < tolerance


def scene_of(result):
    """The drawing just before it is finished, with all places given."""
    width, height = result.measurement.width_px, result.measurement.height_px
    scale = overlay_scale(width, height)
    base = Image.new("RGB", (round(width * scale), round(height * scale)), (90, 90, 90))
    sizes = Sizes.for_picture(*base.size)
    scene = Scene(result=result, scale=scale, canvas=Canvas(base, sizes.line_px), sizes=sizes)
    _draw_layers(scene)
    return scene


@pytest.mark.parametrize(("width", "height"), SHAPES)
def test_the_copy_is_the_picture_with_a_strip_below(width, height):
    result = a_result(width, height)
    drawn = draw_overlay(a_drawing_of(result), result)
    scale = overlay_scale(width, height)
    assert drawn.dtype == np.uint8
    assert drawn.shape[1] == round(width * scale)
    assert drawn.shape[0] > round(height * scale)


@pytest.mark.parametrize(
    ("width", "height", "scale"),
    [(480, 270, 2.0), (1280, 720, 1.0), (3840, 2160, 1.0), (7680, 4320, 0.5), (40, 30, 8.0)],
)
def test_small_pictures_grow_and_large_ones_shrink(width, height, scale):
    assert overlay_scale(width, height) == scale


def test_the_original_is_left_alone():
    result = a_result()
    rgb = a_drawing_of(result).copy()
    rgb.setflags(write=False)
    before = rgb.copy()
    draw_overlay(rgb, result)
    assert (rgb == before).all()


def test_the_same_result_gives_the_same_drawing():
    result = a_result(flags=[a_flag()], advice=[AN_ADVICE])
    rgb = a_drawing_of(result)
    assert (draw_overlay(rgb, result) == draw_overlay(rgb, result)).all()


def test_the_bar_lies_on_the_bottom_edge_where_the_body_is():
    result = a_result(people=[{"x": 0.3}])
    drawn = draw_overlay(np.full((720, 1280, 3), 90, np.uint8), result)
    box = result.measurement.people[0].box
    row = near(drawn[716], STAFF)
    assert row[round(box.x_px) + 4 : round(box.right_px) - 4].all()
    assert not row[: round(box.x_px) - 8].any()
    assert not row[round(box.right_px) + 8 :].any()


def test_a_figure_clear_of_the_edge_has_no_bar():
    result = a_result(people=[{"crown": 0.1, "stature": 0.7}])
    drawn = draw_overlay(np.full((720, 1280, 3), 90, np.uint8), result)
    assert near(drawn[716], STAFF).mean() < 0.02  # the thin line down from the feet alone


def test_the_ruler_is_dashed_where_it_was_inferred():
    result = a_result(people=[{"x": 0.5, "crown": 0.1, "stature": 1.55, "yaw": 30.0}])
    drawn = draw_overlay(np.full((720, 1280, 3), 90, np.uint8), result)
    marks = {mark.name: mark for mark in result.measurement.people[0].ruler.marks}
    column = near(drawn[:, 640], STAFF, 90)
    seen = column[round(marks["shoulder"].y_px) + 10 : round(marks["hip"].y_px) - 10]
    inferred = column[round(marks["hip"].y_px) + 10 : 660]
    assert seen.all()
    assert 0.2 < inferred.mean() < 0.8


def test_headroom_is_an_arrow_from_the_top_edge_to_the_crown():
    result = a_result(people=[{"x": 0.5, "crown": 0.3}])
    drawn = draw_overlay(np.full((720, 1280, 3), 90, np.uint8), result)
    column = near(drawn[:, 640], AIR, 90)
    assert column[10:200].mean() > 0.9
    assert not column[260:300].any()


def test_flags_show_in_the_warning_colour_and_only_then():
    plain = draw_overlay(np.full((720, 1280, 3), 90, np.uint8), a_result())
    assert not near(plain, WARNING, 12).any()
    flagged = draw_overlay(np.full((720, 1280, 3), 90, np.uint8), a_result(flags=[a_flag("knee")]))
    assert near(flagged[:720], WARNING, 12).any()
    assert near(flagged[720:], WARNING, 12).any()


@pytest.mark.parametrize(
    ("edge", "at"), [(Edge.BOTTOM, (900, 700)), (Edge.TOP, (300, 40)), (Edge.LEFT, (300, 40))]
)
def test_a_sign_stands_at_the_joint_that_is_cut_and_not_at_its_twin(edge, at):
    result = a_result(flags=[a_flag(part="wrist", edge=edge, severity=Severity.MEDIUM)])
    subject = result.measurement.people[0]
    wrists = tuple(
        JointSeen(part="wrist", side=side, x_px=x, y_px=y, inside=True, seen=True)
        for side, x, y in (("left", 300, 40), ("right", 900, 700))
    )
    people = (dataclasses.replace(subject, joints=wrists),)
    measurement = dataclasses.replace(result.measurement, people=people)
    scene = scene_of(dataclasses.replace(result, measurement=measurement))
    signs = [area.centre_px for area in scene.taken if area.w_px == area.h_px]
    along = 1 if edge in {Edge.LEFT, Edge.RIGHT} else 0
    assert any(sign[along] == pytest.approx(at[along]) for sign in signs)


def test_severities_differ_in_shape():
    areas = []
    for severity in Severity:
        result = a_result(people=[], flags=[])
        person = a_result(people=[{"x": 0.5}])
        result = dataclasses.replace(
            person,
            judgement=dataclasses.replace(
                result.judgement, flags=(a_flag("knee", severity=severity),)
            ),
        )
        drawn = draw_overlay(np.full((720, 1280, 3), 90, np.uint8), result)
        # the sign before the flag's words in the strip
        areas.append(int(near(drawn[720:, :46], WARNING, 30).sum()))
    assert len(set(areas)) == 3


def test_nothing_is_drawn_on_the_black_bars():
    picture = Box(x_px=0, y_px=90, w_px=1280, h_px=540)
    result = a_result(picture=picture, people=[{"crown": -0.05, "stature": 3.0}])
    rgb = np.zeros((720, 1280, 3), np.uint8)
    rgb[90:630] = 90
    drawn = draw_overlay(rgb, result)
    assert (drawn[:84] == 0).all()
    assert (drawn[636:720] == 0).all()


CROWDS = {
    "close-up": [{"x": 0.4, "crown": 0.02, "stature": 4.4}],
    "wide": [{"crown": 0.5, "stature": 0.25}, {"x": 0.56, "crown": 0.5, "stature": 0.24}],
    "three": [{"x": 0.2}, {"x": 0.5, "stature": 1.7}, {"x": 0.8, "stature": 1.5}],
    "head cut": [{"crown": -0.08, "stature": 3.0}],
}


@pytest.mark.parametrize(("width", "height"), [*SHAPES, (64, 64)])
@pytest.mark.parametrize("crowd", CROWDS.values(), ids=CROWDS)
def test_labels_stay_inside_and_clear_of_each_other_and_of_signs(width, height, crowd):
    flags = [
        a_flag("knee"),
        a_flag("wrist", severity=Severity.LOW),
        a_flag("crown", edge=Edge.TOP),
        a_flag("headroom", edge=Edge.TOP, severity=Severity.MEDIUM),
    ]
    scene = scene_of(a_result(width, height, people=crowd, flags=flags))
    boxes = [text.box for text in scene.texts]
    assert boxes
    assert all(overlap_px2(a, b) == 0 for a, b in itertools.combinations(boxes, 2))
    for box in boxes:
        assert box.x_px >= -1e-6
        assert box.y_px >= -1e-6
        assert box.right_px <= width * scene.scale + 1
        assert box.bottom_px <= height * scene.scale + 1


def test_what_matters_most_is_always_labelled():
    words = {text.words for text in scene_of(a_result(flags=[a_flag("knee")])).texts}
    assert {"cut 0.55 hip · cowboy", "headroom 10 %", "knee"} <= words
    assert any(word.startswith("ahead") for word in words)
    assert {"crown", "chin", "shoulder"} <= words


def test_a_second_person_is_numbered_and_keeps_its_flag():
    result = a_result(people=[{"x": 0.3}, {"x": 0.8}], flags=[a_flag("elbow", person=1)])
    words = {text.words for text in scene_of(result).texts}
    assert {"person 1 · background", "elbow of person 1"} <= words


NOTHING = NotMeasured(reason="not seen")


@pytest.mark.parametrize(
    "changes",
    [
        {"ruler": None, "crop_level": NOTHING, "top_level": NOTHING},
        {"crown_y_px": NOTHING, "chin_y_px": NOTHING, "head_height_px": NOTHING},
        {"headroom_frac": NOTHING, "eye_line_frac": NOTHING, "look_ahead_wfrac": NOTHING},
        {"head_yaw_deg": NOTHING, "facing": None, "posture": None},
        {"left_cut": 0.6, "right_cut": 0.4},
        {"joints": (), "skeleton_px": ()},
        {"box": Box(x_px=0, y_px=0, w_px=0, h_px=0)},
        {"look_ahead_wfrac": 0.3, "look_room_frac": 0.0},
        {"nose_px": (-400.0, -300.0)},
    ],
    ids="+".join,
)
def test_whatever_is_missing_the_rest_is_drawn(changes):
    result = a_result(flags=[a_flag("knee"), a_flag("chin", edge=Edge.LEFT)])
    person = dataclasses.replace(result.measurement.people[0], **changes)
    measurement = dataclasses.replace(result.measurement, people=(person,))
    drawn = draw_overlay(
        np.full((720, 1280, 3), 90, np.uint8), dataclasses.replace(result, measurement=measurement)
    )
    assert (drawn[:720] != 90).any()


def test_an_empty_picture_says_so_in_the_strip_alone():
    drawn = draw_overlay(np.full((720, 1280, 3), 90, np.uint8), a_result(people=[]))
    assert (drawn[:720] == 90).all()
    assert near(drawn[720:], STAFF).any()
