"""The review in a real browser: corrections by key, undone, found in the catalog after a reload."""

import threading
from contextlib import contextmanager

import pytest

from framecheck.pipeline.pages import read_parts
from framecheck.report.page.pictures import make_pictures
from framecheck.review.server import ReviewServer
from framecheck.review.session import ReviewSession
from tests.report.catalogs import open_catalog, some_catalog


@pytest.fixture
def review(tmp_path, watch):
    """A page under review, its catalog and its server."""
    with reviewing(some_catalog(tmp_path), watch) as opened:
        yield opened


@contextmanager
def reviewing(path, watch):
    parts = read_parts(path)
    session = ReviewSession(path, parts, make_pictures(parts.entries, lambda _done: None))
    with ReviewServer(session) as server:
        thread = threading.Thread(target=server.serve_forever, args=(0.02,))
        thread.start()
        watched = watch()
        watched.open(server.address)
        yield watched.page, path, server
        watched.page.goto("about:blank")
        server.shutdown()
        thread.join(5)


def look_at(page, name):
    number = page.locator(".card .name bdi").all_text_contents().index(name)
    page.locator("a.open").nth(number).click()


def row_of(path, name, shot=None):
    with open_catalog(path) as catalog:
        source = next(one for one in catalog.sources() if one.place.name == name)
        rows = catalog.rows(source.measurement)
        return rows.frames[0] if shot is None else rows.shots[shot]


def settled(page, words):
    page.wait_for_function(f"() => document.querySelector('#said').textContent.includes({words!r})")


def test_single_keys_correct_and_the_catalog_has_it_after_a_reload(review):
    page, path, server = review
    look_at(page, "03 two.png")
    page.keyboard.press("7")  # the seventh size of the vocabulary from wide to tight
    page.keyboard.press("+")
    page.keyboard.press("+")
    page.keyboard.press("-")
    page.keyboard.press("o")
    page.keyboard.press("k")
    settled(page, "flags (measured")
    row = row_of(path, "03 two.png")
    assert (row["size"], row["people"], row["shot_type"]) == (
        "medium close-up",
        3,
        "over-the-shoulder",
    )
    assert "knee" in [part.strip() for part in row["flags"].split(";")]
    assert row["confirmed"].startswith("size (measured medium); people (measured 2)")
    page.reload()
    page.wait_for_function("() => document.documentElement.dataset.ready === 'yes'")
    assert page.locator("#large").is_visible()  # the address names the frame
    assert page.locator("#large-title").inner_text() == "MCU medium close-up"
    assert page.locator(".howmany").inner_text() == "3"
    page.keyboard.press("Escape")
    assert page.locator(".seal").count() == 1
    assert len(server.session.seen) == 1


def test_undo_brings_back_what_was_measured_step_by_step(review):
    page, path, _server = review
    before = row_of(path, "02 knees.jpg")
    look_at(page, "02 knees.jpg")
    page.keyboard.press("6")
    page.keyboard.press("s")
    settled(page, "shot type")
    page.keyboard.press("z")
    page.keyboard.press("z")
    settled(page, "Nobody has looked yet")
    assert row_of(path, "02 knees.jpg") == before
    assert page.get_by_role("button", name="Undo").is_disabled()


def test_enter_confirms_all_that_is_shown_and_goes_on(review):
    page, path, _server = review
    before = row_of(path, "01 wide.jpg")
    look_at(page, "01 wide.jpg")
    where = page.locator("#where").inner_text()
    page.keyboard.press("Enter")
    page.wait_for_function(f"() => document.querySelector('#where').textContent !== {where!r}")
    row = row_of(path, "01 wide.jpg")
    assert row.pop("confirmed") == "subject; size; people; shot type; flags"
    before.pop("confirmed")
    assert row == before


def test_fast_keys_are_kept_in_order(review):
    page, path, _server = review
    look_at(page, "02 knees.jpg")
    for _ in range(5):
        page.keyboard.press("+")
    settled(page, "people (measured 1)")
    page.wait_for_function("() => document.querySelector('.howmany').textContent === '6'")
    assert row_of(path, "02 knees.jpg")["people"] == 6


def test_another_subject_is_chosen_and_its_readings_shown(review):
    page, path, _server = review
    before = row_of(path, "03 two.png")
    look_at(page, "03 two.png")
    page.keyboard.press("x")
    settled(page, "subject (measured another person)")
    row = row_of(path, "03 two.png")
    assert row["crop_level"] != before["crop_level"]
    shown = page.locator("#detail dd", has_text="±").inner_text()
    assert shown.startswith(f"{row['crop_level']:.3f}")


def test_every_person_has_a_key_to_become_the_subject(tmp_path, watch):
    crowns = (0.1, 0.14, 0.18)
    people = [{"stature": 1.6, "crown": crown, "x": 0.2 + 3 * (crown - 0.1)} for crown in crowns]
    catalog = some_catalog(tmp_path, clip=False, stills={"three.jpg": people})
    with reviewing(catalog, watch) as (page, path, _server):
        look_at(page, "three.jpg")
        before = read_parts(path).entries[0].people
        page.keyboard.press("y")  # the key of person 2
        settled(page, "subject (measured another person)")
        after = read_parts(path).entries[0].people
        assert after[0]["nose_x_px"] == before[2]["nose_x_px"] != before[0]["nose_x_px"]
        assert after[2]["nose_x_px"] == before[0]["nose_x_px"]
        keys = page.locator("#review fieldset").last.locator("kbd").all_inner_texts()
        assert keys == ["x", "y"]


def test_a_shot_of_a_clip_is_corrected_as_a_shot(review):
    page, path, _server = review
    look_at(page, "A001 take 1.mp4")
    page.keyboard.press("4")
    settled(page, "size (measured wide)")
    assert row_of(path, "A001 take 1.mp4", shot=0)["size"] == "medium full"
    assert row_of(path, "A001 take 1.mp4", shot=1)["confirmed"] in {"", None}


def test_single_keys_can_be_switched_off(review):
    page, path, _server = review
    look_at(page, "02 knees.jpg")
    page.get_by_label("single keys work").uncheck()
    page.keyboard.press("6")
    page.get_by_role("button", name="more").click()  # the mouse still works
    settled(page, "people (measured 1)")
    assert row_of(path, "02 knees.jpg")["confirmed"] == "people (measured 1)"


def test_a_corrected_frame_moves_in_the_filter_and_its_card_changes(review):
    page, _path, _server = review
    look_at(page, "02 knees.jpg")
    page.keyboard.press("1")
    settled(page, "size (measured")
    page.keyboard.press("Escape")
    page.locator("[data-group=size][value='extreme wide']").check()
    assert page.locator("#count").inner_text() == "1 of 9 frames"
    assert page.locator(".card .size").first.inner_text() == "EWS extreme wide confirmed"


def test_the_review_ends_and_says_so(review):
    page, _path, server = review
    page.get_by_role("button", name="End the review").click()
    page.get_by_text("The review has ended").wait_for()
    look_at(page, "02 knees.jpg")
    page.keyboard.press("6")
    page.wait_for_timeout(200)
    assert len(server.session.seen) == 0


def test_a_page_from_elsewhere_cannot_reach_in(review, browser):
    """Another origin in the same browser tries what the page does; nothing is kept."""
    _page, path, server = review
    before = row_of(path, "02 knees.jpg")
    key = read_parts(path).entries[1].key
    context = browser.new_context()
    other = context.new_page()
    other.route("http://elsewhere.example/", lambda route: route.fulfill(body="<p>elsewhere"))
    other.goto("http://elsewhere.example/")
    tried = other.evaluate(
        """async ([address, key]) => {
            const told = [];
            for (const mode of ['cors', 'no-cors']) {
                for (const kind of ['application/json', 'text/plain']) {
                    try {
                        const body = JSON.stringify({ key, fields: { people: 9 } });
                        const reply = await fetch(address + 'say', { method: 'POST', mode, body,
                            headers: { 'Content-Type': kind } });
                        told.push(reply.type === 'opaque' ? 'opaque' : reply.status);
                    } catch (error) { told.push('refused'); }
                }
            }
            return told;
        }""",
        [server.address, key],
    )
    context.close()
    assert set(tried) <= {"refused", "opaque", 404}
    assert row_of(path, "02 knees.jpg") == before


def test_the_review_panel_passes_the_accessibility_check(review):
    from axe_playwright_python.sync_playwright import Axe

    page, _path, _server = review
    look_at(page, "03 two.png")
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    results = Axe().run(page, options={"runOnly": {"type": "tag", "values": tags}})
    assert results.response["passes"]
    assert [(one["id"], one["nodes"][0]["html"]) for one in results.response["violations"]] == []


@pytest.mark.parametrize("width", [390, 1366, 2560])
def test_nothing_of_the_panel_overflows(review, width):
    page, _path, _server = review
    page.set_viewport_size({"width": width, "height": 844})
    look_at(page, "03 two.png")
    assert page.evaluate(
        "() => [...document.querySelectorAll('#review *')].every((one) => "
        "one.getBoundingClientRect().right <= innerWidth + 0.5)"
    )
