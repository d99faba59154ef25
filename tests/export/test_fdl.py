"""Framing Decision Lists: the published worked examples, an independent reader, and bad files."""

import json
from fractions import Fraction

import fdl as independent
import pytest

from framecheck.errors import ConfigError
from framecheck.export.fdl import (
    FdlContext,
    encode_fdl,
    intent_ids,
    read_fdl,
)
from framecheck.export.fdl_frames import context_label, file_and_shot, frames_in, is_meant_for
from framecheck.geometry.extraction import extract
from framecheck.records.delivery import Delivery
from framecheck.records.values import Box

CANVAS = Box(x_px=0, y_px=0, w_px=4448, h_px=3096)
TWO = Delivery(name="2:1", aspect=Fraction(2), protection=Fraction("0.1"))
TALL = Delivery(name="9:16", aspect=Fraction(9, 16))


def a_context(
    picture=CANVAS, file="/rushes/A001 C002.mov", deliveries=(TWO, TALL), shot=3
) -> FdlContext:
    return FdlContext(
        file=file,
        shot=shot,
        size_wh_px=(4448, 3096),
        picture=picture,
        frames=tuple((delivery, extract(picture, delivery)) for delivery in deliveries),
    )


def written(tmp_path, version=(2, 0), **more):
    path = tmp_path / "a list.fdl"
    path.write_bytes(encode_fdl([a_context(**more)], [TWO, TALL], version))
    return path


def test_the_published_example_is_written(tmp_path) -> None:
    # specification 2.0.1, appendix: 4448 x 3096, 2:1 with 10 % protection
    document = json.loads(written(tmp_path).read_text("utf-8"))
    decision = document["contexts"][0]["canvases"][0]["framing_decisions"][0]
    assert decision["protection_dimensions"] == {"width": 4448, "height": 2224}
    assert decision["protection_anchor_point"] == {"x": 0, "y": 436}
    assert decision["dimensions"] == {"width": 4004, "height": 2002}
    assert decision["anchor_point"] == {"x": 222, "y": 547}
    assert decision["id"] == "canvas_1-2_1"


def test_an_independent_reader_takes_it(tmp_path) -> None:
    found = independent.AscFramingDecisionList.model_validate_json(
        written(tmp_path).read_text("utf-8")
    )
    assert found.version.major == 2
    context = found.contexts[0]
    assert context.clip_id.file == "A001 C002.mov"
    decisions = context.canvases[0].framing_decisions
    assert [decision.framing_intent_id.root for decision in decisions] == ["2_1", "9_16"]
    intent = found.framing_intents[1]
    assert (intent.aspect_ratio.width, intent.aspect_ratio.height) == (9, 16)


@pytest.mark.parametrize("version", [(2, 0), (1, 1), (1, 0)])
def test_there_and_back(tmp_path, version) -> None:
    (frames,) = read_fdl(written(tmp_path, version))
    assert (frames.file, frames.shot) == ("A001 C002.mov", 3)  # of version 1 by the label
    assert frames.aspect == Fraction(4448, 3096)
    for delivery, original in zip(frames.deliveries, (TWO, TALL), strict=True):
        assert delivery.name == original.name
        assert extract(CANVAS, delivery) == extract(CANVAS, original)
    again = FdlContext(
        file="/rushes/A001 C002.mov", shot=3, size_wh_px=(4448, 3096), picture=CANVAS,
        frames=tuple((delivery, extract(CANVAS, delivery)) for delivery in frames.deliveries),
    )  # fmt: skip
    once, twice = (
        json.loads(encode_fdl([context], [TWO, TALL]))["contexts"][0]["canvases"][0]
        for context in (a_context(), again)
    )
    assert once["framing_decisions"] == twice["framing_decisions"]


def test_a_picture_with_bars_becomes_the_effective_area(tmp_path) -> None:
    # appendix: effective 4004 x 2786 at 222, 155
    picture = Box(x_px=222, y_px=155, w_px=4004, h_px=2786)
    path = written(tmp_path, picture=picture)
    canvas = json.loads(path.read_text("utf-8"))["contexts"][0]["canvases"][0]
    assert canvas["effective_dimensions"] == {"width": 4004, "height": 2786}
    assert canvas["effective_anchor_point"] == {"x": 222, "y": 155}
    assert canvas["framing_decisions"][0]["protection_dimensions"] == {
        "width": 4004,
        "height": 2002,
    }
    independent.AscFramingDecisionList.model_validate_json(path.read_text("utf-8"))


def test_the_same_contexts_give_the_same_bytes(tmp_path) -> None:
    assert encode_fdl([a_context()], [TWO, TALL]) == encode_fdl([a_context()], [TWO, TALL])
    assert encode_fdl([a_context()], [TWO, TALL]) != encode_fdl([a_context(file="b")], [TWO, TALL])


def test_a_squeezed_canvas_is_shown_wider(tmp_path) -> None:
    document = json.loads(written(tmp_path).read_text("utf-8"))
    document["contexts"][0]["canvases"][0]["anamorphic_squeeze"] = 2.0
    path = tmp_path / "squeezed.fdl"
    path.write_text(json.dumps(document))
    (frames,) = read_fdl(path)
    assert frames.aspect == Fraction(2 * 4448, 3096)


def test_which_pictures_a_list_is_for(tmp_path) -> None:
    (frames,) = read_fdl(written(tmp_path))
    assert is_meant_for(frames, "elsewhere/A001 C002.mov", 3)
    assert not is_meant_for(frames, "A001 C002.mov", 4)
    assert not is_meant_for(frames, "B.mov", 3)
    small = Box(x_px=0, y_px=0, w_px=1112, h_px=774)
    assert frames_in(frames, (1112, 774), small) == frames.deliveries
    assert frames_in(frames, (1920, 1080), Box(x_px=0, y_px=0, w_px=1920, h_px=1080)) == ()


def test_a_list_of_others_is_for_every_shot(tmp_path) -> None:
    document = json.loads(written(tmp_path).read_text("utf-8"))
    document["contexts"][0].pop("context_creator")
    path = tmp_path / "theirs.fdl"
    path.write_text(json.dumps(document))
    (frames,) = read_fdl(path)
    assert is_meant_for(frames, "A001 C002.mov", 99)
    document["contexts"][0].pop("clip_id")
    path.write_text(json.dumps(document))
    (frames,) = read_fdl(path)
    assert is_meant_for(frames, "any.mov", None)


def test_labels_name_file_and_shot() -> None:
    for file, shot in (("A 1.mov", None), ("A 1.mov", 12), ("a shot 3", None), ("a\nb.mov", 0)):
        made = context_label(f"/rushes/{file}", shot)
        assert context_label(*file_and_shot(made)) == made
    assert file_and_shot("A 1.mov shot 12") == ("A 1.mov", 12)


@pytest.mark.parametrize("version", [(2, 0), (1, 1)])
def test_a_picture_with_bars_there_and_back(tmp_path, version) -> None:
    # the frames lie in the file as they were written, whatever the active part of it is
    picture = Box(x_px=222, y_px=155, w_px=4004, h_px=2786)
    wide = Box(x_px=0, y_px=618, w_px=4448, h_px=1860)
    for active in (picture, wide):
        (frames,) = read_fdl(written(tmp_path, version, picture=active))
        for found, original in zip(
            frames_in(frames, (4448, 3096), active), (TWO, TALL), strict=True
        ):
            one, other = extract(active, found), extract(active, original)
            for box, wanted in ((one.frame, other.frame), (one.protected, other.protected)):
                assert (box.x_px, box.y_px, box.w_px, box.h_px) == pytest.approx(
                    (wanted.x_px, wanted.y_px, wanted.w_px, wanted.h_px), abs=1e-3
                )


def test_a_file_without_the_bars_of_its_list(tmp_path) -> None:
    # the effective area alone is in the file: 4448 x 1860 of 4448 x 3096, at half the size
    wide = Box(x_px=0, y_px=618, w_px=4448, h_px=1860)
    (frames,) = read_fdl(written(tmp_path, picture=wide))
    alone = Box(x_px=0, y_px=0, w_px=2224, h_px=930)
    two, _ = frames_in(frames, (2224, 930), alone)
    expected = extract(wide, TWO).frame
    found = extract(alone, two).frame
    assert (found.x_px, found.y_px) == pytest.approx((expected.x_px / 2, (expected.y_px - 618) / 2))
    assert (found.w_px, found.h_px) == pytest.approx((expected.w_px / 2, expected.h_px / 2))


def test_legal_ids() -> None:
    ids = intent_ids(["2.39", "2:39", "", "é", "x" * 99, "9:16,right=0.1"])
    assert len(set(ids.values())) == len(ids)
    for made in ids.values():
        assert 1 <= len(made) <= 32
        assert all(char.isascii() and (char.isalnum() or char == "_") for char in made)


def changed(change):
    document = json.loads(encode_fdl([a_context()], [TWO, TALL]))
    change(document)
    return json.dumps(document)


def canvas_of(document):
    return document["contexts"][0]["canvases"][0]


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("", "no JSON"),
        ("{", "no JSON"),
        ("[" * 100_000, "no JSON"),
        ("[]", "Framing Decision List"),
        ("null", "Framing Decision List"),
        ("{}", "'version' is missing"),
        (changed(lambda d: d["version"].update(major=9)), "9.0 is not known"),
        (changed(lambda d: d.update(contexts=[])), "no framing decision"),
        (changed(lambda d: d.update(contexts=7)), "Framing Decision List"),
        (changed(lambda d: canvas_of(d)["dimensions"].update(width=0)), "between 0 and a million"),
        (changed(lambda d: canvas_of(d)["dimensions"].update(width="x")), "a number was expected"),
        (changed(lambda d: canvas_of(d)["dimensions"].update(width=1e400)), "no JSON|a number"),
        (changed(lambda d: canvas_of(d).update(anamorphic_squeeze=-1)), "between 0 and a million"),
        (changed(lambda d: canvas_of(d)["framing_decisions"][0]["anchor_point"].update(x=4000)),
         "outside of its canvas"),
        (changed(lambda d: canvas_of(d)["framing_decisions"][0]["anchor_point"].update(x=-5)),
         "outside of its canvas"),
        (changed(lambda d: canvas_of(d)["framing_decisions"].__imul__(20_000)), "more than"),
        (changed(lambda d: d["framing_intents"][0].update(protection=5)), "from 0 to below 1"),
        # numbers that would take for ever, or a number of thousands of digits
        (changed(lambda d: d["framing_intents"][0].update(protection="1e999999999")),
         "a number was expected"),
        (changed(lambda d: canvas_of(d)["dimensions"].update(width=10**400)), "too large"),
        (changed(lambda d: d).replace("4448", "9" * 5000, 1), "no JSON|too large"),
        (changed(lambda d: d["contexts"][0].update(clip_id=7)), "of another kind"),
    ],
)  # fmt: skip
def test_bad_lists_get_one_clear_line(tmp_path, text, told) -> None:
    path = tmp_path / "bad.fdl"
    path.write_text(text)
    with pytest.raises(ConfigError, match=told) as caught:
        read_fdl(path)
    assert "bad.fdl" in str(caught.value)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 500


def test_a_byte_order_mark_is_no_harm(tmp_path) -> None:
    path = tmp_path / "marked.fdl"
    path.write_bytes(b"\xef\xbb\xbf" + encode_fdl([a_context()], [TWO, TALL]))
    assert len(read_fdl(path)) == 1


def test_files_that_cannot_be_lists(tmp_path) -> None:
    with pytest.raises(ConfigError, match="cannot read"):
        read_fdl(tmp_path / "absent.fdl")
    with pytest.raises(ConfigError, match="cannot read"):
        read_fdl(tmp_path)
    binary = tmp_path / "binary.fdl"
    binary.write_bytes(b"\xff\xfe\x00" * 99)
    with pytest.raises(ConfigError, match="no JSON"):
        read_fdl(binary)
    huge = tmp_path / "huge.fdl"
    with huge.open("wb") as target:
        target.truncate(21_000_000)
    with pytest.raises(ConfigError, match="larger than 20 MB"):
        read_fdl(huge)
