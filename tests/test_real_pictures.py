"""Two real photographs against what a viewer plainly sees in them (tests/real_pictures.toml)."""

import sys
from pathlib import Path
from typing import Any

import pytest

import framecheck

if sys.version_info >= (3, 11):
    import tomllib
else:
    import tomli as tomllib

pytestmark = pytest.mark.model

TABLE = tomllib.loads((Path(__file__).parent / "real_pictures.toml").read_text("utf-8"))
ROWS = TABLE["picture"]
RANGES = ("crop_level", "yaw_deg", "headroom_frac", "eye_line_frac", "left_cut")
READINGS = [(row, name) for row in ROWS for name in RANGES if name in row]


@pytest.fixture(scope="module")
def results() -> dict[str, framecheck.FrameResult]:
    from skimage import data

    return {row["name"]: framecheck.measure_still(getattr(data, row["name"])()) for row in ROWS}


def by_name(row: Any) -> str:
    return row["name"] if isinstance(row, dict) else str(row)


@pytest.mark.parametrize("row", ROWS, ids=by_name)
def test_the_people_are_counted(row, results) -> None:
    result = results[row["name"]]
    assert len(result.measurement.people) == row["people"]
    assert result.judgement.shot_type.value == row["shot_type"]


@pytest.mark.parametrize("row", ROWS, ids=by_name)
def test_the_size_is_named(row, results) -> None:
    assert results[row["name"]].judgement.sizes[0].name in row["sizes"]


@pytest.mark.parametrize("row", ROWS, ids=by_name)
def test_the_facing_is_told(row, results) -> None:
    facing = results[row["name"]].measurement.people[0].facing
    assert facing is not None
    assert facing.value in row["facing"]


@pytest.mark.parametrize("row", ROWS, ids=by_name)
def test_the_edges_that_cut_are_told(row, results) -> None:
    cut = results[row["name"]].measurement.people[0].cut_edges
    assert sorted(edge.value for edge in cut) == row["cut_edges"]


@pytest.mark.parametrize(("row", "name"), READINGS, ids=by_name)
def test_readings_lie_where_a_viewer_puts_them(row, name, results) -> None:
    person = results[row["name"]].measurement.people[0]
    value = getattr(person, {"yaw_deg": "head_yaw_deg"}.get(name, name))
    low, high = row[name]
    assert isinstance(value, float)
    assert low <= value <= high
