"""Pictures of a report, as the README shows one.

python -m tests.browser.picture reports/example/boat-shed.html reports/example/boat-shed.jpg
"""

from __future__ import annotations

import sys
from pathlib import Path

from tests.browser.conftest import ARGUMENTS, find_browser


def take_picture(report: Path, out: Path, *, frame: str = "", size: tuple[int, int] = (1440, 900)):
    """Open a report as a laptop shows it and keep what is seen.

    Args:
        report: the page.
        out: a .jpg or .png.
        frame: file name of the frame to show large; "" for the sheet.
        size: of the window.
    """
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=find_browser(), args=list(ARGUMENTS))
        page = browser.new_page(viewport={"width": size[0], "height": size[1]})
        page.goto(report.resolve().as_uri())
        page.wait_for_function("() => document.documentElement.dataset.ready === 'yes'")
        page.keyboard.press("Shift+Digit1")  # the body ruler
        if frame:
            names = page.locator(".card .name bdi").all_text_contents()
            page.locator("a.open").nth(names.index(frame)).click()
        page.wait_for_timeout(800)
        page.screenshot(path=out, **({"quality": 86} if out.suffix == ".jpg" else {}))
        browser.close()


if __name__ == "__main__":
    take_picture(Path(sys.argv[1]), Path(sys.argv[2]), frame="".join(sys.argv[3:4]))
