"""The ruler laid along figures of known proportions, with a corrector that moves nothing."""

import math

import numpy as np
import pytest

from framecheck.geometry.ruler import MARK_LEVELS, read_bottom_edge
from framecheck.measure.corrector import CHAIN
from framecheck.measure.head import head_from_body, head_from_mesh
from framecheck.measure.ruler_fit import (
    DOUBT_PER_GAP,
    JOINTS_CALIBRATION,
    LEAST_ERROR_LEVEL,
    MARKS_CALIBRATION,
    find_chain,
    fit_ruler,
    marks_by_proportion,
    ruler_from_points,
)
from framecheck.records.seen import MarksSeen, PersonSeen
from tests.measure.figures import a_body, a_mesh, null_corrector, the_picture

CROWN = (480.0, 100.0)
STATURE_PX = 500.0
WHOLE = the_picture(960, 720)


def fitted(picture=WHOLE, corrector=None):
    body = a_body(crown_px=CROWN, stature_px=STATURE_PX)
    head = head_from_body(body)
    chain = find_chain(PersonSeen(body=body), head, picture, corrector or null_corrector())
    return fit_ruler(head, CROWN, chain, picture)


def test_every_mark_lies_where_the_figure_has_it() -> None:
    ruler = fitted()
    assert ruler.figure_px == pytest.approx(STATURE_PX)
    for mark in ruler.marks:
        assert (mark.x_px, mark.y_px) == pytest.approx((480.0, 100.0 + (1 - mark.level) * 500.0))
        assert mark.seen


@pytest.mark.parametrize(("name", "level"), [(n, v) for n, v in MARK_LEVELS.items() if 0 < v < 1])
def test_an_edge_through_a_mark_reads_the_handbooks_level(name, level) -> None:
    """Drillis & Contini 1966, in Winter."""
    picture = the_picture(960, 100.0 + (1 - level) * 500.0)
    assert read_bottom_edge(fitted(picture), picture.bottom_px) == pytest.approx(level), name


def test_marks_below_the_edge_are_inferred_not_seen() -> None:
    picture = the_picture(960, 400.0)  # level 0.40, between hip and knee
    seen = {mark.name: mark.seen for mark in fitted(picture).marks}
    assert seen == {
        "crown": True, "eye": True, "chin": True, "shoulder": True, "hip": True,
        "knee": False, "ankle": False, "sole": False,
    }  # fmt: skip


def test_a_shift_of_the_corrector_moves_the_reading_by_as_much() -> None:
    """All marks 0.01 of a stature lower: mid-thigh (0.4075) is read 0.01 higher."""
    picture = the_picture(960, 100.0 + (1 - 0.4075) * 500.0)
    ruler = fitted(picture, null_corrector(shift_down=0.01))
    assert read_bottom_edge(ruler, picture.bottom_px) == pytest.approx(0.4175)


def test_marks_that_a_network_saw_are_believed_before_the_corrected_joints() -> None:
    """All marks told 10 px under the joints' own: 0.02 of the stature of 500 px."""
    body = a_body(crown_px=CROWN, stature_px=STATURE_PX)
    head = head_from_body(body)
    levels = [MARK_LEVELS[name] for name in CHAIN]
    points = np.array([(480.0, 110.0 + (1 - level) * STATURE_PX) for level in levels])
    marks = MarksSeen(points_px=points, errors_px=np.full(5, 4.0), head_top_px=90.0)
    person = PersonSeen(body=body, marks=marks)
    chain = find_chain(person, head, WHOLE, null_corrector(shift_down=0.3))
    ruler = fit_ruler(head, CROWN, chain, WHOLE)
    assert read_bottom_edge(ruler, 100.0 + (1 - 0.4075) * 500.0) == pytest.approx(0.4275)
    doubt_px = DOUBT_PER_GAP * (10.0 - 0.3 * STATURE_PX)  # the corrector says 150 px lower
    sole_px = math.hypot(MARKS_CALIBRATION * 4.0, doubt_px)
    assert ruler.error_level == pytest.approx(sole_px / ruler.figure_px)


def test_half_way_between_two_marks_the_error_is_theirs_over_the_root_of_two() -> None:
    picture = the_picture(960, 100.0 + (1 - 0.4075) * 500.0)
    ruler = fitted(picture, null_corrector(error_level=0.02))
    assert ruler.error_level == pytest.approx(JOINTS_CALIBRATION * 0.02 / math.sqrt(2))


def test_the_error_at_the_face_is_small_whatever_the_corrector_says() -> None:
    picture = the_picture(960, 100.0 + (1 - 0.90) * 500.0)
    assert fitted(picture, null_corrector(error_level=0.5)).error_level == LEAST_ERROR_LEVEL


def test_an_error_is_never_stated_as_nothing() -> None:
    assert fitted(corrector=null_corrector(error_level=1e-3)).error_level >= LEAST_ERROR_LEVEL


def test_a_face_alone_gives_a_handbook_body_under_it() -> None:
    """66 px from the eyes to the chin make a stature of 1000 px."""
    head = head_from_mesh(a_mesh(eye_px=(480.0, 164.0), px_per_mm=66.0 / 120.0))
    ruler = fit_ruler(head, (480.0, 100.0), None, WHOLE)
    assert ruler.figure_px == pytest.approx(1000.0)
    assert read_bottom_edge(ruler, 820.0) == pytest.approx(0.28, abs=1e-9)
    assert [mark.name for mark in ruler.marks if mark.seen] == ["crown", "eye", "chin"]


def test_a_body_by_proportion_follows_a_leaning_head() -> None:
    head = head_from_mesh(a_mesh(eye_px=(480.0, 164.0), px_per_mm=66.0 / 120.0, roll_deg=90.0))
    marks = marks_by_proportion(head).points_px
    assert marks["hip"] == pytest.approx((480.0 - 66.0 - 340.0, 164.0))


def test_the_error_by_proportion_grows_with_the_distance_from_the_head() -> None:
    errors = marks_by_proportion(head_from_mesh(a_mesh())).errors_px
    assert list(errors.values()) == sorted(errors.values())


def test_a_ruler_needs_every_mark() -> None:
    points = {name: (0.0, 1000 * (1 - level)) for name, level in MARK_LEVELS.items()}
    ruler = ruler_from_points(points, dict.fromkeys(points, True), 0.01)
    assert ruler.figure_px == pytest.approx(1000.0)
    del points["knee"]
    with pytest.raises(KeyError):
        ruler_from_points(points, dict.fromkeys(MARK_LEVELS, True), 0.01)
