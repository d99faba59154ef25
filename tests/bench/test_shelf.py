"""The generated catalog is one as a run leaves it: whole, consistent, and found in as it should."""

import collections
import sqlite3

import pytest

from framecheck.bench.setup import REPOSITORY_SCENES, Bench
from framecheck.bench.shelf import QUESTIONS
from framecheck.bench.shelf_filling import FOLDER, MASTERS, SHOTS_OF_A_CLIP, fill_catalog
from framecheck.catalog.catalog import Catalog
from framecheck.catalog.search import FindQuery
from framecheck.pipeline.pages import read_parts

CLIPS = MASTERS + 2
SHOTS = CLIPS * SHOTS_OF_A_CLIP


@pytest.fixture(scope="module")
def bench(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shelf")
    return Bench(
        scenes=REPOSITORY_SCENES, folder=folder, quick=True, models=None, told=lambda _: None
    )


@pytest.fixture(scope="module")
def shelf(bench):
    path = bench.folder / "shelf.sqlite"
    fill_catalog(path, bench, SHOTS)
    return path


def test_it_holds_as_many_shots_as_were_asked_for(shelf) -> None:
    with Catalog.open_to_read(shelf) as catalog:
        found = catalog.find(FindQuery())
    assert len(found) == SHOTS
    assert len({row["place"] for row in found}) == CLIPS


def test_the_database_is_sound(shelf) -> None:
    with sqlite3.connect(shelf) as database:
        assert database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert database.execute("PRAGMA foreign_key_check").fetchall() == []


def test_a_copied_clip_has_the_rows_of_its_master(shelf) -> None:
    with Catalog.open_to_read(shelf) as catalog:
        rows = {number: catalog.rows(number) for _, number in catalog.shown_places()}
    master, copy = rows[1], rows[MASTERS + 1]
    assert (copy.shots, copy.frames, copy.people) == (master.shots, master.frames, master.people)
    assert copy.file == master.file
    assert rows[2].shots != master.shots


def test_shots_follow_each_other_without_a_gap(shelf) -> None:
    with Catalog.open_to_read(shelf) as catalog:
        shots = catalog.rows(3).shots
    assert [shot["shot"] for shot in shots] == list(range(SHOTS_OF_A_CLIP))
    ends = [shot["end_frame"] for shot in shots]
    assert [shot["start_frame"] for shot in shots] == [0, *ends[:-1]]


def test_the_shots_are_of_many_sizes_and_some_are_flagged(shelf) -> None:
    with Catalog.open_to_read(shelf) as catalog:
        found = catalog.find(FindQuery())
    assert len(collections.Counter(row["size"] for row in found)) >= 6
    flagged = sum(bool(row["flags"]) for row in found)
    assert 0.1 * SHOTS < flagged < 0.9 * SHOTS


@pytest.mark.parametrize("name", QUESTIONS)
def test_every_question_finds_what_its_rows_say(shelf, name) -> None:
    """Each question once more, by plain Python over all rows."""
    query = QUESTIONS[name]
    with Catalog.open_to_read(shelf) as catalog:
        found, whole = catalog.find(query), catalog.find(FindQuery())
    wanted = [row for row in whole if _answers(row, query)]
    assert found == wanted[: query.limit]


def _answers(row, query) -> bool:
    parts = {flag.split("(")[0].strip() for flag in (row["flags"] or "").split(";") if flag.strip()}
    lasts = row["duration_s"]
    return all(
        (
            not query.sizes or (row["size_abbr"] or "").casefold() in query.sizes,
            query.fewest_people is None or row["people"] >= query.fewest_people,
            not query.flags
            or ("any" in query.flags and bool(parts))
            or ("none" in query.flags and not parts)
            or bool(parts & set(query.flags)),
            not query.facings or row["facing"] in query.facings,
            query.folder is None or str(row["place"]).startswith(f"{query.folder}/"),
            query.longer_than_s is None or lasts > query.longer_than_s,
            query.shorter_than_s is None or lasts < query.shorter_than_s,
            not query.file_pattern or str(row["place"]).endswith(query.file_pattern.lstrip("*")),
        )
    )


def test_a_report_can_be_made_of_a_part(shelf) -> None:
    from pathlib import Path

    parts = read_parts(shelf, folder=Path(FOLDER, "day_03"))
    assert len(parts.entries) == SHOTS_OF_A_CLIP
    assert parts.vocabulary is not None
