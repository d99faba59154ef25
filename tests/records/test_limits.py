"""What the records refuse: each limit at its rim, and the message with what was given."""

import dataclasses
import math
from fractions import Fraction

import pytest

from framecheck.records.clips import Boundary, ShotSpan, Transition
from framecheck.records.coverage import AnglePair, CutThresholds, Mismatch, PairKind
from framecheck.records.delivery import Delivery
from framecheck.records.edit import EditClip, EditShot
from framecheck.records.lens import POPULATION, Estimate, Lens, Stature
from framecheck.records.looks import LOOK_PARTS, ColourShare, PartLook, PersonLook
from framecheck.records.values import NotMeasured

GREY = ColourShare(light=50.0, green_red=0.0, blue_yellow=0.0, share=0.5)


def an_edit_shot(start, end) -> EditShot:
    return EditShot(
        number=0, start_frame=start, end_frame=end, size="", size_abbr="", flags=(),
        best_frame=start, values={},
    )  # fmt: skip


def a_span(start, end) -> ShotSpan:
    return ShotSpan(
        shot=0, start_frame=start, end_frame=end, start_s=Fraction(start, 25),
        end_s=Fraction(end, 25), transition=Transition.START, clean_from_frame=start,
        clean_to_frame=end,
    )  # fmt: skip


@pytest.mark.parametrize("frames", [(0, 1), (7, 9)])
def test_shots_of_an_edit_have_a_frame(frames) -> None:
    shot = an_edit_shot(*frames)
    assert (shot.start_frame, shot.end_frame) == frames


@pytest.mark.parametrize("frames", [(5, 5), (6, 5), (-1, 5)])
def test_shots_of_an_edit_without_a_frame_are_refused(frames) -> None:
    told = f"^a shot needs a frame, got {frames[0]} to {frames[1]}$"
    with pytest.raises(ValueError, match=told):
        an_edit_shot(*frames)


def test_a_clip_reaches_as_far_as_its_last_shot() -> None:
    clip = EditClip(
        file="a.mov", url="a.mov", rate=Fraction(25), drop=False, first_frame=0,
        shots=(an_edit_shot(0, 9), an_edit_shot(9, 20)),
    )  # fmt: skip
    assert clip.frames == 20
    assert dataclasses.replace(clip, shots=()).frames == 0


def test_a_span_lasts_from_its_first_frame_to_the_one_after_its_last() -> None:
    assert a_span(5, 6).duration_s == Fraction(1, 25)
    for frames in ((5, 5), (6, 5)):
        told = f"^a shot needs a frame, got {frames[0]} to {frames[1]}$"
        with pytest.raises(ValueError, match=told):
            a_span(*frames)


@pytest.mark.parametrize("frames", [(0, 0, 0), (3, 3, 3), (3, 5, 9)])
def test_a_boundary_lies_within_its_transition(frames) -> None:
    low, frame, high = frames
    found = Boundary(frame=frame, transition=Transition.CUT, from_frame=low, to_frame=high)
    assert found.from_frame <= found.frame <= found.to_frame


@pytest.mark.parametrize("frames", [(-1, 0, 0), (4, 3, 5), (3, 6, 5)])
def test_a_boundary_outside_its_transition_is_refused(frames) -> None:
    low, frame, high = frames
    with pytest.raises(ValueError, match=r"^a boundary's frames must not fall, got Boundary\("):
        Boundary(frame=frame, transition=Transition.CUT, from_frame=low, to_frame=high)


@pytest.mark.parametrize("mean_m", [0.3, 2.8])
def test_statures_at_the_rim_are_statures(mean_m) -> None:
    assert Stature(mean_m=mean_m).sd_m == 0


@pytest.mark.parametrize(
    ("mean_m", "sd_m"), [(0.29, 0), (2.81, 0), (1.8, 0.6), (1.8, -0.01), (math.nan, 0)]
)
def test_what_nobody_measures_is_refused(mean_m, sd_m) -> None:
    with pytest.raises(ValueError, match=r"^a stature lies between 0.3 and 2.8 m, got Stature"):
        Stature(mean_m=mean_m, sd_m=sd_m)


def test_the_population_is_as_the_survey_says() -> None:
    """ANSUR II (Gordon and others 2014): mean 1.692 m, standard deviation 0.092 m."""
    assert POPULATION.mean_m == pytest.approx(1.692, abs=0.01)
    assert POPULATION.sd_m == pytest.approx(0.092, abs=0.003)
    assert Stature(mean_m=1.8, sd_m=0.59).sd_m == 0.59


@pytest.mark.parametrize("place", range(4))
@pytest.mark.parametrize("wrong", [0, -1, 10_000, math.nan, math.inf])
def test_a_lens_has_sizes(place, wrong) -> None:
    sizes = [50.0, 36.0, 24.0, 2.0]
    Lens(focal_mm=0.5, sensor_wh_mm=(0.5, 0.5), squeeze=0.5)
    sizes[place] = wrong
    with pytest.raises(ValueError, match=r"^a lens and its sensor have sizes above 0, got Lens"):
        Lens(focal_mm=sizes[0], sensor_wh_mm=(sizes[1], sizes[2]), squeeze=sizes[3])


@pytest.mark.parametrize("protection", [0, Fraction(1, 2), Fraction(99, 100)])
def test_deliveries_within_their_limits(protection) -> None:
    found = Delivery(name="d", aspect=Fraction(1, 100), protection=Fraction(protection))
    assert found.protection == protection


@pytest.mark.parametrize(
    ("aspect", "protection", "told"),
    [
        (0, 0, "^an aspect must be above 0, got 0$"),
        (-1, 0, "^an aspect must be above 0, got -1$"),
        (1, 1, "^a protection is a share from 0 to below 1, got 1$"),
        (1, Fraction(-1, 9), "^a protection is a share from 0 to below 1, got -1/9$"),
    ],
)
def test_deliveries_that_cannot_be(aspect, protection, told) -> None:
    with pytest.raises(ValueError, match=told):
        Delivery(name="d", aspect=Fraction(aspect), protection=Fraction(protection))


@pytest.mark.parametrize("part", LOOK_PARTS)
def test_a_look_of_one_part_is_a_look(part) -> None:
    look = PersonLook(parts=(PartLook(part=part, colours=(GREY, GREY)),))
    assert look.parts[0].part == part


def test_a_look_of_nothing_or_of_something_else_is_refused() -> None:
    with pytest.raises(ValueError, match=r"^a look needs parts of \('hair', .*\), got none$"):
        PersonLook(parts=())
    known = PartLook(part="hair", colours=(GREY, GREY))
    with pytest.raises(ValueError, match=r"got \['hat'\]$"):
        PersonLook(parts=(known, PartLook(part="hat", colours=(GREY, GREY))))


FIELDS = [field.name for field in dataclasses.fields(CutThresholds)]


@pytest.mark.parametrize("name", FIELDS)
@pytest.mark.parametrize("wrong", [-0.001, math.nan, math.inf])
def test_a_limit_of_cuts_is_a_number_from_0_on(name, wrong) -> None:
    with pytest.raises(ValueError, match=f"^{name} must be a finite number >= 0, got {wrong}$"):
        CutThresholds(**{name: wrong})


@pytest.mark.parametrize("name", FIELDS)
def test_only_ratios_start_at_1(name) -> None:
    if "ratio" not in name:
        assert getattr(CutThresholds(**{name: 0.0}), name) == 0
        return
    low = {"size_ratio_min": 1.0} if name == "size_ratio_large" else {}
    assert getattr(CutThresholds(**{**low, name: 1.0}), name) == 1
    with pytest.raises(ValueError, match=f"^{name} must be 1 or more, got 0.999$"):
        CutThresholds(**{**low, name: 0.999})


def test_large_is_not_below_least() -> None:
    assert CutThresholds(size_ratio_min=2.0, size_ratio_large=2.0).size_ratio_large == 2
    told = "^size_ratio_large must not be below size_ratio_min, got 1.9 and 2.0$"
    with pytest.raises(ValueError, match=told):
        CutThresholds(size_ratio_min=2.0, size_ratio_large=1.9)


@pytest.mark.parametrize(
    ("told", "matches"),
    [((True, True), True), ((True, None), True), ((True, False), False), ((), True)],
)
def test_a_pair_matches_when_no_measure_is_off(told, matches) -> None:
    unknown = NotMeasured(reason="not told")
    measures = tuple(
        Mismatch(name="size", one=unknown, other=unknown, difference=unknown, limit=1.0,
                 matches=one, advice="")
        for one in told
    )  # fmt: skip
    pair = AnglePair(
        person_one="A", person_other="B", shots_one=(1,), shots_other=(2,),
        kind=PairKind.INTERNAL, named=False, measures=measures,
    )  # fmt: skip
    assert pair.matches is matches


@pytest.mark.parametrize(
    "numbers", [(1.0, 1.0, 1.0), (1.0, 0.0, 2.0), (0.0, 0.0, 2.0), (2.0, 0.0, 2.0)]
)
def test_an_estimate_lies_in_its_interval(numbers) -> None:
    value, low, high = numbers
    assert Estimate(value=value, low=low, high=high).value == value


@pytest.mark.parametrize("numbers", [(-0.1, 0.0, 2.0), (2.1, 0.0, 2.0), (1.0, 2.0, 0.0)])
def test_an_estimate_outside_its_interval_is_refused(numbers) -> None:
    value, low, high = numbers
    with pytest.raises(ValueError, match=r"^an estimate lies in its own interval, got Estimate\("):
        Estimate(value=value, low=low, high=high)
