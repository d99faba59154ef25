"""Cuts and pairs on the page: verdicts under the strip, pairs with their mismatch drawn."""

import pytest

from framecheck.catalog.sequences import SequenceRows
from framecheck.export.cut_columns import CUT_TABLES
from framecheck.pipeline.pages import write_report
from tests.report.catalogs import STILLS, enter_still, open_catalog, some_catalog

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
        headroom_difference=-0.02, headroom_matches="yes", lens_height_one=3.0,
        lens_height_other=-0.01, lens_height_difference=-3.01, lens_height_matches="yes",
        advice="take A 30 % wider",
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


def test_a_page_of_other_files_has_no_study_of_these(report, tmp_path):
    """Nothing of a sequence whose shots all lie elsewhere."""
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    catalog = tmp_path / "framecheck.sqlite"
    with open_catalog(catalog) as opened:
        enter_still(opened, elsewhere / "one.jpg", STILLS["04 chest.jpg"], wh=(160, 90))
    page = write_report(catalog, tmp_path / "one.html", folder=elsewhere).path.read_text("utf-8")
    assert CLIP in report.read_text("utf-8")
    assert '"studies":[]' in page
    assert CLIP not in page


def test_no_path_of_the_machine_is_in_the_page(report, tmp_path):
    assert str(tmp_path) not in report.read_text("utf-8")


def test_cuts_carry_their_verdicts_and_pairs_their_mismatch(report, watch):
    page = watch().open(report.as_uri())
    marks = page.locator("#study-list .strip .mark").all_text_contents()
    assert marks == ["•", "⤫"]
    assert page.locator("#clip-list .strip .mark").all_text_contents() == marks
    row = page.locator("#study-list .cutrow")
    assert row.count() == 1
    assert "Shot 1 to 2: too similar" in row.inner_text()
    assert "<b>too like</b>" in row.inner_text()
    assert "The line may be crossed: both look left" in row.inner_text()
    assert row.locator("img").count() == 2
    pair = page.locator("#study-list .pair")
    assert pair.locator("img").count() == 2
    # eye line and crown of each side, solid and dashed, and the place of the nose
    assert pair.locator("svg").first.locator("path.yellow").count() == 2
    table = page.locator("#study-list table").inner_text()
    cells = [row.split("\t") for row in table.splitlines()]
    assert cells[1:3] == [
        ["size", "20.0\u00a0%", "31.0\u00a0%", "× 1.55", "off"],
        ["headroom", "10.0\u00a0%", "8.0\u00a0%", "-2.0\u00a0%", "matches"],
    ]
    assert cells[5] == ["lens height", "3.0°", "0.0°", "-3.0°", "matches"]
    names = page.locator("#study-list .match bdi").all_inner_texts()
    assert names == [f"{CLIP}, shot 1", f"{CLIP}, shot 2"]
    assert page.locator("#study-list td.off").all_inner_texts() == ["off"]
    pair.locator("a").first.click()
    assert page.locator("#large").is_visible()
    assert page.locator("#detail dd").nth(1).inner_text().startswith("1, ")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_cuts_and_pairs_pass_the_accessibility_check(report, watch, scheme):
    from axe_playwright_python.sync_playwright import Axe

    page = watch(1366, 844, color_scheme=scheme).open(report.as_uri())
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    results = Axe().run(page, "#studies", options={"runOnly": {"type": "tag", "values": tags}})
    assert results.response["passes"]
    assert [(one["id"], one["nodes"][0]["html"]) for one in results.response["violations"]] == []


def test_marks_under_the_strip_can_be_seen(report, watch):
    page = watch().open(report.as_uri())
    box = page.locator("#study-list .scroll").first.bounding_box()
    for mark in page.locator("#study-list .mark").all():
        place = mark.bounding_box()
        assert box["y"] < place["y"] + place["height"] <= box["y"] + box["height"] + 1
