"""The plan of set-ups: what stands where, nothing outside, no label over another."""

import re
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from framecheck.geometry.set_ups import SetUp, compare_lenses
from framecheck.records.lens import Estimate
from framecheck.report.plan_view import WIDTH, PlanView, draw_plan

SVG = "{http://www.w3.org/2000/svg}"


def a_plan(distance_m=2.5, lenses=(18, 25, 35, 50, 75, 100), most_m=None, **more):
    now = SetUp(
        distance_m=distance_m, focal_mm=50, used_wh_mm=(36.0, 20.25), behind_m=2.0,
        most_distance_m=most_m,
    )  # fmt: skip
    spread = Estimate(value=distance_m, low=0.8 * distance_m, high=1.3 * distance_m)
    view = PlanView(
        title="a <still> & more.jpg", now=now, distance_m=spread,
        lenses=compare_lenses(now, lenses), notice="About pictures, not about safety.", **more,
    )  # fmt: skip
    return ET.fromstring(draw_plan(view))


def corners_of(polygon):
    points = (polygon.get("points") or "").split()
    return [tuple(map(float, point.split(","))) for point in points]


def texts_of(root):
    return list(root.iter(f"{SVG}text"))


def test_names_are_text_and_nothing_else() -> None:
    root = a_plan()
    assert any("a <still> & more.jpg" in (node.text or "") for node in texts_of(root))
    assert root.get("role") == "img"
    assert "50 mm 2.50 m" in (root.get("aria-label") or "")


@pytest.mark.parametrize("distance_m", [0.05, 0.4, 2.5, 12.0, 300.0])
@pytest.mark.parametrize("lenses", [(50,), (18, 25, 35, 50, 75, 100), tuple(range(10, 200, 8))])
def test_everything_lies_on_the_paper_and_labels_apart(distance_m, lenses) -> None:
    root = a_plan(distance_m, lenses, most_m=1.0, depth_m=(2.2, 0.7, 0.5))
    _, _, width, height = map(float, (root.get("viewBox") or "").split())
    assert width == WIDTH
    boxes = []
    for node in texts_of(root):
        x, y, words = float(node.get("x") or 0), float(node.get("y") or 0), node.text or ""
        length = 6.2 * len(words)  # 12 px of a usual typeface
        left = {"start": x, "middle": x - length / 2, "end": x - length}[node.get("text-anchor")]
        assert left >= -2
        assert left + length <= WIDTH + 2
        assert 0 < y <= height
        if re.fullmatch(r"[\d.]+ mm [\d.]+ m( \(no room\))?", words):
            boxes.append((y, left, left + length))
    assert len(boxes) == len(set(lenses))
    boxes.sort()
    for (y, _, right), (other_y, left, _) in pairwise(boxes):
        assert y != other_y or right <= left + 2
    for polygon in root.iter(f"{SVG}polygon"):
        for x, y in (
            map(float, point.split(",")) for point in (polygon.get("points") or "").split()
        ):
            assert 0 <= x <= WIDTH
            assert 0 <= y <= height


def test_all_lenses_meet_at_the_width_of_the_subject() -> None:
    # the same size on each lens: every wedge is as wide at the subject
    root = a_plan()
    circle = next(root.iter(f"{SVG}circle"))
    subject_x = float(circle.get("cx") or 0)
    widths = set()
    for polygon in root.iter(f"{SVG}polygon"):
        (x, _), (far_x, top), (_, bottom) = corners_of(polygon)
        widths.add(round((bottom - top) * (subject_x - x) / (far_x - x)))
    assert max(widths) - min(widths) <= 1


def test_lenses_without_room_and_walls() -> None:
    root = a_plan(most_m=3.0, depth_m=(4.2, 0.7, 0.5))
    words = [node.text or "" for node in texts_of(root)]
    assert any(word.startswith("75 mm") and word.endswith("(no room)") for word in words)
    walls = [node for node in root.iter(f"{SVG}line") if node.get("class") == "wall"]
    assert len(walls) == 3  # two walls and the scale


def test_people_stand_where_they_were_measured() -> None:
    root = a_plan(people=[("person 1", 1.0, 0.5)], subject_aside_m=-0.2)
    subject, other = list(root.iter(f"{SVG}circle"))
    assert float(other.get("cx") or 0) > float(subject.get("cx") or 0)
    assert float(other.get("cy") or 0) > float(subject.get("cy") or 0)
