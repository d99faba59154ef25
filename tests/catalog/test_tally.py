"""Counts over a catalog, against plain counting over the rows that the same question finds."""

import random
from collections import defaultdict

import pytest

from framecheck.catalog.catalog import Catalog
from framecheck.catalog.search import FindQuery
from framecheck.catalog.tally import TALLIED
from framecheck.classify.flag_cells import flagged_parts
from tests.catalog.builders import (
    LAYOUT,
    a_frame,
    a_person,
    a_shot,
    lay_down,
    measure,
    measure_still,
)

SIZES = [("wide", "WS"), ("medium", "MS"), ("close-up", "CU"), ("", "")]


@pytest.fixture(scope="module")
def catalog(tmp_path_factory):
    """Thirty clips of five shots in three folders, one of them in two places, and six stills."""
    dice, folder = random.Random(5), tmp_path_factory.mktemp("tally")
    with Catalog.open(folder / "a.sqlite", layout=LAYOUT) as opened:
        for clip in range(30):
            path = lay_down(folder / f"day_{clip % 3}", f"A{clip}.mov", str(clip).encode())
            shots = [
                (_some_shot(dice, shot), [a_person(0, dice.choice(["profile", "away"]))])
                for shot in range(5)
            ]
            measure(opened, path, shots)
        lay_down(folder / "copies", "A0.mov", b"0")
        copy = folder / "copies" / "A0.mov"
        status = copy.stat()
        content = opened.sources()[0].content
        opened.remember_place(content, copy, status.st_size, status.st_mtime_ns)
        for still in range(6):
            path = lay_down(folder / "day_0", f"{still}.jpg", b"still %d" % still)
            measure_still(opened, path, a_frame(shot=None, frame=None, size="wide", size_abbr="WS"))
        yield opened


def _some_shot(dice, number):
    size, abbr = dice.choice(SIZES)
    parts = dice.sample(["knee", "ankle", "chin"], dice.choice([0, 0, 1, 2]))
    flags = "; ".join(f"{part}(bottom,+0.010,high)" for part in parts)
    return a_shot(
        number, size=size, size_abbr=abbr, people=dice.choice([0, 1, 1, 2]), flags=flags,
        duration_s=dice.choice([1.5, 4.0, 12.25]), shot_type=dice.choice(["single", "two"]),
    )  # fmt: skip


def counted_plainly(rows, by):
    """Shots, stills and seconds of each value, by going through all rows."""
    sums = defaultdict(lambda: [0, 0, 0.0])
    for row in rows:
        value = row.get(by) if row.get(by) != "" else None
        values = [value] if by != "flag" else (flagged_parts(row["flags"] or "") or [None])
        for each in values:
            found = sums[each]
            found[row["kind"] == "still"] += 1
            found[2] += row["duration_s"] or 0.0
    return {value: tuple(found) for value, found in sums.items()}


@pytest.mark.parametrize("by", TALLIED)
@pytest.mark.parametrize(
    "query",
    [
        FindQuery(),
        FindQuery(sizes=("cu", "wide")),
        FindQuery(flags=("knee",)),
        FindQuery(flags=("none",), fewest_people=1),
        FindQuery(longer_than_s=2, limit=3),
        FindQuery(file_pattern="A1*"),
        FindQuery(facings=("profile",)),
    ],
    ids=str,
)
def test_counts_are_those_of_the_rows_found(catalog, query, by) -> None:
    unlimited = FindQuery(**{name: getattr(query, name) for name in query.__slots__
                             if name != "limit"})  # fmt: skip
    wanted = counted_plainly(catalog.find(unlimited), by)
    found = {
        tally.value: (tally.shots, tally.stills, tally.seconds)
        for tally in catalog.tally(query)
        if tally.by == by
    }
    assert found == wanted


def test_the_most_frequent_comes_first_and_sizes_have_their_abbreviation(catalog) -> None:
    tallies = catalog.tally(FindQuery())
    assert list(dict.fromkeys(tally.by for tally in tallies)) == list(TALLIED)
    sizes = [tally for tally in tallies if tally.by == "size"]
    totals = [tally.shots + tally.stills for tally in sizes]
    assert totals == sorted(totals, reverse=True)
    assert {tally.abbr for tally in sizes if tally.value} == {"WS", "MS", "CU"}
    assert all(tally.abbr == "" for tally in tallies if tally.by != "size")


def test_what_is_not_there_has_no_counts(catalog) -> None:
    assert catalog.tally(FindQuery(sizes=("no such size",))) == ()
