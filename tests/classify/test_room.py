from __future__ import annotations

import numpy as np
import pytest

from framecheck.classify.room import RoomRanges, parse_room_ranges, room_at
from framecheck.errors import ConfigError

# Headroom with the eyes one third down, by crop level (check values, computed on the handbook's
# proportions): published figures for a headroom by size were not found.
THIRDS_HEADROOM = {
    0.0: 0.288, 0.285: 0.268, 0.4075: 0.253, 0.530: 0.228, 0.602: 0.206, 0.720: 0.136,
    0.757: 0.095, 0.818: -0.028, 0.870: -0.313,
}  # fmt: skip
CONSTANT_HEADROOM = 0.08


def test_every_row_follows_from_the_two_rules(ranges: RoomRanges) -> None:
    assert [row.crop_level for row in ranges.rows] == list(THIRDS_HEADROOM)
    for row in ranges.rows:
        thirds = THIRDS_HEADROOM[row.crop_level]
        least = min(thirds, CONSTANT_HEADROOM) - 0.04
        greatest = max((thirds + CONSTANT_HEADROOM) / 2 + 0.04, 0.06)
        assert row.headroom_min == pytest.approx(least, abs=0.001), row.at
        assert row.headroom_max == pytest.approx(greatest, abs=0.001), row.at


def test_looking_room_follows_from_a_head_in_the_middle(ranges: RoomRanges) -> None:
    for row in ranges.rows:
        half_width = 2 / 3 * 1.5 * (0.936 - row.crop_level)
        centred = max(0.0, (half_width - 0.067) / (half_width + 0.067))
        assert centred - 0.01 <= row.look_ratio_min <= centred, row.at


def test_the_constant_rule_passes_everywhere_and_the_thirds_only_when_tight(
    ranges: RoomRanges,
) -> None:
    for row in ranges.rows[:-2]:
        assert row.headroom_min < CONSTANT_HEADROOM < row.headroom_max, row.at
    hip = next(row for row in ranges.rows if row.at == "hip")
    shoulder = next(row for row in ranges.rows if row.at == "shoulder")
    assert THIRDS_HEADROOM[0.530] > hip.headroom_max
    assert shoulder.headroom_min < THIRDS_HEADROOM[0.818] < shoulder.headroom_max


def test_between_rows_the_range_is_linear(ranges: RoomRanges) -> None:
    hip, waist = ranges.rows[3], ranges.rows[4]
    middle = room_at(ranges, (hip.crop_level + waist.crop_level) / 2)
    assert middle is not None
    assert middle.headroom_max == pytest.approx((hip.headroom_max + waist.headroom_max) / 2)


def test_it_is_numpys_interpolation_to_the_last_digit(ranges: RoomRanges) -> None:
    edges = [row.crop_level for row in ranges.rows]
    for level in (*np.linspace(-0.5, 0.87, 138), *edges):
        found = room_at(ranges, float(level))
        assert found is not None
        for name in ("headroom_min", "headroom_max", "look_ratio_min"):
            values = [getattr(row, name) for row in ranges.rows]
            assert getattr(found, name) == pytest.approx(np.interp(level, edges, values), abs=1e-15)


def test_wider_than_the_first_row_it_holds_and_tighter_than_the_last_nothing_is_judged(
    ranges: RoomRanges,
) -> None:
    wide = room_at(ranges, -3.0)
    assert wide is not None
    assert (wide.at, wide.headroom_max) == ("sole", ranges.rows[0].headroom_max)
    assert room_at(ranges, 0.87) is not None
    assert room_at(ranges, 0.871) is None


ROW = 'at = "{at}"\ncrop_level = {level}\nheadroom_min = 0.0\nheadroom_max = 0.1\n'


def a_text(*rows: str) -> str:
    return 'title = "t"\nsource = "s"\n' + "".join(f"[[row]]\n{row}" for row in rows)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        pytest.param(
            a_text(
                ROW.format(at="knee", level=0.3) + "look_ratio_min = 1.0\n",
                ROW.format(at="sole", level=0.0) + "look_ratio_min = 1.0\n",
            ),
            "crop_level must rise from row to row, got 0.3 before 0",
            id="rows out of order",
        ),
        pytest.param(
            a_text(ROW.format(at="knee", level=0.3)), "row 1: look_ratio_min", id="key missing"
        ),
        pytest.param(
            a_text(ROW.format(at="knee", level=0.3) + "look_ratio_min = -1.0\n"),
            "look_ratio_min must be >= 0",
            id="negative looking room",
        ),
        pytest.param(
            a_text(
                'at = "a"\ncrop_level = 0\nheadroom_min = 1\nheadroom_max = 0\nlook_ratio_min = 1'
            ),
            "headroom_min is above headroom_max",
            id="range turned round",
        ),
        pytest.param(a_text("wrong = 1\n"), "unknown key 'wrong'", id="unknown key"),
    ],
)
def test_faulty_ranges_are_refused(text: str, message: str) -> None:
    with pytest.raises(ConfigError, match=message):
        parse_room_ranges(text, "mine.toml")
