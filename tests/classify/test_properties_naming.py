"""Names and shares of error: every reading has one name, and the shares are those of the curve."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from framecheck.classify.crossing import beyond_px, first_crossing
from framecheck.classify.gauss import mass_between
from framecheck.classify.room import parse_room_ranges
from framecheck.classify.size import SECOND_MASS, SizeReading, name_size
from framecheck.classify.size_fields import crop_level_of_field, size_fields, translate_size
from framecheck.classify.vocabulary import find_band, parse_vocabulary, region_holds
from framecheck.classify.vocabulary_text import vocabulary_toml
from framecheck.geometry.boxes import holds
from framecheck.records.framing import Edge
from framecheck.records.values import Box
from tests.classify.conftest import DATA
from tests.classify.mirrors import OTHER_EDGE
from tests.steady import STEADY

VOCABULARIES = [
    parse_vocabulary(path.read_text(encoding="utf-8"), path.name)
    for path in sorted((DATA / "vocabularies").glob("*.toml"))
]
RANGES = parse_room_ranges((DATA / "headroom.toml").read_text(encoding="utf-8"), "headroom.toml")
A_VOCABULARY = st.sampled_from(VOCABULARIES)
BORDERS = st.floats(-3, 3)
ERRORS = st.floats(0.01, 2)
CELLS = st.tuples(st.floats(-5, 1.5), st.floats(0, 12), st.floats(0, 1))


def area(mean, error, low, high):
    """An oracle: the curve itself, summed up in ten thousand strips (midpoints)."""
    at, width = np.linspace(low, high, 10_001, retstep=True)
    middles = at[:-1] + width / 2
    heights = np.exp(-((middles - mean) ** 2) / (2 * error**2)) / (error * math.sqrt(2 * math.pi))
    return float(heights.sum() * width)


@STEADY
@given(BORDERS, st.floats(0.1, 2), BORDERS, st.floats(0, 3))
def test_a_share_is_the_area_under_the_curve(mean, error, low, wide) -> None:
    assert mass_between(mean, error, low, low + wide) == pytest.approx(
        area(mean, error, low, low + wide), abs=1e-5
    )


@STEADY
@given(BORDERS, ERRORS, st.lists(BORDERS, min_size=1, max_size=5, unique=True))
def test_shares_on_both_sides_of_borders_make_a_whole(mean, error, borders) -> None:
    ends = [-math.inf, *sorted(borders), math.inf]
    shares = [mass_between(mean, error, low, high) for low, high in pairwise(ends)]
    assert math.fsum(shares) == pytest.approx(1)
    assert all(0 <= share <= 1 for share in shares)


@STEADY
@given(BORDERS, ERRORS, BORDERS, BORDERS)
def test_a_share_in_the_mirror_and_at_another_scale(mean, error, one, other) -> None:
    low, high = sorted((one, other))
    share = mass_between(mean, error, low, high)
    assert mass_between(-mean, error, -high, -low) == pytest.approx(share, abs=1e-12)
    assert mass_between(4 * mean, 4 * error, 4 * low, 4 * high) == pytest.approx(share, abs=1e-12)


@STEADY
@given(st.integers(-3, 3), st.integers(-3, 3), st.integers(-3, 3))
def test_an_exact_reading_is_inside_or_not(mean, low, high) -> None:
    assert mass_between(mean, 0, low, high) == (1.0 if mean in range(low, high) else 0.0)


PICTURE = Box(x_px=100, y_px=200, w_px=1000, h_px=600)
CHAINS = st.lists(
    st.tuples(st.integers(-400, 1600).map(float), st.integers(-300, 1300).map(float)),
    min_size=1,
    max_size=6,
)


@STEADY
@given(CHAINS)
def test_a_chain_leaves_where_a_walk_along_it_leaves(chain) -> None:
    """An oracle that halves the way between the last place inside and the first outside."""
    found = first_crossing(chain, PICTURE)
    leaves = [n for n, (a, b) in enumerate(pairwise(chain))
              if holds(PICTURE, a) and not holds(PICTURE, b)]  # fmt: skip
    if not leaves:
        assert found is None
        return
    assert found is not None
    assert found.segment == leaves[0]
    a, b = chain[leaves[0]], chain[leaves[0] + 1]
    low, high = 0.0, 1.0
    for _ in range(60):
        half = (low + high) / 2
        at = (a[0] + half * (b[0] - a[0]), a[1] + half * (b[1] - a[1]))
        low, high = (half, high) if holds(PICTURE, at) else (low, half)
    assert found.share == pytest.approx(low, abs=1e-9)
    at = (a[0] + found.share * (b[0] - a[0]), a[1] + found.share * (b[1] - a[1]))
    assert beyond_px(at, PICTURE, found.edge) == pytest.approx(0, abs=1e-9)
    assert beyond_px(b, PICTURE, found.edge) > 0


@STEADY
@given(CHAINS)
def test_a_chain_in_the_mirror_leaves_by_the_other_side(chain) -> None:
    there = first_crossing([(1200 - x, y) for x, y in chain], PICTURE)
    here = first_crossing(chain, PICTURE)
    assert (there is None) == (here is None)
    if here is not None and there is not None:
        assert (there.segment, there.share) == (here.segment, pytest.approx(here.share))
        assert there.edge is OTHER_EDGE[here.edge]


@STEADY
@given(st.tuples(*[st.integers(-400, 1600).map(float)] * 2))
def test_a_point_is_inside_when_it_is_beyond_no_edge(point) -> None:
    beyond = [beyond_px(point, PICTURE, edge) for edge in Edge]
    assert holds(PICTURE, point) == all(px <= 0 for px in beyond)
    assert beyond_px(point, PICTURE, Edge.LEFT) + beyond_px(point, PICTURE, Edge.RIGHT) == -1000
    assert beyond_px(point, PICTURE, Edge.TOP) + beyond_px(point, PICTURE, Edge.BOTTOM) == -600


@STEADY
@given(A_VOCABULARY, CELLS)
def test_every_reading_has_exactly_one_band(vocabulary, cell) -> None:
    owners = [b for b in vocabulary.bands if any(region_holds(r, cell) for r in b.regions)]
    assert owners == [find_band(vocabulary, cell)]


@STEADY
@given(A_VOCABULARY, st.data())
def test_a_border_belongs_to_the_band_that_starts_there(vocabulary, data) -> None:
    band = data.draw(st.sampled_from(vocabulary.bands))
    region = data.draw(st.sampled_from(band.regions))
    spans = (region.crop, region.figure, region.extent)
    ends = [(max(s.start, -5.0), min(s.stop, 12.0)) for s in spans]
    assert find_band(vocabulary, [low for low, _ in ends]) is band
    for axis, (_, stop) in enumerate(ends):
        if math.isfinite(spans[axis].stop):
            cell = [low for low, _ in ends]
            cell[axis] = stop
            assert not region_holds(region, cell)


@pytest.mark.parametrize("vocabulary", VOCABULARIES, ids=lambda v: v.name)
def test_a_vocabulary_written_and_read_is_the_same(vocabulary) -> None:
    assert parse_vocabulary(vocabulary_toml(vocabulary), "again") == vocabulary


READINGS = st.builds(
    SizeReading,
    crop_level=st.floats(-3, 0.93),
    top_level=st.floats(0.95, 2),
    figure_frac=st.floats(0.05, 8),
    error_level=st.floats(0, 0.1),
)


@STEADY
@given(A_VOCABULARY, READINGS)
def test_a_name_explains_its_reading(vocabulary, reading) -> None:
    found = name_size(reading, vocabulary)
    assert found is not None
    cell = (reading.crop_level, reading.figure_frac, reading.extent)
    band = find_band(vocabulary, cell)
    assert (found.vocabulary, found.name, found.abbr) == (vocabulary.name, band.name, band.abbr)
    assert 0 <= found.confidence <= 1
    assert found.second != found.name
    assert found.second in {"", *(b.name for b in vocabulary.bands)}
    if found.second:
        assert 1 - found.confidence >= SECOND_MASS - 1e-9


@STEADY
@given(A_VOCABULARY, READINGS, st.floats(1.5, 4))
def test_a_surer_reading_of_the_same_is_named_the_same(vocabulary, reading, times) -> None:
    surer = SizeReading(
        crop_level=reading.crop_level,
        top_level=reading.top_level,
        figure_frac=reading.figure_frac,
        error_level=reading.error_level / times,
    )
    one, other = name_size(reading, vocabulary), name_size(surer, vocabulary)
    assert one is not None
    assert other is not None
    assert other.name == one.name


@STEADY
@given(READINGS)
def test_the_extent_is_what_lies_between_the_edges(reading) -> None:
    """Counted in thousandths of the body."""
    shown = sum(reading.crop_level <= (n + 0.5) / 1000 <= reading.top_level for n in range(1000))
    assert max(0.0, reading.extent) == pytest.approx(shown / 1000, abs=0.0011)


@STEADY
@given(st.floats(0.05, 18), st.floats(1.01, 1.5))
def test_a_higher_picture_cuts_lower(field, more) -> None:
    one, other = (crop_level_of_field(f, RANGES) for f in (field, min(20.0, field * more)))
    assert other <= one + 1e-6


@pytest.mark.parametrize("vocabulary", VOCABULARIES, ids=lambda v: v.name)
def test_fields_of_sizes_go_from_wide_to_tight(vocabulary) -> None:
    fields = size_fields(vocabulary, RANGES)
    assert [f.name for f in fields] == [
        b.name for b in vocabulary.bands if b.name in {f.name for f in fields}
    ]
    for field in fields:
        assert field.low <= field.middle <= field.high
        assert field.middle == pytest.approx(math.sqrt(field.low * field.high))
    assert max(f.high for f in fields) == pytest.approx(20)
    assert min(f.low for f in fields) == pytest.approx(0.03)


def test_a_size_is_its_own_translation() -> None:
    trade = next(v for v in VOCABULARIES if v.name == "trade")
    for name in [field.name for field in size_fields(trade, RANGES)][::4]:
        band = translate_size(name, trade, trade, RANGES)
        assert band is not None
        assert band.name == name
    assert translate_size("no such size", trade, trade, RANGES) is None


WORDS = st.text(min_size=1, max_size=30).filter(lambda text: text.strip())


@STEADY
@given(WORDS, WORDS, WORDS)
def test_any_words_survive_a_vocabulary_file(name, title, source) -> None:
    assume(not any(0xD800 <= ord(c) <= 0xDFFF for c in name + title + source))
    import dataclasses

    band = dataclasses.replace(VOCABULARIES[0].bands[0], name=name, abbr=title, note=source)
    bands = (band, *VOCABULARIES[0].bands[1:])
    words = [b.name for b in bands] + [b.abbr for b in bands]
    assume(len(set(words[: len(bands)])) == len(bands) == len(set(words[len(bands) :])))
    one = dataclasses.replace(VOCABULARIES[0], name=name, title=title, source=source, bands=bands)
    assert parse_vocabulary(vocabulary_toml(one), "again") == one
