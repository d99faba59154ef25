"""The scene as a whole, and the study of a sequence from end to end."""

import time

import pytest

from framecheck.coverage.study import study_sequence
from framecheck.records.coverage import CutThresholds, Direction, Verdict
from framecheck.records.judged import ShotType
from framecheck.records.values import NotMeasured
from tests.coverage.builders import ANNE, BERT, a_shot, a_talk, shown

LIMITS = CutThresholds()


def study(shots, **options):
    return study_sequence(shots, LIMITS, name="a scene", **options)


def test_a_scene_from_wide_to_tight() -> None:
    """Wide, then both in medium, then Anne alone in close-up, nearer to the eyeline."""
    shots = [
        a_shot(0, shown(ANNE, head=0.05, yaw=50), shown(BERT, person=1, yaw=-50), seconds=8.0,
               size="wide", abbr="WS", kind=ShotType.TWO),
        a_shot(1, shown(ANNE, head=0.2, yaw=40), seconds=4.0),
        a_shot(2, shown(BERT, head=0.2, yaw=-40), seconds=4.0),
        a_shot(3, shown(ANNE, head=0.5, yaw=15), seconds=2.0, size="close-up", abbr="CU"),
        a_shot(4, shown(BERT, head=0.2, yaw=-40), seconds=2.0),
    ]  # fmt: skip
    told = study(shots)
    scene = told.scene
    assert (scene.shots, scene.cuts) == (5, 4)
    assert scene.lengths.mean_s == pytest.approx(4.0)
    assert [size.size_abbr for size in scene.sizes] == ["WS", "MS", "CU"]
    assert scene.shot_types == {"single": 4, "two": 1}
    assert scene.people == {"A": 3, "B": 2}
    assert [(gap.person, gap.size_abbr, gap.shown_for) for gap in scene.gaps] == [
        ("B", "WS", ("A",)), ("B", "CU", ("A",)),
    ]  # fmt: skip
    anne = scene.closeness[0]
    assert (anne.wide_deg, anne.tight_deg, anne.rank_correlation) == (50, 15, pytest.approx(1))
    assert isinstance(scene.closeness[1].rank_correlation, NotMeasured)
    assert scene.early_close == ()
    assert [reading.start_s for reading in told.readings] == [0, 8, 12, 16, 18]
    assert told.readings[2].looks is Direction.LEFT
    assert told.readings[0].people == ("A", "B")
    assert told.cuts[0].verdict is Verdict.VERY_LARGE
    assert sum(scene.verdicts.values()) == 4


def test_a_close_up_before_anything_wider_is_told_once() -> None:
    shots = a_talk((ANNE, 20, 0.6), (BERT, -20, 0.2), (ANNE, 20, 0.6), (BERT, -20, 0.6))
    assert study(shots).scene.early_close == (
        "shot 0 is tight before anything wider", "shot 0 is tight before anything wider of A",
    )  # fmt: skip


def test_stills_have_no_lengths_and_one_shot_no_cut() -> None:
    told = study([a_shot(0, shown())])
    assert told.cuts == ()
    assert told.pairs == ()
    assert isinstance(told.scene.lengths.mean_s, NotMeasured)
    assert told.scene.notes == ("one shot only: there is no cut",)
    assert told.readings[0].start_s is None


def test_shots_with_nobody_are_read_and_not_judged() -> None:
    told = study([a_shot(0, shown()), a_shot(1), a_shot(2, shown())])
    assert [cut.verdict for cut in told.cuts] == [Verdict.NOT_JUDGED] * 2
    assert told.readings[1].person == ""
    assert isinstance(told.readings[1].closeness_deg, NotMeasured)
    assert told.scene.notes == ("1 of 3 shots show nobody",)
    assert study([a_shot(0), a_shot(1)]).scene.people == {}


def test_a_length_that_is_missing_stops_the_clock_and_is_told() -> None:
    shots = [a_shot(0, shown(), seconds=2.0), a_shot(1, shown()), a_shot(2, shown(), seconds=2.0)]
    told = study(shots)
    assert [reading.start_s for reading in told.readings] == [0.0, None, None]
    assert told.scene.notes == ("1 of 3 shots have no length",)


def test_named_pairs_and_bad_numbers() -> None:
    shots = a_talk((ANNE, 20, 0.2), (BERT, -20, 0.2), (ANNE, 20, 0.4))
    pairs = study(shots, named_pairs=[(2, 1)]).pairs
    assert (pairs[0].named, pairs[0].shots_one, pairs[0].shots_other) == (True, (2,), (1,))
    with pytest.raises(ValueError, match="there is no shot 3; the last one is 2"):
        study(shots, named_pairs=[(0, 3)])
    with pytest.raises(ValueError, match="needs a shot"):
        study([])


@pytest.mark.parametrize(
    "wrong", [{"size_ratio_min": 0.8}, {"angle_min_deg": -1}, {"size_ratio_large": 1.1},
              {"neutral_look_deg": float("nan")}]
)  # fmt: skip
def test_thresholds_that_make_no_sense(wrong) -> None:
    with pytest.raises(ValueError, match=next(iter(wrong))):
        CutThresholds(**wrong)


def test_ten_thousand_cuts_in_under_five_seconds() -> None:
    sizes = (0.2, 0.2, 0.35, 0.35, 0.5, 0.5)
    shots = [
        a_shot(n, shown((ANNE, BERT)[n % 2], yaw=(25, -25)[n % 2], head=sizes[n % 6]),
               seconds=2.0)
        for n in range(10_001)
    ]  # fmt: skip
    begun = time.process_time()  # of the processor, as other work on the machine may wait too
    told = study(shots)
    assert time.process_time() - begun < 5
    assert len(told.cuts) == 10_000
    assert told.scene.people == {"A": 5001, "B": 5000}


def tight_first(*heads, who=None):
    shots = [
        a_shot(n, shown((who or [ANNE] * len(heads))[n], head=head)) for n, head in enumerate(heads)
    ]
    return study(shots).scene.early_close


def test_tight_is_told_until_something_wider_was_shown() -> None:
    """0.5 is tight; wider by 1.8 is 0.277 and less."""
    assert tight_first(0.5) == (
        "shot 0 is tight before anything wider", "shot 0 is tight before anything wider of A",
    )  # fmt: skip
    assert tight_first(0.3, 0.5) == (
        "shot 1 is tight before anything wider", "shot 1 is tight before anything wider of A",
    )  # fmt: skip
    assert tight_first(0.27, 0.5) == ()
    assert tight_first(0.44) == ()
    assert tight_first(0.5, 0.6, 0.1, 0.5) == tight_first(0.5)  # said once
    assert tight_first(0.27, 0.5, who=[ANNE, BERT]) == (
        "shot 1 is tight before anything wider of B",
    )


def test_a_trend_needs_three_shots_that_differ() -> None:
    few = study([a_shot(n, shown(head=0.2 + n / 10)) for n in range(2)]).scene.closeness[0]
    none = NotMeasured(reason="too few shots of this person")
    assert (few.shots, few.wide_deg, few.tight_deg, few.rank_correlation) == (2, none, none, none)
    flat = study([a_shot(n, shown(head=0.2, yaw=20.0)) for n in range(3)]).scene.closeness[0]
    assert flat.rank_correlation == NotMeasured(reason="size or angle stay the same")
    assert (flat.wide_deg, flat.tight_deg) == (20.0, 20.0)
    angles = (60.0, 40.0, 30.0, 20.0, 10.0)
    told = study([a_shot(n, shown(head=0.1 * (n + 1), yaw=yaw)) for n, yaw in enumerate(angles)])
    trend = told.scene.closeness[0]
    assert (trend.shots, trend.wide_deg, trend.tight_deg) == (5, 50.0, 15.0)
    assert trend.rank_correlation == pytest.approx(1.0)


def test_what_a_reader_should_know() -> None:
    assert study([a_shot(0, shown())]).scene.notes == ("one shot only: there is no cut",)
    shots = [a_shot(0, shown(), seconds=2.0), a_shot(1), a_shot(2)]
    assert study(shots).scene.notes == (
        "2 of 3 shots show nobody", "2 of 3 shots have no length",
    )  # fmt: skip
    assert study([a_shot(0, shown()), a_shot(1, shown())]).scene.notes == ()


def test_nobody_known_has_no_sentence_of_one_s_own() -> None:
    assert tight_first(0.5, who=[None]) == ("shot 0 is tight before anything wider",)


def test_trends_carry_their_person() -> None:
    shots = [a_shot(n, shown((ANNE, BERT)[n % 2], yaw=20.0 * (1, -1)[n % 2])) for n in range(6)]
    trends = study(shots).scene.closeness
    assert [(trend.person, trend.shots) for trend in trends] == [("A", 3), ("B", 3)]
