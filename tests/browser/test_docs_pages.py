"""The documentation in a real browser: it fits, stays off the network, and can be reached."""

import pytest

from tests.docs.building import build_docs

PAGES = ("index", "tutorial", "body-ruler", "reference/columns", "reference/formulas")
RULES = {
    "runOnly": {"type": "tag", "values": ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa"]},
    "preload": False,  # it would fetch the styles, which plain files do not allow
}


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    return build_docs(tmp_path_factory.mktemp("docs"))


@pytest.mark.parametrize(
    ("width", "scheme"), [(390, "light"), (390, "dark"), (1366, "light"), (1366, "dark")]
)
def test_pages_fit_and_everybody_can_use_them(built, watch, width, scheme):
    from axe_playwright_python.sync_playwright import Axe

    watched = watch(width=width, height=900, color_scheme=scheme)
    page = watched.page
    for name in PAGES:
        page.goto((built / f"{name}.html").as_uri())
        page.wait_for_load_state("load")
        over = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        assert page.evaluate(over) <= 0, name
        found = Axe().run(page, options=RULES)
        told = [(item["id"], item["nodes"][0]["html"]) for item in found.response["violations"]]
        assert told == [], name
    assert [address for address in watched.requests if not address.startswith("file:")] == []


def test_a_search_finds_pages_without_a_network(built, watch):
    watched = watch()
    watched.page.goto((built / "search.html").as_uri() + "?q=headroom")
    results = watched.page.locator("#search-results li")
    results.first.wait_for()
    assert results.count() >= 3
    assert [address for address in watched.requests if not address.startswith("file:")] == []


def test_the_ruler_is_drawn_in_the_ink_of_the_page(built, watch):
    inks = {}
    for scheme in ("light", "dark"):
        page = watch(width=390, color_scheme=scheme).page
        page.goto((built / "body-ruler.html").as_uri())
        drawing = page.locator("svg.body-ruler")
        inks[scheme] = drawing.evaluate("node => getComputedStyle(node).color")
        assert drawing.bounding_box()["width"] <= 390
        outside = drawing.evaluate(
            "node => [...node.querySelectorAll('text')].filter(text => {"
            "  const box = text.getBBox(); const view = node.viewBox.baseVal;"
            "  return box.x < 0 || box.x + box.width > view.width; }).map(t => t.textContent)"
        )
        assert outside == []
    assert inks["light"] != inks["dark"]
