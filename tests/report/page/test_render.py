"""The page as a file: whole in itself, and nothing in it that a name could break."""

import json
import re
from dataclasses import replace

from framecheck.pipeline.pages import read_parts, write_report
from framecheck.report.page.about import read_made, size_list
from framecheck.report.page.compose import compose_page
from framecheck.report.page.entries import gather_entries
from framecheck.report.page.opinions import kept_ranges, kept_vocabulary
from framecheck.report.page.pictures import make_pictures
from framecheck.report.page.render import page_script, page_style, render_page
from tests.report.catalogs import STILLS, enter_still, judging, open_catalog, some_catalog

HOSTILE = "<img src=x onerror=alert(1)>&quot;\"'; </script><script>alert(2)<!-- \u202egpj"


def page_of(path, **more):
    parts = read_parts(path, **more)
    return render_page(compose_page(parts, make_pictures(parts.entries, lambda _d: None))).decode()


def data_of(page):
    return json.loads(
        re.search(r'<script type="application/json" id="data">(.*?)</script>', page)[1]
    )


def test_the_page_needs_nothing_but_itself(tmp_path):
    page = page_of(some_catalog(tmp_path))
    rest = page.replace(page_script(), "").replace(page_style(), "")
    assert not re.findall(r'(?:src|href)="(?!data:image/webp;base64,|#)[^"]*"', rest)
    assert "http" not in page_style()
    assert re.findall(r"https?://[^\s\"']+", page_script()) == ["http://www.w3.org/2000/svg"]
    assert page.count("<script>") == 1
    assert "default-src &#39;none&#39;" in page


def test_it_is_the_same_bytes_each_time(tmp_path):
    path = some_catalog(tmp_path)
    assert page_of(path) == page_of(path)


def test_it_has_every_frame_with_a_link_of_its_own(tmp_path):
    page = page_of(some_catalog(tmp_path))
    data = data_of(page)
    assert len(data["entries"]) == page.count('class="card"') == 9
    for entry in data["entries"]:
        assert f'href="#{entry["key"]}"' in page


def test_numbers_of_the_page_are_those_of_the_catalog(tmp_path):
    path = some_catalog(tmp_path)
    data = data_of(page_of(path))
    with open_catalog(path) as catalog:
        entries = gather_entries(catalog)
    for item, entry in zip(data["entries"], entries, strict=True):
        assert item["size"] == (entry.row["size"] or "")
        assert item["people"] == entry.row["people"]
        crop = entry.best["crop_level"]
        if crop is not None:
            assert abs(item["readings"]["crop_level"] - crop) < 1e-4
            assert len(item["persons"][0]["ruler"]) == 8
    (two,) = (
        item for item in data["entries"] if data["files"][item["file"]]["name"] == "03 two.png"
    )
    assert (two["people"], [person["n"] for person in two["persons"]]) == (2, [0, 1])
    assert [row[0] for row in data["room"]] == [row.crop_level for row in judging().ranges.rows]


def test_hostile_names_and_texts_are_shown_as_text(tmp_path):
    folder = tmp_path / "me & <you>"
    path = some_catalog(folder, clip=False, stills={})
    with open_catalog(path) as catalog:
        enter_still(
            catalog, folder / "media" / 'a "b" <b>&amp; \u202egpj.jpg', STILLS["02 knees.jpg"]
        )
        (number,) = [source.measurement for source in catalog.sources()]
        with catalog._store.writing():
            catalog._store.run(
                "UPDATE frames SET notes = ?, advice = ?, choice = ?", (HOSTILE,) * 3
            )
            catalog._store.run("UPDATE frames SET size = ?, flags = ?", (HOSTILE, HOSTILE))
            catalog._store.run(
                "UPDATE files SET codec = ? WHERE _measurement = ?", (HOSTILE, number)
            )
    page = page_of(path, title=HOSTILE)
    assert page.count("<script") == 2
    assert page.count("</script>") == 2
    assert "<img src=x" not in page
    assert "\u202e" not in page
    entry = data_of(page)["entries"][0]
    assert entry["size"] == HOSTILE.replace("\u202e", "\\u202e")
    assert data_of(page)["files"][0]["name"] == 'a "b" <b>&amp; \\u202egpj.jpg'


def test_it_says_what_made_it(tmp_path):
    page = page_of(some_catalog(tmp_path))
    assert "knee_to_level" in page
    assert "0.33" in page
    assert "drawn" in page  # the models' version of these catalogs
    assert "medium close-up" in page
    assert judging().ranges.source.split(";")[0] in page
    assert "pass it on only as you would the footage" in " ".join(page.split())


def test_opinions_come_from_the_catalog_and_not_from_today(tmp_path):
    own = replace(judging().vocabularies[0], name="mine", title="Mine")
    path = some_catalog(tmp_path, clip=False)
    from framecheck.pipeline.settings import describe_settings

    with open_catalog(path) as catalog:
        described = describe_settings(replace(judging(), vocabularies=(own,)), models="x")
        catalog.describe_settings("settings", described)
        sources = catalog.sources()
    assert kept_vocabulary(sources) == own
    assert kept_ranges(sources) == judging().ranges
    assert read_made(sources)[0].vocabularies == ("mine",)
    broken = [replace(source, described="{not json") for source in sources]
    assert (kept_vocabulary(broken), kept_ranges(broken)) == (None, None)
    assert read_made(broken)[0].version == ""


def test_sizes_beyond_the_vocabulary_are_listed_after_it():
    rows = [{"size": "odd", "size_abbr": "OD"}, {"size": "medium"}, {"size": ""}, {"size": None}]
    names = [size[0] for size in size_list(judging().vocabularies[0], rows)]
    assert names[:2] == ["extreme wide", "wide"]
    assert names[10:] == ["odd"]
    assert [size[0] for size in size_list(None, rows)] == ["medium", "odd"]
    text = {name: told for name, _, told in size_list(judging().vocabularies[0], [])}
    assert text["medium"].startswith("cut 0.47 to 0.661.")


def test_a_report_is_written_whole_and_told(tmp_path):
    path = some_catalog(tmp_path)
    (tmp_path / "media" / "01 wide.jpg").unlink()
    told = []
    written = write_report(
        path, tmp_path / "out" / "page.html", told=lambda *some: told.append(some)
    )
    assert written.path.read_bytes().startswith(b"<!doctype html>")
    assert written.size_bytes == written.path.stat().st_size
    assert (written.entries, written.without) == (9, 1)
    assert told[-1] == (9, 9)
    assert "not where it was measured" in written.path.read_text("utf-8")


def test_a_catalog_without_bands_in_its_settings_is_named_by_the_packaged_words(tmp_path):
    path = some_catalog(tmp_path, clip=False)
    with open_catalog(path) as catalog:
        catalog.describe_settings("settings", json.dumps({"vocabularies": ["nine-class"]}))
    parts = read_parts(path)
    assert parts.vocabulary is not None
    assert parts.vocabulary.name == "nine-class"
    with open_catalog(path) as catalog:
        catalog.describe_settings("settings", json.dumps({"vocabularies": ["gone.toml"]}))
    assert read_parts(path).vocabulary is None


def test_a_catalog_of_the_first_version_has_a_page_as_well(tmp_path):
    """Its rows lack most of today's columns, and its files have gone."""
    import sqlite3
    from pathlib import Path

    path = tmp_path / "old.sqlite"
    raw = sqlite3.connect(path)
    raw.executescript((Path(__file__).parents[2] / "catalog" / "version_1.sql").read_text("utf-8"))
    raw.close()
    written = write_report(path, tmp_path / "page.html")
    assert written.entries == written.without == 4
    data = data_of(written.path.read_text("utf-8"))
    assert [entry["size"] for entry in data["entries"]] == [
        "mid-shot",
        "close shot",
        "full",
        "close-up",
    ]
    assert data["files"][-1]["name"].endswith("\\xe9.jpg")
