"""Debian's Chromium, driven by playwright. A machine without it fails these tests."""

import shutil
from contextlib import contextmanager

from playwright.sync_api import sync_playwright

FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)
DESK, PHONE = {"width": 1100, "height": 900}, {"width": 360, "height": 740}


@contextmanager
def chromium():
    """Start the browser of the machine; ends it at the end of the block."""
    where = shutil.which("chromium")
    assert where, "Chromium is not installed; on Debian: apt-get install chromium"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=where, args=FLAGS)
        yield browser
        browser.close()


class Visit:
    """A visit with cookies of its own; keeps what the browser complained about."""

    def __init__(self, browser, address, size=DESK):
        self.context = browser.new_context(base_url=address, viewport=size)
        self.context.set_default_timeout(45_000)
        self.page = self.context.new_page()
        self.complaints = []
        self.page.on("console", self._note)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))

    def _note(self, message):
        if message.type in ("error", "warning"):
            self.complaints.append(f"{self.page.url}: {message.text}")

    def go(self, path):
        self.page.goto(path)
        return self

    def fill(self, **fields):
        for label, value in fields.items():
            self.page.get_by_label(label.replace("_", " "), exact=True).fill(value)
        return self

    def press(self, name):
        self.page.get_by_role("button", name=name).click()
        return self

    @property
    def text(self):
        return self.page.inner_text("body")

    @property
    def overflow(self):
        """How much wider the page is than the screen [px]."""
        return self.page.evaluate(
            "document.documentElement.scrollWidth - document.documentElement.clientWidth"
        )
