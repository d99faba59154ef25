"""Cuts and pairs on the page: verdicts under the strip, pairs with their mismatch drawn."""

import pytest

from framecheck.catalog.sequences import SequenceRows
from framecheck.export.cut_columns import CUT_TABLES
from framecheck.pipeline.pages import write_report
from tests.report.catalogs import open_catalog, some_catalog

CLIP = "A001 take 1.mp4"


def blank(table, **cells):
    return {column.name: None for column in CUT_TABLES[table]} | cells


@pytest.fixture
def report(tmp_path):
    """A study of the clip's three shots: a comfortable cut, then one over the line; one pair."""
    path = some_catalog(tmp_path)
    scene = [
        blank(
            "scene",
            number=n,
            file=str(tmp_path / "media" / CLIP),
            shot=n,
            duration_s=length,
            start_s=0.0,
            person="A",
        )
        for n, length in enumerate((1.0, 1.5, 0.5))
    ]
    cuts = [
        blank("cuts", cut=0, verdict="comfortable", why="size changes by 80 %", line_crossed="no"),
        blank("cuts", cut=1, verdict="too similar", why="<b>too like</b>", line_crossed="yes",
              line_note="both look left", advice="go nearer"),
    ]  # fmt: skip
    pair = blank(
        "pairs", pair=0, person_one="A", person_other="B", shots_one="1", shots_other="2",
        kind="internal", named="no", matches="no", size_one=0.2, size_other=0.31,
        size_difference=1.55, size_matches="no", headroom_one=0.1, headroom_other=0.08,
        headroom_difference=-0.02, headroom_matches="yes", advice="take A 30 % wider",
    )  # fmt: skip
    rows = SequenceRows(
        source="x", name=CLIP, scene_json="{}", cuts=cuts, pairs=[pair], scene=scene
    )
    from framecheck.catalog.catalog import Catalog
    from framecheck.catalog.layout import Layout

    tables = {
        name: [(column.name, column.kind.value) for column in columns]
        for name, columns in CUT_TABLES.items()
    }
    with Catalog.open(path, layout=Layout(**tables)) as catalog:
        catalog.enter_sequence(rows)
    with open_catalog(path) as catalog:
        assert len(catalog.sequences()) == 1
    return write_report(path, tmp_path / "page.html").path


def test_no_path_of_the_machine_is_in_the_page(report, tmp_path):
    assert str(tmp_path) not in report.read_text("utf-8")


def test_cuts_carry_their_verdicts_and_pairs_their_mismatch(report, watch):
    page = watch().open(report.as_uri())
    marks = page.locator("#study-list .strip .mark").all_text_contents()
    assert marks == ["•", "⤫"]
    assert page.locator("#clip-list .strip .mark").all_text_contents() == marks
    row = page.locator("#study-list .cutrow")
    assert row.count() == 1
    assert "Cut 2: too similar" in row.inner_text()
    assert "<b>too like</b>" in row.inner_text()
    assert "The line may be crossed: both look left" in row.inner_text()
    assert row.locator("img").count() == 2
    pair = page.locator("#study-list .pair")
    assert pair.locator("img").count() == 2
    # eye line and crown of each side, solid and dashed, and the place of the nose
    assert pair.locator("svg").first.locator("path.yellow").count() == 2
    table = page.locator("#study-list table").inner_text()
    assert "20.0\u00a0%" in table
    assert "1.55" in table
    assert page.locator("#study-list td.off").all_inner_texts() == ["off"]
    pair.locator("a").first.click()
    assert page.locator("#large").is_visible()
    assert page.locator("#detail dd").nth(1).inner_text().startswith("2, ")


def test_marks_under_the_strip_can_be_seen(report, watch):
    page = watch().open(report.as_uri())
    box = page.locator("#study-list .scroll").first.bounding_box()
    for mark in page.locator("#study-list .mark").all():
        place = mark.bounding_box()
        assert box["y"] < place["y"] + place["height"] <= box["y"] + box["height"] + 1
