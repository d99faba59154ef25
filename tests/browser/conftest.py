"""A real Chromium for the pages. Where there is none, these tests say so; on CI they fail."""

import os
import shutil
import sys
from pathlib import Path

import pytest

ROOT = str(Path(__file__).resolve().parents[2])
if ROOT not in sys.path:
    sys.path.insert(0, ROOT)

# Headless, and quiet: a browser that looks for updates would reach out of a closed network.
ARGUMENTS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
)  # fmt: skip
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")


def find_browser():
    """The browser that FRAMECHECK_BROWSER names, or one on the path; None when there is none."""
    named = os.environ.get("FRAMECHECK_BROWSER")
    return named or next(filter(None, map(shutil.which, NAMES)), None)


@pytest.fixture(scope="session")
def browser():
    path = find_browser()
    if path is None:
        words = (
            "no Chromium was found: install one (on Debian: apt-get install chromium), or name it "
            "in FRAMECHECK_BROWSER"
        )
        if os.environ.get("CI"):
            pytest.fail(words)
        pytest.skip(words)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=path, args=list(ARGUMENTS))
        yield opened
        opened.close()


class Watched:
    """A page, with everything it complained of or asked for."""

    def __init__(self, page):
        self.page = page
        self.complaints, self.requests = [], []
        page.on("console", lambda told: self.complaints.append(f"{told.type}: {told.text}"))
        page.on("pageerror", lambda error: self.complaints.append(str(error)))
        page.on("dialog", lambda dialog: self.complaints.append(f"dialog: {dialog.message}"))
        page.on("request", lambda asked: self.requests.append(asked.url))

    def open(self, address):
        self.page.goto(address)
        self.page.wait_for_function("() => document.documentElement.dataset.ready === 'yes'")
        return self.page


@pytest.fixture
def watch(browser):
    """Makes watched pages; at the end nothing may have been complained of."""
    opened = []

    def make(width=1366, height=768, **options):
        page = browser.new_page(viewport={"width": width, "height": height}, **options)
        opened.append(Watched(page))
        return opened[-1]

    yield make
    for watched in opened:
        watched.page.close()
        assert watched.complaints == []
