from __future__ import annotations

import pytest

from framecheck.classify.thresholds import Thresholds, parse_thresholds
from framecheck.errors import ConfigError


def test_what_is_left_out_keeps_its_default() -> None:
    assert parse_thresholds("", "mine.toml") == Thresholds()
    changed = parse_thresholds("knee_to_level = 0.35", "mine.toml")
    assert changed == Thresholds(knee_to_level=0.35)


def test_leg_zones_leave_no_sliver_below_the_knee() -> None:
    zones = Thresholds()
    assert zones.ankle_from_level == 0
    assert zones.ankle_to_level == zones.mid_calf_from_level
    assert zones.mid_calf_to_level == zones.knee_from_level
    assert zones.knee_to_level < 0.41, "mid-thigh is a classic cut"


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("knee_till_level = 0.3", "unknown key 'knee_till_level'"),
        ('knee_to_level = "high"', "knee_to_level must be a finite number"),
        ("knee_to_level = -0.1", r"knee_to_level must be a finite number >= 0, got -0\.1"),
        ("knee_to_level = 0.1", r"knee_from_level must not be above knee_to_level"),
        ("advice_max_frac = 1.0", "advice_max_frac must be below 1"),
        ("knee_to_level", "not valid TOML"),
    ],
)
def test_faulty_thresholds_are_refused(text: str, message: str) -> None:
    with pytest.raises(ConfigError, match=message) as caught:
        parse_thresholds(text, "mine.toml")
    assert str(caught.value).startswith("mine.toml")


def test_a_zone_may_be_a_single_level() -> None:
    assert Thresholds(knee_from_level=0.3, knee_to_level=0.3).knee_to_level == 0.3
