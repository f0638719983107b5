"""A real browser for the tests of the pages: Debian's chromium (or another of its kind), driven by playwright."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

NAMES = ("chromium", "chromium-browser", "google-chrome")
ARGUMENTS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    # a page that the browser takes for hidden gets no animation frames, and what waits for one waits for ever
    "--disable-renderer-backgrounding",
    "--disable-backgrounding-occluded-windows",
    "--disable-background-timer-throttling",
]


def browser_path() -> str:
    """Where the browser is. Skips the test where there is none, and fails it on CI: there it must run."""
    named = os.environ.get("STARTWORTHY_CHROMIUM")
    found = named or next((path for name in NAMES if (path := shutil.which(name))), None)
    if found is None or not Path(found).exists():
        reason = f"no browser ({named or ', '.join(NAMES)}): install chromium, or name one in STARTWORTHY_CHROMIUM"
        if os.environ.get("CI"):
            pytest.fail(reason)
        pytest.skip(reason)
    return found


@contextmanager
def open_browser() -> Iterator[Browser]:
    """The browser, closed afterwards."""
    path = browser_path()
    from playwright.sync_api import sync_playwright

    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=path, args=ARGUMENTS)
        try:
            yield browser
        finally:
            browser.close()


@dataclass
class Opened:
    """A page in the browser, and all that it complained of or asked for."""

    page: Page
    complaints: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)
    stopped: dict[str, str] = field(default_factory=dict)
    """Requests that failed, and why: `csp` where the policy let none go out."""

    def draw_all(self) -> int:
        """Scroll to each chart and wait until it is drawn. Returns how many there are."""
        charts = self.page.locator(".chart")
        for number in range(charts.count()):
            # by the page's own scrolling, and looked at by the clock: both hold when frames are few on a busy machine
            charts.nth(number).evaluate("chart => chart.scrollIntoView({block: 'center', behavior: 'instant'})")
            self.page.wait_for_function(
                "n => document.querySelectorAll('.chart')[n].querySelector('svg.main-svg')",
                arg=number,
                timeout=20_000,
                polling=100,
            )
        return charts.count()


@contextmanager
def open_page(
    browser: Browser, file: Path, *, width: int = 1280, scheme: Literal["light", "dark"] = "light"
) -> Iterator[Opened]:
    """A file opened from disk at that width, in that colour scheme."""
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    try:
        opened = Opened(context.new_page())
        opened.page.on("console", lambda said: opened.complaints.append(f"{said.type}: {said.text}"))
        opened.page.on("pageerror", lambda error: opened.complaints.append(f"error: {error}"))
        opened.page.on("request", lambda request: opened.requests.append(request.url))
        opened.page.on("requestfailed", lambda request: opened.stopped.update({request.url: str(request.failure)}))
        opened.page.on("dialog", lambda dialog: opened.complaints.append(f"dialog: {dialog.message}"))
        opened.page.goto(file.as_uri())
        yield opened
    finally:
        context.close()
