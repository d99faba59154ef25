"""Records to rows to records: what the tables keep is enough to read a picture again."""

from dataclasses import replace

import pytest

from framecheck.errors import ExportError
from framecheck.export.body_text import joints_text, parse_joints, parse_ruler, ruler_text
from framecheck.export.from_rows import measurement_of_rows, span_of_row
from framecheck.export.rows import rows_of_frame
from framecheck.pipeline.settings import Settings, load_judging
from framecheck.records.clips import Transition
from framecheck.records.framing import Edge, FrameMeasurement, JointSeen
from framecheck.records.judged import FrameResult
from framecheck.records.values import NotMeasured
from tests.classify.conftest import build_person, build_picture

KNEE = JointSeen(part="knee", side="left", x_px=800.0, y_px=815.0, inside=False, seen=False)
HEAD = JointSeen(part="crown", side="", x_px=800.0, y_px=100.0, inside=True, seen=True)
SAME = (
    "crop_level", "top_level", "headroom_frac", "left_cut", "role", "facing", "posture", "box",
    "nose_px", "joints", "cut_edges", "notes", "choice",
)  # fmt: skip
JUDGING = load_judging(Settings())


def a_measurement(crop_level=0.41) -> FrameMeasurement:
    picture = build_picture(crop_level)
    knee = replace(KNEE, inside=picture.bottom_px >= KNEE.y_px)
    joints = (knee, HEAD)
    people = tuple(
        replace(
            build_person(picture, person=i, x_px=x, joints=joints),
            cut_edges=(Edge.BOTTOM,),
            notes=("a note",),
            figure_frac=1000.0 / picture.h_px,
        )
        for i, x in enumerate((800.0, 1200.0))
    )
    return FrameMeasurement(
        width_px=1600, height_px=int(picture.h_px), picture=picture, people=people
    )


def rows_of(measurement):
    result = FrameResult(
        file="a.jpg", measurement=measurement, judgement=JUDGING.judge(measurement)
    )
    return rows_of_frame(result)


@pytest.mark.parametrize("crop_level", [-0.2, 0.0, 0.285, 0.41, 0.72, 0.9])
def test_there_and_back(crop_level) -> None:
    measurement = a_measurement(crop_level)
    frame, people = rows_of(measurement)
    found = measurement_of_rows(frame, people[::-1])
    assert found.picture == measurement.picture
    for one, other in zip(found.people, measurement.people, strict=True):
        for name in SAME:
            assert getattr(one, name) == getattr(other, name), name
        assert one.ruler is not None
        assert other.ruler is not None
        for mark, before in zip(one.ruler.marks, other.ruler.marks, strict=True):
            assert (mark.name, mark.level, mark.seen) == (before.name, before.level, before.seen)
            assert mark.x_px == pytest.approx(before.x_px, abs=0.05)
            assert mark.y_px == pytest.approx(before.y_px, abs=0.05)
        assert one.ruler.error_level == other.ruler.error_level
        assert one.ruler.figure_px == pytest.approx(other.ruler.figure_px)


def test_what_is_read_again_is_judged_alike() -> None:
    measurement = a_measurement(0.25)
    frame, people = rows_of(measurement)
    one, other = (JUDGING.judge(m) for m in (measurement_of_rows(frame, people), measurement))
    assert one.sizes == other.sizes
    assert one.flags == other.flags
    assert one.advice == other.advice


def test_rows_of_earlier_versions_have_no_ruler() -> None:
    frame, people = rows_of(a_measurement())
    bare = [{k: v for k, v in row.items() if k not in {"ruler_px", "joints_px"}} for row in people]
    found = measurement_of_rows(frame, bare)
    assert [person.ruler for person in found.people] == [None, None]
    assert found.people[0].crop_level == pytest.approx(0.41)


def test_why_a_value_is_missing_survives() -> None:
    frame, people = rows_of(a_measurement())
    row = {**people[0], "crop_level": None, "crop_level_why": "too uncertain"}
    found = measurement_of_rows(frame, [row])
    assert found.people[0].crop_level == NotMeasured(reason="too uncertain")


@pytest.mark.parametrize(
    ("column", "value"),
    [
        ("ruler_px", "crown 1 2"), ("ruler_px", "crown x 1 2 seen"),
        ("ruler_px", "crown 1 nan 2 seen"), ("ruler_px", "sole 0 1 2 seen; crown 1 1 2 seen"),
        ("ruler_px", "crown 1 1 2 perhaps"),
        ("joints_px", "knee left 1"), ("joints_px", "edge round"), ("role", "hero"),
        ("box_w_px", -1.0), ("box_w_px", None), ("person", "first"), ("facing", "up"),
    ],
)  # fmt: skip
def test_rows_that_tell_nothing_get_one_clear_line(column, value) -> None:
    frame, people = rows_of(a_measurement())
    with pytest.raises(ExportError, match=r"a\.jpg") as caught:
        measurement_of_rows(frame, [{**people[0], column: value}])
    assert "\n" not in str(caught.value)


def test_a_picture_without_a_size_tells_nothing() -> None:
    frame, people = rows_of(a_measurement())
    for column in ("picture_w_px", "picture_h_px"):
        with pytest.raises(ExportError, match="has no size"):
            measurement_of_rows({**frame, column: 0.0}, people)


def test_texts_of_bodies() -> None:
    assert ruler_text(None) == ""
    assert parse_ruler("", 1.0, 0.1) is None
    text = joints_text((KNEE, HEAD), (Edge.LEFT,))
    assert text == "knee left 800.0 815.0 guessed; crown middle 800.0 100.0 seen; edge left"
    joints, edges = parse_joints(text)
    assert joints[1] == ("crown", "", 800.0, 100.0, True)
    assert edges == [Edge.LEFT]
    assert parse_joints("") == ((), [])


def test_a_shot_from_its_row() -> None:
    row = {
        "file": "a.mov", "shot": 2, "start_frame": 48, "end_frame": 72, "start_s": 2.002,
        "duration_s": 1.001, "transition": "dissolve",
    }  # fmt: skip
    span = span_of_row(row)
    assert (span.start_frame, span.end_frame, span.transition) == (48, 72, Transition.DISSOLVE)
    assert float(span.duration_s) == pytest.approx(1.001)
    for wrong in ({"transition": "wipe"}, {"end_frame": 48}, {"start_s": None}):
        with pytest.raises(ExportError, match=r"a\.mov"):
            span_of_row({**row, **wrong})
