"""The Python door to the study of a sequence, and a scene with a known fault."""

from pathlib import Path

import pytest

import framecheck
from framecheck.records.coverage import PairKind, Verdict
from tests.pipeline.runs import measure, write_clip
from tests.report.figures import a_result

SAMPLES = Path(__file__).resolve().parents[2] / "sample_frames"


def figure(stature):
    return a_result(1600, 900, people=[{"stature": stature, "x": 0.4}])


def test_measured_stills_are_studied_in_their_order() -> None:
    told = framecheck.study_cuts([figure(1.0), figure(1.5), figure(9.0)], name="a scene")
    assert told.name == "a scene"
    assert [cut.size_ratio for cut in told.cuts] == pytest.approx([1.5, 6.0], rel=0.02)
    assert [cut.verdict for cut in told.cuts] == [Verdict.COMFORTABLE, Verdict.VERY_LARGE]
    mine = framecheck.CutThresholds(size_ratio_large=1.4)
    assert framecheck.study_cuts([figure(1.0), figure(1.5)], mine).cuts[0].verdict is (
        Verdict.VERY_LARGE
    )


def test_what_cannot_be_studied() -> None:
    with pytest.raises(framecheck.ConfigError, match="nothing to study"):
        framecheck.study_cuts([])
    with pytest.raises(framecheck.ConfigError, match="there is no shot 4"):
        framecheck.study_cuts([figure(1.0)], pairs=[(0, 4)])
    with pytest.raises(framecheck.ConfigError, match="there is no catalog"):
        framecheck.study_catalog("nowhere")


def test_a_catalog_is_studied_and_left_as_it_is(tmp_path) -> None:
    clip = write_clip(tmp_path / "a.clip", [[48, 10, ""], [24, 30, ""]])
    measure([clip], tmp_path / "out")
    before = (tmp_path / "out" / "framecheck.sqlite").read_bytes()
    told = framecheck.study_catalog(tmp_path / "out", file="a*")
    assert [reading.start_s for reading in told.readings] == [0.0, 2.0]
    assert told.cuts[0].size_ratio == pytest.approx(3.0, rel=0.01)
    assert (tmp_path / "out" / "framecheck.sqlite").read_bytes() == before


@pytest.mark.model
def test_the_sample_scene_matches_where_it_is_meant_to() -> None:
    """09 and 10 are matching reverses; 11 is meant as the reverse of 09 and is not."""
    names = ("09-builder-chest.jpg", "10-keeper-chest.jpg", "09-builder-chest.jpg",
             "11-keeper-reverse-off.jpg")  # fmt: skip
    measured = {name: framecheck.measure_still(SAMPLES / name) for name in set(names)}
    told = framecheck.study_cuts([measured[name] for name in names], pairs=[(0, 3)])
    assert [reading.person for reading in told.readings] == ["A", "B", "A", "B"]
    assert [cut.verdict for cut in told.cuts] == [Verdict.COMFORTABLE] * 3
    assert not any(cut.line_crossed for cut in told.cuts)
    named, found = told.pairs[0], told.pairs[1]
    assert (found.kind, found.matches) == (PairKind.INTERNAL, True)
    off = {measure.name for measure in named.measures if measure.matches is False}
    assert {"size", "headroom", "looking room"} <= off
