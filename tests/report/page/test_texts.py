"""Names and numbers that nobody vouches for, on their way into a page."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from framecheck.classify.advice_words import word_advice
from framecheck.classify.reread import eye_point_px, move_edge, scale_field
from framecheck.export.rows import flag_text
from framecheck.records.framing import Edge
from framecheck.records.judged import Severity
from framecheck.records.values import Box
from framecheck.report.page.flag_text import FlagSaid, parse_flags
from framecheck.report.page.reframes import read_reframes
from framecheck.report.page.text import json_island, shared_folder, shown_text
from tests.report.figures import a_flag, a_result


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("plain name é 日本.mov", "plain name é 日本.mov"),
        ("a\u202egpj.exe", "a\\u202egpj.exe"),
        ("\u2067rtl\u2069 \u200fmark", "\\u2067rtl\\u2069 \\u200fmark"),
        ("line\nbreak\x1b[31m", "line\\x0abreak\\x1b[31m"),
        ("stray \udce9 byte", "stray \\xe9 byte"),
        ("lone \ud800", "lone \\ud800"),
        ("family \U0001f469\u200d\U0001f467", "family \U0001f469\u200d\U0001f467"),
    ],
)
def test_what_cannot_be_seen_is_written_out(text, shown):
    assert shown_text(text) == shown


@given(st.text())
def test_shown_text_can_be_encoded_and_is_one_line(text):
    shown = shown_text(text)
    assert shown.encode("utf-8").decode("utf-8") == shown
    assert len(shown.splitlines()) <= 1


@given(st.text())
def test_no_tag_can_begin_in_a_json_island_and_it_reads_back(text):
    island = json_island({text: [text]})
    assert not set(island) & set("<>&")
    assert island.isascii()
    assert json.loads(island) == {text: [text]}


def test_a_json_island_refuses_numbers_that_json_has_not():
    with pytest.raises(ValueError, match="not JSON compliant"):
        json_island({"a": float("nan")})


def test_the_folder_that_all_lie_in():
    assert shared_folder(["/a/b/one.jpg", "/a/b/c/two.jpg"]) == "/a/b"
    assert shared_folder(["/a/b/one.jpg"]) == "/a/b"
    assert shared_folder([]) == ""


@pytest.mark.parametrize("part", ["knee", "mid-calf", "looking room"])
@pytest.mark.parametrize("person", [0, 2])
def test_flags_read_back_what_the_tables_say(part, person):
    flag = a_flag(
        part=part, distance=-0.0415, severity=Severity.MEDIUM, edge=Edge.LEFT, person=person
    )
    text = flag_text(flag) if not person else f"p{person}:{flag_text(flag)}"
    said = parse_flags(f"{text}; chin")
    assert said == (
        FlagSaid(
            part=part,
            person=person,
            edge="left",
            distance_level=round(-0.0415, 3),
            severity="medium",
        ),
        FlagSaid(part="chin"),
    )


def test_what_is_no_flag_is_passed_over():
    assert parse_flags("") == ()
    assert parse_flags("<b>; knee(bottom,...,high); ; ankle") == (
        FlagSaid(part="knee", edge="bottom", distance_level=None, severity="high"),
        FlagSaid(part="ankle"),
    )


@pytest.mark.parametrize("edge", [*Edge, None])
@pytest.mark.parametrize("mille", [-120, -37, 45, 250])
@pytest.mark.parametrize("first", [True, False])
def test_every_sentence_of_advice_reads_back_as_the_frame_it_proposes(edge, mille, first):
    """The other side is what classify.advice measures: move_edge and scale_field themselves."""
    result = a_result(
        1280, 720, people=[{"stature": 1.2}], picture=Box(x_px=0, y_px=60, w_px=1280, h_px=600)
    )
    measurement = result.measurement
    text = word_advice(edge, mille, [a_flag()], measurement.picture, first=first)
    (said,) = read_reframes(text, measurement.picture, lambda: eye_point_px(measurement))
    if edge is None:
        wanted = scale_field(measurement.picture, 1 + mille / 1000, eye_point_px(measurement))
    else:
        wanted = move_edge(measurement.picture, edge, mille / 1000 * 600)
    assert said.picture is not None
    assert said.text == text
    for name in ("x_px", "y_px", "right_px", "bottom_px"):
        # sideways moves are told in tenths of a per cent of the width
        assert getattr(said.picture, name) == pytest.approx(getattr(wanted, name), abs=0.7)


def test_several_sentences_and_those_without_a_frame():
    measurement = a_result().measurement
    text = (
        "Better move the top edge 5.0 % of the frame height up to set the headroom right (reframe "
        "on set). Or go 11.0 % tighter with the eyes kept in place to clear the knee (crop in "
        "post). "
        "No reframe of up to 25 % can clear the chin without another flag: change the distance, "
        "the height or the pose on set."
    )
    said = read_reframes(text, measurement.picture, lambda: eye_point_px(measurement))
    assert [piece.picture is not None for piece in said] == [True, True, False]
    assert said[0].picture is not None
    assert said[0].picture.y_px == pytest.approx(-36)
    assert read_reframes("", measurement.picture, lambda: eye_point_px(measurement)) == ()
    (said_nothing,) = read_reframes("<script> 5 % up", measurement.picture, lambda: None)
    assert said_nothing.picture is None


def test_a_field_with_nobody_in_it_proposes_no_frame():
    picture = a_result().measurement.picture
    text = "Go 11.0 % tighter with the eyes kept in place to clear the knee (crop in post)."
    (said,) = read_reframes(text, picture, lambda: None)
    assert said.picture is None
