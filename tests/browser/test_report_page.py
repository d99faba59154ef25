"""The report in a real browser: filter, order, steps, layers, links, printing, size, access."""

import re
import sqlite3

import pytest

from framecheck.pipeline.pages import write_report
from tests.report.catalogs import STILLS, enter_still, open_catalog, some_catalog
from tests.report.many import a_page_of_many

SIZES = [(390, 844), (1366, 768), (2560, 1440)]


@pytest.fixture(scope="module")
def report(tmp_path_factory):
    folder = tmp_path_factory.mktemp("report")
    path = some_catalog(folder)
    return write_report(path, folder / "report.html").path


@pytest.fixture(scope="module")
def many(tmp_path_factory):
    path = tmp_path_factory.mktemp("many") / "many.html"
    path.write_bytes(a_page_of_many(2000))
    return path


def shown(page):
    return page.locator(".card .name bdi").all_text_contents()


def large_title(page):
    return page.locator("#large-title").inner_text()


def test_it_opens_from_disk_and_asks_for_nothing(report, watch):
    watched = watch()
    page = watched.open(report.as_uri())
    assert [url for url in watched.requests if not url.startswith("data:")] == [report.as_uri()]
    assert page.locator(".card:visible").count() == 9
    assert page.locator("#count").inner_text() == "9 frames"
    assert page.evaluate(
        "[...document.images].every((one) => one.complete && one.naturalWidth > 0)"
    )


def test_filters_narrow_and_their_counts_follow(report, watch):
    page = watch().open(report.as_uri())
    one = page.locator("fieldset:has(legend:text-is('People')) .chip")
    words = dict(re.findall(r"(\d)\s*(\d+)", " ".join(one.all_inner_texts())))
    assert words == {"0": "1", "1": "6", "2": "2"}
    page.get_by_label("2", exact=False).and_(page.locator("[data-group=people][value='2']")).check()
    assert page.locator("#count").inner_text() == "2 of 9 frames"
    assert sorted(shown(page)) == ["03 two.png", "A001 take 1.mp4"]
    # the counts beside the sizes are now those among pictures of two people
    sizes = page.locator("[data-group=size] + span i").all_inner_texts()
    assert sum(map(int, sizes)) == 2
    # beside the other counts of people stands what one would get by adding them
    people = page.locator("[data-group=people] + span i").all_inner_texts()
    assert sum(map(int, people)) == 9
    page.locator("[data-group=people][value='0']").check()
    assert page.locator("#count").inner_text() == "3 of 9 frames"
    page.locator("#clear").click()
    assert page.locator("#count").inner_text() == "9 frames"
    assert page.locator("#filter-list input:checked").count() == 0


def test_the_search_goes_through_names_sizes_and_flags(report, watch):
    page = watch().open(report.as_uri())
    page.locator("#words").fill("a001 take")
    assert shown(page) == ["A001 take 1.mp4"] * 3
    page.locator("#words").fill("two.png")
    assert shown(page) == ["03 two.png"]
    page.locator("#words").fill("nothing has this")
    assert shown(page) == []
    assert page.locator("#none").is_visible()
    page.locator("#words").fill("headroom jpg")
    assert shown(page)
    assert all(name.endswith(".jpg") for name in shown(page))


def test_the_order_changes_the_sheet_and_the_steps(report, watch):
    page = watch().open(report.as_uri())
    page.locator("#order").select_option(label="tight to wide")
    names = shown(page)
    assert names[0] in {"04 chest.jpg", "A001 take 1.mp4"}
    assert names[-1] == "06 nobody.jpg"
    page.locator("#order").select_option(label="by file name")
    assert shown(page) == sorted(shown(page))
    page.locator(".card:visible a.open").first.click()
    assert page.locator("#where").inner_text() == "1 of 9"
    page.keyboard.press("ArrowRight")
    assert page.locator("#where").inner_text() == "2 of 9"
    assert page.locator("#detail dd").first.inner_text() == shown(page)[1]
    page.keyboard.press("End")
    assert page.locator("#where").inner_text() == "9 of 9"
    page.keyboard.press("ArrowRight")
    assert page.locator("#where").inner_text() == "9 of 9"
    page.keyboard.press("Home")
    assert page.locator("#where").inner_text() == "1 of 9"


def test_steps_go_through_what_the_filter_shows(report, watch):
    page = watch().open(report.as_uri())
    page.locator("#words").fill("A001")
    page.locator(".card:visible a.open").first.click()
    assert page.locator("#where").inner_text() == "1 of 3"
    page.locator("#next").click()
    page.locator("#next").click()
    assert page.locator("#next").is_disabled()
    assert "shot" in page.locator("#detail").inner_text()


@pytest.mark.parametrize("number", range(1, 8))
def test_every_layer_is_toggled_by_its_box_and_by_its_key(report, watch, number):
    page = watch().open(report.as_uri())
    box = page.locator("#layer-list input").nth(number - 1)
    group = page.locator(f".card .l-{box.get_attribute('data-layer')}").first
    displayed = "(element) => getComputedStyle(element).display"
    before = group.evaluate(displayed)
    page.locator("#layer-list .chip").nth(number - 1).click()
    assert group.evaluate(displayed) != before
    page.keyboard.press(f"Shift+Digit{number}")
    assert group.evaluate(displayed) == before


def test_layers_lie_where_the_numbers_say(report, watch):
    """The crown mark of the ruler and the cut, from pixels of the file to pixels of the screen."""
    page = watch().open(report.as_uri())
    page.locator("#words").fill("02 knees")
    page.locator(".card:visible a.open").click()
    page.keyboard.press("Shift+Digit1")
    page.wait_for_selector("#stage .l-body path", state="attached")
    frame = page.locator("#stage .frame").bounding_box()
    labels = page.locator("#stage .l-body text").all_text_contents()
    assert any(label.startswith("crown 1.00") for label in labels)
    first = page.locator("#stage .l-body path.yellow").first.bounding_box()
    # the figure of this still has its crown at 0.09 of the height, see tests.report.catalogs
    assert (first["y"] - frame["y"]) / frame["height"] == pytest.approx(0.09, abs=0.012)
    cut = page.locator("#stage .l-cut path.yellow.bar").first.bounding_box()
    assert cut["y"] + cut["height"] == pytest.approx(frame["y"] + frame["height"], abs=8)


@pytest.mark.parametrize(("stature", "way"), [(1.22, "up"), (0.95, "down")])
def test_advice_is_drawn_as_the_frame_edge_it_proposes(tmp_path, watch, stature, way):
    """Inside the picture, and outside of it, to the per cent that the sentence names."""
    cut = {"cut.jpg": [{"stature": stature, "crown": 0.09}]}  # at the knee, and at the ankle
    path = some_catalog(tmp_path, clip=False, stills=cut)
    page = watch().open(write_report(path, tmp_path / "page.html").path.as_uri())
    page.locator(".card a.open").click()
    choices = page.locator("#detail .advice button")
    found = set()
    for number, text in enumerate(choices.all_inner_texts()):
        said = re.search(r"bottom edge ([0-9.]+)\s% of the frame height (up|down)", text)
        if not said:
            continue
        choices.nth(number).click()
        picture = page.locator("#stage img").bounding_box()
        edge = page.locator("#stage .l-reframe path.orange:not(.dash)").bounding_box()
        bottom = picture["y"] + picture["height"]
        lower = (edge["y"] + edge["height"] / 2 - bottom) / picture["height"]
        share = float(said[1]) / 100
        assert lower == pytest.approx(share if said[2] == "down" else -share, abs=0.01)
        stage = page.locator("#stage").bounding_box()
        assert edge["y"] <= stage["y"] + stage["height"]  # it can be seen
        found.add(said[2])
    assert way in found


def test_a_head_that_is_cut_is_told_in_words_and_not_as_less_than_no_headroom(tmp_path, watch):
    stills = {
        "cut.jpg": [{"stature": 4.4, "crown": -0.3}],
        "whole.jpg": [{"stature": 3.2, "crown": 0.08}],
    }
    path = some_catalog(tmp_path, clip=False, stills=stills)
    page = watch().open(write_report(path, tmp_path / "page.html").path.as_uri())
    figures = page.locator(".card .figures").all_inner_texts()
    assert "head\u00a0cut" in figures[0]
    assert "headroom\u00a08\u00a0%" in figures[1]
    page.locator("a.open").first.click()
    page.keyboard.press("Shift+Digit4")
    over = "crown 30{}\u00a0% over the edge"
    detail = page.locator("#detail").inner_text()
    assert over.format(".0") in detail
    assert over.format("") in page.locator("#stage .l-air text").all_text_contents()
    assert label_boxes_that_overlap(page) == []
    words = page.locator("body").inner_text() + detail + " ".join(figures)
    assert re.findall(r"headroom\s+-", words) == []


def label_boxes_that_overlap(page):
    """Pairs of words drawn on the large frame that lie over each other."""
    return page.evaluate("""() => {
        const all = [...document.querySelectorAll('#stage text')]
            .filter((one) => one.checkVisibility());
        const lies = (p, q) => p.left < q.right - 1 && q.left < p.right - 1
            && p.top < q.bottom - 3 && q.top < p.bottom - 3;
        return all.flatMap((one, n) => all.slice(n + 1)
            .filter((other) => lies(one.getBoundingClientRect(), other.getBoundingClientRect()))
            .map((other) => [one.textContent, other.textContent]));
    }""")


def test_each_frame_has_a_link_that_opens_it(report, watch):
    watched = watch()
    page = watched.open(report.as_uri())
    links = page.locator("a.open")
    hashes = [links.nth(n).get_attribute("href") for n in range(links.count())]
    assert len(set(hashes)) == 9
    page.goto("about:blank")
    watched.open(report.as_uri() + hashes[3])
    assert page.locator("#large").is_visible()
    assert page.locator("#detail dd").first.inner_text() == "04 chest.jpg"
    page.evaluate(f"location.hash = '{hashes[1]}'")
    page.wait_for_function(
        "() => document.querySelector('#detail dd').textContent === '02 knees.jpg'"
    )


def test_the_keyboard_alone_is_enough(report, watch):
    page = watch().open(report.as_uri())
    page.locator("#clear").focus()
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.matches('a.open')"):
            break
    page.keyboard.press("Enter")
    assert page.locator("#large").is_visible()
    page.keyboard.press("ArrowRight")
    inside = page.evaluate("document.getElementById('large').contains(document.activeElement)")
    assert inside
    for _ in range(12):
        page.keyboard.press("Tab")
    assert page.evaluate("!document.activeElement.closest('main, header')")
    page.keyboard.press("Escape")
    assert not page.locator("#large").is_visible()
    assert page.evaluate("document.activeElement.closest('.card').dataset.n") == "1"


def test_the_strip_of_a_clip_has_its_shots_in_proportion_and_opens_them(report, watch):
    page = watch().open(report.as_uri())
    blocks = page.locator("#clip-list .strip button")
    widths = [blocks.nth(n).bounding_box()["width"] for n in range(blocks.count())]
    assert len(widths) == 3
    assert [width / sum(widths) for width in widths] == pytest.approx(
        [24 / 72, 36 / 72, 12 / 72], abs=0.01
    )
    letters = page.locator("#clip-list .letters").all_inner_texts()
    assert letters[0] == "WS"
    heights = page.locator("#clip-list .block").evaluate_all(
        "(all) => all.map((one) => one.clientHeight)"
    )
    assert heights[0] > heights[1] > heights[2]  # wide, medium, tight
    blocks.nth(2).click()
    assert "shot" in page.locator("#detail").inner_text()
    assert page.locator("#detail dd").nth(1).inner_text().startswith("2, ")


def test_charts_follow_the_filter(report, watch):
    page = watch().open(report.as_uri())
    points = page.locator("#chart-list .pt")
    page.locator("#measures").scroll_into_view_if_needed()
    page.wait_for_function("() => document.querySelectorAll('#chart-list .pt').length === 8")
    page.locator("#words").fill("chest")
    page.wait_for_function("() => document.querySelectorAll('#chart-list .pt').length === 1")
    assert points.count() == 1
    bars = page.locator("#chart-list figure").first.locator("text:not(.strong)").all_text_contents()
    assert sum(map(int, bars)) == 1


def test_shot_lengths_are_told_with_mean_and_median(report, watch):
    page = watch().open(report.as_uri())
    note = page.locator("#chart-list figure").nth(2).locator("figcaption small").last
    page.wait_for_function("() => document.querySelector('#chart-list').innerText.includes('mean')")
    assert note.inner_text() == "3 shots, mean 1.0 s, median 1.0 s"
    page.locator("#words").fill("A001")
    for size in ("wide", "medium close-up"):  # 1.0 and 0.5 s
        page.locator(f"[data-group=size][value='{size}']").check()
    page.wait_for_function(
        "() => document.querySelector('#chart-list').innerText.includes('2 shots')"
    )
    assert note.inner_text() == "2 shots, mean 0.8 s, median 0.8 s"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES, ids=["phone", "laptop", "wide"])
def test_nothing_overflows_and_no_text_is_cut(report, watch, size, scheme):
    page = watch(*size, color_scheme=scheme).open(report.as_uri())
    for opened in (False, True):
        if opened:
            page.locator(".card a.open").nth(2).click()
        assert page.evaluate(
            "document.documentElement.scrollWidth <= document.documentElement.clientWidth"
        )
        assert cut_texts(page) == []
        assert overlapping_controls(page) == []


def cut_texts(page):
    """Elements with text of their own that is wider than they are and would not show."""
    return page.evaluate(CUT_TEXTS)


def overlapping_controls(page):
    """Pairs of visible controls and texts of the same region that lie over each other."""
    return page.evaluate(OVERLAPS)


CUT_TEXTS = """() => {
    const apart = '.quietly, svg, script, .letters, .scroll, select';
    const isCut = (one) => {
        if (one.closest(apart) || !one.checkVisibility()) return false;
        const own = [...one.childNodes].some((node) => node.nodeType === 3
            && node.textContent.trim());
        const inline = getComputedStyle(one).display === 'inline';
        return own && !inline && one.scrollWidth > one.clientWidth + 1;
    };
    return [...document.querySelectorAll('body *')].filter(isCut)
        .map((one) => one.outerHTML.slice(0, 120));
}"""
OVERLAPS = """() => {
    const root = document.querySelector('dialog[open] .side') || document.querySelector('#tools');
    const kinds = 'button, select, input:not([type=checkbox]), legend, .chip, h2, h3, dt, dd';
    const all = [...root.querySelectorAll(kinds)].filter((one) => one.checkVisibility());
    const found = [];
    for (const [number, one] of all.entries()) {
        const p = one.getBoundingClientRect();
        for (const other of all.slice(number + 1)) {
            const q = other.getBoundingClientRect();
            if (one.contains(other) || other.contains(one)) continue;
            const beside = p.left < q.right - 1 && q.left < p.right - 1;
            const level = p.top < q.bottom - 1 && q.top < p.bottom - 1;
            if (beside && level) found.push([one.textContent, other.textContent]);
        }
    }
    return found;
}"""


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1366])
def test_an_automated_accessibility_check_passes(report, watch, scheme, width):
    from axe_playwright_python.sync_playwright import Axe

    page = watch(width, 844, color_scheme=scheme).open(report.as_uri())
    page.evaluate("for (const fold of document.querySelectorAll('details')) fold.open = true")
    for opened in (False, True):
        if opened:
            page.locator(".card a.open").nth(1).click()
        tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
        results = Axe().run(page, options={"runOnly": {"type": "tag", "values": tags}})
        assert results.response["passes"]
        assert [
            (one["id"], one["nodes"][0]["html"][:160]) for one in results.response["violations"]
        ] == []


def test_hostile_names_and_metadata_are_shown_as_text(tmp_path, watch):
    path = some_catalog(tmp_path, clip=False, stills={})
    name = "<img src=x onerror=alert(1)> \u202egpj.\"'&amp;<b>.jpg"
    with open_catalog(path) as catalog:
        enter_still(catalog, tmp_path / "media" / name, STILLS["02 knees.jpg"])
    hostile = "</script><script>alert(2)</script><h1>\u2067x"
    raw = sqlite3.connect(path)
    raw.execute("UPDATE frames SET notes = ?, choice = ?, size = ?", (hostile,) * 3)
    raw.execute("UPDATE frames SET advice = ?", (hostile,))
    raw.commit()
    raw.close()
    out = write_report(path, tmp_path / "page.html", title=hostile).path
    page = watch().open(out.as_uri())
    assert shown(page) == [name.replace("\u202e", "\\u202e")]
    page.locator("a.open").click()
    assert page.locator("#detail dd").first.inner_text() == name.replace("\u202e", "\\u202e")
    assert hostile.replace("\u2067", "\\u2067") in page.locator("#detail").inner_text()
    assert page.locator("h1").count() == 1
    assert page.locator("img[src=x]").count() == 0


def test_it_prints_every_frame_with_its_drawings_and_no_controls(report, watch):
    page = watch().open(report.as_uri())
    page.emulate_media(media="print")
    assert not page.locator("#tools").is_visible()
    assert page.locator(".card:visible").count() == 9
    assert page.pdf(format="A4", print_background=True).startswith(b"%PDF")
    assert page.evaluate("document.querySelectorAll('.card .layers').length") == 9
    assert page.get_by_role("cell", name="room_figure_min_frac").is_visible()  # thresholds as well


def test_without_scripts_frames_and_figures_are_there(report, browser):
    context = browser.new_context(java_script_enabled=False)
    page = context.new_page()
    page.goto(report.as_uri())
    assert page.locator(".card:visible").count() == 9
    assert "04 chest.jpg" in shown(page)
    assert page.locator("noscript p").is_visible()
    context.close()


def test_2000_shots_stay_small_and_fluid(many, watch):
    """The promised limits: under 40 MB, first paint under 2 s, a filter under 100 ms."""
    assert 15e6 < many.stat().st_size < 40e6
    page = watch().open(many.as_uri())
    paint_ms = page.evaluate("performance.getEntriesByName('first-contentful-paint')[0].startTime")
    assert paint_ms < 2000
    page.wait_for_timeout(500)
    # the best of three rounds, as other programs may be busy; of each round the slowest filter
    rounds = [sorted(page.evaluate(FILTER_MS)) for _ in range(3)]
    spent_ms = min(rounds, key=max)
    print(f"first paint {paint_ms:.0f} ms; filter {spent_ms[0]:.0f} to {spent_ms[-1]:.0f} ms")
    assert spent_ms[-1] < 100
    page.locator("#words").fill("A012")
    assert page.locator("#count").inner_text() == "50 of 2,000 frames"
    page.locator("#words").fill("")
    assert (
        page.locator(".card").count() < 2000
    )  # what the window can show, and more as it is needed
    page.locator(".card").last.scroll_into_view_if_needed()
    page.locator(".card").nth(200).wait_for(state="attached")


FILTER_MS = """() => ['a', 'medium', 'A012', '', 'knee', 'close', ''].map((text) => {
    const words = document.getElementById('words'), begun = performance.now();
    words.value = text;
    words.dispatchEvent(new Event('input', { bubbles: true }));
    document.getElementById('cards').getBoundingClientRect();  // lays the page out
    return performance.now() - begun;
})"""
